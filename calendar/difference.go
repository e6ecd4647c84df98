package calendar

import (
	"slices"

	"budswell/climate"
)

// Difference is what changes between two plans of the same trees on the same day, such
// as one by the lore and one by a rule of one's own.
type Difference struct {
	On    climate.Date
	Trees []TreeDifference // those on which anything changes
}

// TreeDifference is what changes for one tree.
type TreeDifference struct {
	Before, After *TreePlan // nil where a plan has no such tree
	Works         []WorkDifference
}

// WorkDifference is what changes in one work of one season. Before is nil where the work
// comes, After where it goes.
type WorkDifference struct{ Before, After *Planned }

// hardlyThere is the chance below which a window is taken not to be there.
const hardlyThere = 0.1

// Differ compares two plans. Work that is done is left out: nothing changes it any more.
func Differ(before, after *Plan) *Difference {
	out := &Difference{On: after.On}
	was := map[string]*TreePlan{}
	for i := range before.Trees {
		was[before.Trees[i].Tree.ID] = &before.Trees[i]
	}
	for i := range after.Trees {
		is := &after.Trees[i]
		d := TreeDifference{Before: was[is.Tree.ID], After: is}
		delete(was, is.Tree.ID)
		d.compare()
		out.add(d)
	}
	for i := range before.Trees {
		if t := was[before.Trees[i].Tree.ID]; t != nil {
			d := TreeDifference{Before: t}
			d.compare()
			out.add(d)
		}
	}
	return out
}

func (d *Difference) add(t TreeDifference) {
	if len(t.Works) > 0 {
		d.Trees = append(d.Trees, t)
	}
}

// standing lists the works of a tree that are to come, by key.
func (t *TreePlan) standing() (keys []string, works map[string]*Planned) {
	works = map[string]*Planned{}
	if t == nil {
		return nil, works
	}
	for i := range t.Works {
		if w := &t.Works[i]; !w.Done.Valid() && w.Window.Chance >= hardlyThere {
			works[w.Key] = w
			keys = append(keys, w.Key)
		}
	}
	return keys, works
}

func (d *TreeDifference) compare() {
	before, was := d.Before.standing()
	after, is := d.After.standing()
	for _, key := range after {
		if w := (WorkDifference{was[key], is[key]}); w.any() {
			d.Works = append(d.Works, w)
		}
	}
	for _, key := range before {
		if is[key] == nil {
			d.Works = append(d.Works, WorkDifference{Before: was[key]})
		}
	}
	slices.SortStableFunc(d.Works, func(a, b WorkDifference) int { return int(a.either().Window.Likely - b.either().Window.Likely) })
}

// either returns the work as it will be, or as it was where it goes.
func (w *WorkDifference) either() *Planned {
	if w.After != nil {
		return w.After
	}
	return w.Before
}

// Work returns the work as it will be, or as it was where it goes.
func (w *WorkDifference) Work() *Planned { return w.either() }

func (w *WorkDifference) any() bool {
	return w.Before == nil || w.Moves() || w.Blocks() || w.Frees() || w.Says() || len(w.Warns()) > 0 || len(w.Unwarns()) > 0
}

// Moves reports whether any day of the window changes, or how likely it is.
func (w *WorkDifference) Moves() bool {
	if w.Before == nil || w.After == nil {
		return false
	}
	return w.Before.Window != w.After.Window || w.Before.Due != w.After.Due
}

// Blocks reports whether something stands against the work that did not before; Frees
// whether nothing does any more.
func (w *WorkDifference) Blocks() bool {
	return w.Before != nil && w.After != nil && len(w.Before.Blocked) == 0 && len(w.After.Blocked) > 0
}

// Frees is explained at Blocks.
func (w *WorkDifference) Frees() bool {
	return w.Before != nil && w.After != nil && len(w.Before.Blocked) > 0 && len(w.After.Blocked) == 0
}

// Says reports whether title, effort, materials, or when not to do it change.
func (w *WorkDifference) Says() bool {
	if w.Before == nil || w.After == nil {
		return false
	}
	a, b := w.Before.Rule, w.After.Rule
	return w.Before.Title != w.After.Title || a.Minutes != b.Minutes || a.Not != b.Not || !slices.Equal(a.Materials, b.Materials)
}

// Warns lists the cautions that show from now on, Unwarns those that no longer do.
func (w *WorkDifference) Warns() []string { return without(w.After, w.Before) }

// Unwarns is explained at Warns.
func (w *WorkDifference) Unwarns() []string { return without(w.Before, w.After) }

// without lists the cautions of a work that another has not; none where there is no other.
func without(a, b *Planned) []string {
	if a == nil || b == nil {
		return nil
	}
	var out []string
	for _, c := range a.Cautions {
		if !slices.Contains(b.Cautions, c) {
			out = append(out, c)
		}
	}
	return out
}
