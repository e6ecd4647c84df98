package feeds

import (
	"context"
	"fmt"
	"slices"
	"sync"

	"budswell/calendar"
	"budswell/feeds/ics"
)

// wishes are the shows and hours of a grower, and what was promised by them.
type wishes struct {
	shows    []calendar.Show
	hours    *calendar.Hours // nil: not told
	promised calendar.Promise
}

func (s *Server) wishesOf(ctx context.Context, grower string) (w wishes, err error) {
	if w.shows, err = s.cfg.Store.Shows(ctx, grower); err != nil {
		return w, err
	}
	if w.hours, err = s.cfg.Store.Hours(ctx, grower); err != nil || w.hours == nil {
		return w, err
	}
	w.promised, err = s.cfg.Store.Promise(ctx, grower)
	return w, err
}

// fit chooses the days for the works of all places together: they share one
// person's hours. The day is that of the first place.
func (g *garden) fit(w *wishes, trees []calendar.Kept) {
	if w.hours == nil || len(g.plots) == 0 {
		return
	}
	plans := make([]*calendar.Plan, len(g.plots))
	for i := range g.plots {
		plans[i] = g.plots[i].plan
	}
	all := make([]calendar.Tree, len(trees))
	for i := range trees {
		all[i] = trees[i].Tree
	}
	agenda := calendar.Merge(plans, nil, all).Fit(w.hours, w.promised)
	promise := agenda.Promise()
	g.agenda, g.promise = agenda, &promise
	for _, p := range plans {
		p.Agenda = agenda
	}
}

// drawYears makes ready to draw the years of all trees: once, when first asked for.
func (g *garden) drawYears(plantings []*planting, shows []calendar.Show) {
	g.years = sync.OnceValues(func() ([]*calendar.Years, error) {
		out := make([]*calendar.Years, 0, len(plantings))
		for _, p := range plantings {
			y, err := p.years(shows)
			if err != nil {
				return nil, fmt.Errorf("place %q: years: %w", p.Site.Name, err)
			}
			if y != nil {
				out = append(out, y)
			}
		}
		return out, nil
	})
}

// road returns the years of a tree; nil where there are none to draw.
func (g *garden) road(tree string) (*calendar.Roadmap, error) {
	all, err := g.years()
	if err != nil {
		return nil, err
	}
	for _, y := range all {
		for i := range y.Trees {
			if y.Trees[i].Tree == tree {
				return &y.Trees[i], nil
			}
		}
	}
	return nil, nil
}

// addYears adds the stages to come to what is to be published, where a feed shows
// them.
func (s *Server) addYears(ctx context.Context, g *garden, n *planned) error {
	feeds, err := s.cfg.Store.Feeds(ctx, g.grower.ID)
	if err != nil || !slices.ContainsFunc(feeds, func(f calendar.Feed) bool { return f.Filter.Years && f.Revoked.IsZero() }) {
		return err
	}
	all, err := g.years()
	if err != nil {
		return err
	}
	n.entries = slices.Clone(n.entries)
	for _, y := range all {
		stages := ics.Years(g.in, "grower "+g.grower.ID, y, func(tree string) string { return ics.TreePage(s.link("/"), tree) })
		for i := range stages {
			if t, _, _ := g.tree(stages[i].Tree); t != nil && t.Species != nil {
				stages[i].Group = string(t.Species.Group)
			}
		}
		n.entries = append(n.entries, stages...)
	}
	return nil
}
