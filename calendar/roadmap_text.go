package calendar

import (
	"bufio"
	"encoding/json"
	"fmt"
	"io"
	"strings"

	"budswell/climate"
)

// Years are the roadmaps of the trees of a site.
type Years struct {
	On    climate.Date
	Until climate.Date // the last day looked at
	Site  climate.Site
	Basis climate.Basis
	Trees []Roadmap // in the order in which the trees were given
}

// Years draws the roadmaps of trees, as [Planner.Roadmaps] does, with what they rest
// on.
func (p *Planner) Years(trees []Tree, opts RoadmapOptions) (*Years, error) {
	maps, err := p.Roadmaps(trees, opts)
	if err != nil {
		return nil, err
	}
	if opts.Years == 0 {
		opts.Years = usualYears
	}
	return &Years{p.outlook.Issue, p.yearsOn(opts.Years), p.outlook.Site, p.outlook.Basis, maps}, nil
}

// yearsVersion is the version of the form in which roadmaps are written as JSON.
const yearsVersion = 1

// MarshalJSON writes the roadmaps in the public form, version 1: version, on, until,
// site and basis as in a plan, and trees, each a [Roadmap]. Dates are in ISO 8601,
// shares from 0 to 1, null where there is no day, lists never null.
func (y *Years) MarshalJSON() ([]byte, error) {
	return json.Marshal(struct {
		Version int           `json:"version"`
		On      climate.Date  `json:"on"`
		Until   climate.Date  `json:"until"`
		Site    siteJSON      `json:"site"`
		Basis   climate.Basis `json:"basis"`
		Trees   []Roadmap     `json:"trees"`
	}{
		yearsVersion, y.On, y.Until,
		siteJSON{y.Site.Name, y.Site.Lat, y.Site.Lon, y.Site.Elevation, y.Site.Zone},
		y.Basis, append([]Roadmap{}, y.Trees...),
	})
}

// WriteText writes the roadmaps for people to read in a terminal: for each tree when
// it comes to each stage and how sure that is, the works that lead there, and what the
// years say of its shows.
func (y *Years) WriteText(w io.Writer) error {
	t := &texter{w: bufio.NewWriter(w)}
	t.line("", "The years from %v to %v at %s", y.On, y.Until, siteName(y.Site))
	t.line("", "Rests on %s.", basisText(y.Basis))
	t.line("", "How long trees take, and what sets them back, is common practice and judged: look at the tree first.")
	for i := range y.Trees {
		t.roadmap(&y.Trees[i])
	}
	if t.err != nil {
		return t.err
	}
	return t.w.Flush()
}

func (t *texter) roadmap(r *Roadmap) {
	t.line("", "")
	t.line("", "%s (%s), stage %s, %s", r.Name, r.Species, r.Stage, r.Strength)
	t.line("  ", "%s", r.Said())
	if r.Note != "" {
		t.line("  ", "%s", r.Note)
	}
	for i := range r.Stages {
		if s := &r.Stages[i]; s.Reached > 0 {
			t.line("    ", "%s: %s", strings.ReplaceAll(string(s.Stage), "-", " "), s.words())
		}
	}
	var works []string
	for i := range r.Steps {
		if s := &r.Steps[i]; s.P50 != nil {
			works = append(works, fmt.Sprintf("%s about %s", lower(s.Title), s.P50.Season))
		}
	}
	if len(works) > 0 {
		t.line("    ", "Works on the way: %s.", strings.Join(works, ", "))
	}
	for i := range r.Shows {
		s := &r.Shows[i]
		t.line("  ", "%s", strings.TrimSpace(s.title()+" on "+s.On.String()+". "+s.Said))
		for k := range s.Latest {
			t.line("    ", "%s", s.Latest[k].Said)
		}
	}
}

// title names a show.
func (s *ShowAhead) title() string {
	name := "A show"
	if s.Name != "" {
		name = s.Name
	}
	if s.Look != "" {
		name += " (" + strings.ReplaceAll(s.Look, "-", " ") + ")"
	}
	return name
}

// Said says in a sentence when the tree comes to the bench, and how sure that is.
func (r *Roadmap) Said() string {
	if len(r.Stages) == 0 {
		return "It has come to the bench."
	}
	years := count(float64(r.Until.Year()-r.On.Year()), "year")
	a := &r.Stages[len(r.Stages)-1].Ahead
	if a.P50 == nil {
		return fmt.Sprintf("On the bench within %s: %s (%s).", years, chanceWords(a.Reached), percent(a.Reached))
	}
	return fmt.Sprintf("On the bench %s; within %s: %s (%s).", a.span(), years, chanceWords(a.Reached), percent(a.Reached))
}

// words says when, and how sure that is.
func (a *Ahead) words() string {
	out := a.span()
	if a.Reached < 0.95 {
		out += fmt.Sprintf("; not within these years in %s", percent(1-a.Reached))
	}
	return out
}

// span says when.
func (a *Ahead) span() string {
	end := func(s *SeasonDay) string {
		if s == nil {
			return "later"
		}
		return s.Season
	}
	switch {
	case a.P10 == nil:
		return "hardly within these years"
	case a.P50 == nil:
		return fmt.Sprintf("%s at the earliest", a.P10.Season)
	case a.P90 != nil && a.P10.Season == a.P90.Season:
		return fmt.Sprintf("%s, rather sure", a.P50.Season)
	}
	return fmt.Sprintf("about %s (10-90 %%: %s to %s)", a.P50.Season, end(a.P10), end(a.P90))
}
