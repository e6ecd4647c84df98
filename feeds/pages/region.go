package pages

import (
	"cmp"
	"html/template"
	"slices"
	"strings"

	"budswell/calendar"
	"budswell/climate"
	"budswell/feeds/wording"
)

// RegionAt is where the pages of regions are reached.
type RegionAt struct {
	Base  string // whole address of the service, without a slash at its end
	Root  string // its path, as links between the pages begin
	Style string // path of the style sheet
}

// Region is a public page of a region, or of one of its bands: groups of trees, species,
// and no one's.
type Region struct {
	Style    string
	ID, Name string
	Title    string // of the page
	Path     string // of the region
	Here     string // whole address of this page
	Band     string // name; empty: all bands
	Metres   string // of the band
	Basis    string
	Known    string
	Adjusted string // how the weather was; in English
	Web      string // address of the feed
	Cal      template.URL
	Frame    string // whole address of what may be put into other pages
	On       string
	Preview  bool     // it is not published so
	Months   []string // headings of the days shown
	Seasons  []SeasonLine
	Further  []SeasonLine // of a band: those of the other groups and species
	Bands    []BandLine
	Subjects []Subject
	Soon     []Soon
	OverAll  bool     // several bands are shown together
	Credits  []Source // whose weather it is, where that is to be told
}

// BandLine is a band in the list of them.
type BandLine struct {
	ID, Name, Metres string
	Path             string // of its page; empty: it has none
	Web              string // of its feed
	Basis, Known     string
	Adjusted         string // how the weather was; in English
}

// Subject is a group or species, with its works in the days shown.
type Subject struct {
	ID, Name string
	Web      string // address of its feed; empty on the page of a band
	Works    []SeasonWork
	Doubt    string
}

// Soon is a work of the next six weeks, in short.
type Soon struct {
	Title  string
	Of     []SoonOf
	More   int // how many others want it
	closes climate.Date
}

// SoonOf is when a group or species wants it.
type SoonOf struct{ Name, When, Sure string }

// RegionOf lays out a region over all its bands.
func RegionOf(in *wording.Tongue, at RegionAt, r *calendar.Region, p *calendar.RegionPlan) *Region {
	out := regionHead(in, at, r, p.On)
	out.Title, out.Here = r.Name, at.Base+"/r/"+r.ID
	link := NewLink(r.Name, out.Here+"/calendar.ics")
	out.Web, out.Cal, out.OverAll = link.Web, link.Webcal, len(p.Bands) > 1
	out.Basis = in.Rests(p.Whole.Basis)
	for i := range p.Bands {
		b := &p.Bands[i]
		line := bandLine(in, b)
		if out.OverAll {
			line.Path, line.Web = out.Path+"/"+b.Band.ID, out.Here+"/"+b.Band.ID+".ics"
		} else {
			out.Known, out.Adjusted = line.Known, line.Adjusted
		}
		out.Bands = append(out.Bands, line)
		out.Seasons = append(out.Seasons, regionSeason(in, b))
	}
	for i := range p.Whole.Trees {
		t := &p.Whole.Trees[i]
		s := Subject{ID: t.Tree.ID, Name: subjectName(in, t.Tree.ID, t.Species), Web: out.Here + "/for/" + t.Tree.ID + ".ics"}
		if !out.OverAll {
			s.Doubt = t.Doubt
		}
		for k := range t.Works {
			w := &t.Works[k]
			if !inSeason(w, p.On) {
				continue
			}
			s.Works = append(s.Works, seasonWork(in, w, p, i))
			if shows(w, p.On) && w.Rule != nil && w.Rule.Every == 0 && len(w.Blocked) == 0 && w.Window.Closes.P50 >= p.On {
				out.addSoon(soon(in, w, s.Name, p.On))
			}
		}
		out.Subjects = append(out.Subjects, s)
	}
	slices.SortStableFunc(out.Soon, func(a, b Soon) int { return cmp.Compare(a.closes, b.closes) })
	out.Soon = out.Soon[:min(len(out.Soon), mostSoon)]
	return out
}

// mostSoon is how many works stand in the page for other pages, and mostSoonOf for how many
// groups and species each.
const (
	mostSoon   = 8
	mostSoonOf = 4
)

// addSoon puts what groups and species have in common together.
func (r *Region) addSoon(s Soon) {
	i := slices.IndexFunc(r.Soon, func(o Soon) bool { return o.Title == s.Title })
	if i < 0 {
		r.Soon = append(r.Soon, s)
		return
	}
	if r.Soon[i].closes = min(r.Soon[i].closes, s.closes); len(r.Soon[i].Of) == mostSoonOf {
		r.Soon[i].More++
		return
	}
	r.Soon[i].Of = append(r.Soon[i].Of, s.Of...)
}

// BandOf lays out one band of a region.
func BandOf(in *wording.Tongue, at RegionAt, r *calendar.Region, p *calendar.RegionPlan, i int) *Region {
	b := &p.Bands[i]
	out := regionHead(in, at, r, p.On)
	line := bandLine(in, b)
	out.Band, out.Metres, out.Basis, out.Known, out.Adjusted = b.Band.Name, line.Metres, line.Basis, line.Known, line.Adjusted
	out.Title, out.Here = b.Band.Name+", "+r.Name, at.Base+"/r/"+r.ID+"/"+b.Band.ID
	link := NewLink(r.Name+": "+b.Band.Name, out.Here+".ics")
	out.Web, out.Cal = link.Web, link.Webcal
	alone := &calendar.RegionPlan{On: p.On, Whole: b.Plan, Bands: []calendar.BandPlan{*b}}
	for k := range b.Trees {
		t := &b.Trees[k]
		name := subjectName(in, t.Tree.ID, t.Species)
		s := Subject{ID: t.Tree.ID, Name: name, Doubt: t.Doubt}
		for n := range t.Works {
			if w := &t.Works[n]; inSeason(w, p.On) {
				s.Works = append(s.Works, seasonWork(in, w, alone, k))
			}
		}
		out.Subjects = append(out.Subjects, s)
		if k < len(b.Paces) && b.Paces[k] != nil {
			out.Seasons = append(out.Seasons, seasonLine(in, name, b.Paces[k]))
		}
	}
	if n := len(out.Seasons); n > 1 {
		out.Seasons, out.Further = out.Seasons[:1], out.Seasons[1:]
	} else if n == 0 {
		out.Seasons = append(out.Seasons, seasonLine(in, b.Band.Name, nil))
	}
	return out
}

func regionHead(in *wording.Tongue, at RegionAt, r *calendar.Region, on climate.Date) *Region {
	return &Region{
		Style: at.Style, ID: r.ID, Name: r.Name, Path: at.Root + "/r/" + r.ID, Frame: at.Base + "/r/" + r.ID + "/embed",
		On: in.Day(on), Months: fortnights(in, on),
	}
}

func bandLine(in *wording.Tongue, b *calendar.BandPlan) BandLine {
	known := age(in, b.Supply.Until, b.On)
	if len(b.Supply.Notes) > 0 {
		known = in.Supplied(b.Supply, b.On)
	}
	return BandLine{ID: b.Band.ID, Name: b.Band.Name, Metres: metres(b.Band.Site.Elevation), Basis: in.Rests(b.Basis), Known: known, Adjusted: wording.Adjusted(b.Supply)}
}

// regionSeason says how the season goes in a band, by the first group or species of which
// that can be said.
func regionSeason(in *wording.Tongue, b *calendar.BandPlan) SeasonLine {
	for i, p := range b.Paces {
		if p != nil {
			line := seasonLine(in, b.Band.Name, p)
			line.Of = subjectName(in, b.Trees[i].Tree.ID, b.Trees[i].Species)
			if !in.Foreign() { // German writes nouns with capitals
				line.Of = strings.ToLower(line.Of)
			}
			if s := b.Trees[i].Species; s.Name != "" {
				line.Of = s.Name
			}
			return line
		}
	}
	return seasonLine(in, b.Band.Name, nil)
}

// SubjectsOf lists the groups and species of a region as its pages and feeds name them.
func SubjectsOf(in *wording.Tongue, l *calendar.Lore, r *calendar.Region) []Subject {
	var out []Subject
	for _, t := range calendar.SubjectsOf(l, r) {
		out = append(out, Subject{ID: t.ID, Name: subjectName(in, t.ID, t.Species)})
	}
	return out
}

// subjectName is what people call a group or a species.
func subjectName(in *wording.Tongue, id string, s *calendar.Species) string {
	if s == nil {
		return in.Group(id)
	}
	return in.Subject(id, s.Name, s.Common)
}
