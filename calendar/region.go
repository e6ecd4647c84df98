package calendar

import (
	"cmp"
	"fmt"
	"slices"
	"time"

	"budswell/climate"
	"budswell/climate/phenology"
)

// Region is what a club publishes: groups of trees and species, at the places where its
// members grow them, and no one's trees.
type Region struct {
	ID      string // a short name of letters, digits and hyphens; part of public links
	Name    string
	Bands   []Band   // one at least
	Groups  []string // growth groups shown; with no species either: all
	Species []string // botanical names, each planned by itself
	Club    string   // id of the club that publishes it; empty: the service's own

	// Pool is what the club's members share, to learn from. It is not kept here: see [Pools].
	Pool []phenology.Pooled
}

// Band is an elevation band or a site of a region, with its own weather.
type Band struct {
	ID      string // the only one in its region, as [CheckBands] wants it; part of public links
	Name    string
	Site    climate.Site
	Weather climate.Weather

	// Lent is a place of one who edits the region, whose weather is laid over the band's own;
	// nil: none. It is told nobody but its grower.
	Lent *Lent
}

// Most bands, groups and species of a region, so that its plan is made in seconds and its
// page is still read.
const (
	MostBands   = 8
	MostSpecies = 24
)

// longestBandID and longestBandName are in letters.
const (
	longestBandID   = 64
	longestBandName = 100
)

// bandPaths are no ids of bands: public links of a region have them in a band's place.
var bandPaths = []string{"calendar", "embed", "for", "index", "print"}

// CheckBands reports, as an ErrInvalid, the first thing by which bands cannot be those
// of one region.
func CheckBands(bands []Band) error {
	if n := len(bands); n == 0 || n > MostBands {
		return fmt.Errorf("bands: %d; want 1 to %d: %w", n, MostBands, ErrInvalid)
	}
	for i := range bands {
		b := &bands[i]
		switch {
		case !validBandID(b.ID):
			return fmt.Errorf("band %q: id %q: want lower-case letters a to z, digits and hyphens, at most %d: %w", b.Name, b.ID, longestBandID, ErrInvalid)
		case slices.Contains(bandPaths, b.ID):
			return fmt.Errorf("band %q: id %q: stands for something else in links; want another: %w", b.Name, b.ID, ErrInvalid)
		case !ValidName(b.Name, longestBandName):
			return fmt.Errorf("band %q: name: want 1 to %d letters: %w", b.ID, longestBandName, ErrInvalid)
		case slices.ContainsFunc(bands[:i], func(o Band) bool { return o.ID == b.ID }):
			return fmt.Errorf("band %q: id %q: another band has it; want one of its own: %w", b.Name, b.ID, ErrInvalid)
		case slices.ContainsFunc(bands[:i], func(o Band) bool { return o.Name == b.Name }):
			return fmt.Errorf("band %q: another band has this name; want one of its own: %w", b.Name, ErrInvalid)
		}
		if err := b.Site.Validate(); err != nil {
			return fmt.Errorf("band %q: %w: %w", b.Name, err, ErrInvalid)
		}
		if b.Site.Southern() != bands[0].Site.Southern() {
			return fmt.Errorf("band %q: lat %v: lies across the equator from %q; want bands whose springs fall together: %w", b.Name, b.Site.Lat, bands[0].Name, ErrInvalid)
		}
	}
	return nil
}

func validBandID(id string) bool {
	for i := range len(id) {
		c := id[i]
		if !(c >= 'a' && c <= 'z' || c >= '0' && c <= '9' || c == '-' && i > 0) {
			return false
		}
	}
	return id != "" && len(id) <= longestBandID
}

// Measured lets the weather of a band be that of a record, which holds for an elevation,
// m; nil: for the band's own. Temperatures are adjusted by how they fall with height about the
// band, as the atlas has it; what else is known of its weather stays.
func (b *Band) Measured(r *climate.Record, elevation *float64) {
	b.Weather.Record = nil
	if elevation == nil {
		b.Weather.Record = r
		return
	}
	s := climate.SeriesOf(r, climate.FromStation, time.Time{})
	s.Elevation = elevation
	w := b.Weather
	w.Lapse = lapseAt(b.Site, w.Lapse)
	b.Weather.Record = w.With(b.Site, []climate.Series{s}).Record
	if b.Weather.Record != nil {
		b.Weather.Record.Notes = append(slices.Clone(r.Notes), b.Weather.Record.Notes...)
		b.Weather.Record.Spans = nil // all are from one station
	}
}

// BandID makes an id of a band's name that none of others has.
func BandID(name string, others []Band) string {
	var ascii []rune
	for _, c := range Slug(name) {
		if c < 0x80 {
			ascii = append(ascii, c)
		}
	}
	id := string(ascii)
	if len(id) > longestBandID-4 {
		id = id[:longestBandID-4]
	}
	if !validBandID(id) {
		id = "band"
	}
	taken := func(id string) bool {
		return slices.Contains(bandPaths, id) || slices.ContainsFunc(others, func(b Band) bool { return b.ID == id })
	}
	out := id
	for n := 2; taken(out); n++ {
		out = fmt.Sprintf("%s-%d", id, n)
	}
	return out
}

// RegionPlan is what the trees of a region's groups and species want, over all its
// bands and band by band. A group or species has the same place in all of them.
type RegionPlan struct {
	On climate.Date

	// Whole has of each work the mixture of its windows over the bands that have it, each
	// weighing the same.
	Whole *Plan
	Bands []BandPlan // in the region's order
}

// BandPlan is the plan of one band.
type BandPlan struct {
	Band *Band
	*Plan

	// Paces say how the season goes beside the usual one, by the place of the group or
	// species in the plan; nil where nothing can be said.
	Paces []*phenology.Pace
}

// PlanRegion plans a region on a day by the rules of lore. It returns an [ErrInvalid]
// that names the band for which that cannot be done. A species that the lore does not know is
// left out, unless nothing else is shown.
func PlanRegion(lore *Lore, r *Region, on climate.Date) (*RegionPlan, error) {
	if err := CheckBands(r.Bands); err != nil {
		return nil, err
	}
	var groups []phenology.Group
	var species []*Species
	for _, s := range SubjectsOf(lore, r) {
		if s.Species != nil {
			species = append(species, s.Species)
		} else {
			groups = append(groups, phenology.Group(s.ID))
		}
	}
	if len(groups) == 0 && len(species) == 0 {
		return nil, fmt.Errorf("region %q: species %q: the lore knows none of them: %w", r.ID, r.Species, ErrInvalid)
	}
	out := &RegionPlan{On: on}
	for i := range r.Bands {
		b := &r.Bands[i]
		plan, err := planBand(lore, b, r.Pool, groups, species, on)
		if err != nil {
			return nil, fmt.Errorf("band %q: %w", b.Name, err)
		}
		out.Bands = append(out.Bands, *plan)
	}
	out.mix(r.Name)
	return out, nil
}

func planBand(lore *Lore, b *Band, pool []phenology.Pooled, groups []phenology.Group, species []*Species, on climate.Date) (*BandPlan, error) {
	outlook, err := b.Weather.Outlook(b.Site, on)
	if err != nil {
		return nil, err
	}
	forecaster, err := phenology.NewPooledForecaster(outlook, nil, pool)
	if err != nil {
		return nil, err
	}
	p := NewPlanner(lore, outlook, forecaster)
	out := &BandPlan{Band: b}
	if out.Plan, err = p.GroupPlan(groups, species); err != nil {
		return nil, err
	}
	for i := range out.Trees {
		s := out.Trees[i].Species
		if p.winter().winterless(s.Group) {
			out.Paces = append(out.Paces, nil)
			continue
		}
		pace, err := forecaster.Pace(s.Habit())
		if err != nil {
			return nil, err
		}
		out.Paces = append(out.Paces, pace)
	}
	return out, nil
}

// One returns the band of an id, and false where there is none.
func (r *RegionPlan) One(id string) (*BandPlan, bool) {
	i := slices.IndexFunc(r.Bands, func(b BandPlan) bool { return b.Band.ID == id })
	if i < 0 {
		return nil, false
	}
	return &r.Bands[i], true
}

// Work returns that of a key on a group or species of the band, nil where the band has
// it not.
func (b *BandPlan) Work(tree int, key string) *Planned {
	works := b.Trees[tree].Works
	i := slices.IndexFunc(works, func(w Planned) bool { return w.Key == key })
	if i < 0 {
		return nil
	}
	return &works[i]
}

// basisOf says what a mixture rests on: as little as its least known band does.
func basisOf(bands []BandPlan) climate.Basis {
	out := bands[0].Basis
	for i := range bands[1:] {
		b := bands[1+i].Basis
		if b.Source != out.Source {
			out.Source = "the weather of each band"
		}
		if b.Normals != out.Normals {
			out.Normals = ""
		}
		if cmp.Or(cmp.Compare(b.Measured, out.Measured), cmp.Compare(b.Years, out.Years)) < 0 {
			out.Years, out.Generated, out.Measured, out.Predicted, out.Interpolated, out.Typical = b.Years, b.Generated, b.Measured, b.Predicted, b.Interpolated, b.Typical
		}
	}
	return out
}

// Subject is a group or a species that a region shows.
type Subject struct {
	ID      string   // of the group, or the slug of the species' name
	Species *Species // nil: a group
}

// SubjectsOf lists the groups and then the species of a region, in the order of its plans; a
// species that the lore does not know is left out.
func SubjectsOf(l *Lore, r *Region) []Subject {
	groups := r.Groups
	if len(groups) == 0 && len(r.Species) == 0 {
		for _, g := range phenology.Groups() {
			groups = append(groups, string(g))
		}
	}
	out := make([]Subject, 0, len(groups)+len(r.Species))
	for _, g := range groups {
		out = append(out, Subject{ID: g})
	}
	for _, name := range r.Species {
		if s, err := l.SpeciesNamed(name); err == nil {
			out = append(out, Subject{ID: Slug(s.Name), Species: s})
		}
	}
	return out
}
