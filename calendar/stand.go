package calendar

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"budswell/climate"
	"budswell/climate/phenology"
)

// Bench is a spot of a place with an exposure of its own.
type Bench struct {
	ID       string `yaml:"id" json:"id"` // stable; made from the name where none is given
	Name     string `yaml:"name" json:"name"`
	Exposure string `yaml:"exposure" json:"exposure,omitempty"` // one of [climate.ExposureNames]; empty: open

	// ShiftTmin and ShiftTmax are what the grower knows the bench to differ by from the
	// open air of the place, beside what the exposure does; C, -15 to 15.
	ShiftTmin float64 `yaml:"shift_tmin" json:"shift_tmin,omitempty"`
	ShiftTmax float64 `yaml:"shift_tmax" json:"shift_tmax,omitempty"`

	// Floor is what a heater keeps up, C, -20 to 25; nil: what is usual for the exposure.
	Floor *float64 `yaml:"floor" json:"floor,omitempty"`
}

// String returns the bench's name with its exposure, as people read it.
func (b Bench) String() string { return b.Name + " (" + cmp.Or(b.Exposure, climate.Open) + ")" }

// Air returns how the air about the bench differs from the open air of its place. It
// fails only for a bench that [CheckBenches] reports.
func (b Bench) Air() (climate.Exposure, error) {
	e, err := climate.ExposureNamed(b.Exposure)
	if err != nil {
		return e, err
	}
	e.Tmin, e.Tmax = e.Tmin+b.ShiftTmin, e.Tmax+b.ShiftTmax
	if b.Floor != nil {
		e.Floor = b.Floor
	}
	return e, e.Validate()
}

const (
	mostBenches = 100 // of a place
	longestName = 200 // of a bench, in bytes
)

// CheckBenches reports the first thing about the benches of a place that cannot be, as an [ErrInvalid].
func CheckBenches(benches []Bench) error {
	if len(benches) > mostBenches {
		return fmt.Errorf("%d benches: want %d at most: %w", len(benches), mostBenches, ErrInvalid)
	}
	for i, b := range benches {
		if b.ID == "" || b.ID != Slug(b.ID) {
			return fmt.Errorf("bench %d: id %q: want small letters, digits and hyphens: %w", i+1, b.ID, ErrInvalid)
		}
		if !ValidName(b.Name, longestName) || len(b.Name) > longestName {
			return fmt.Errorf("bench %q: name %.40q: want 1 to %d letters: %w", b.ID, b.Name, longestName, ErrInvalid)
		}
		if slices.ContainsFunc(benches[:i], func(o Bench) bool { return o.ID == b.ID }) {
			return fmt.Errorf("bench %q: another has the same id: %w", b.ID, ErrInvalid)
		}
		if _, err := b.Air(); err != nil {
			return fmt.Errorf("bench %q: %w: %w", b.ID, err, ErrInvalid)
		}
	}
	return nil
}

// BenchOn returns the id of the bench on which the tree stood on a day, by its log; empty:
// in the open.
func (t *Tree) BenchOn(on climate.Date) string {
	bench, since := t.Bench, climate.NoDate
	for _, e := range t.Log {
		if e.Moved != "" && e.On.Valid() && e.On <= on && e.On >= since {
			bench, since = e.Moved, e.On
		}
	}
	return bench
}

// Stand is trees that stood and stand alike, and the weather about them.
type Stand struct {
	Bench   string // id of that on which they stand on the day of issue; empty: in the open
	Trees   []Tree
	Outlook *climate.Outlook
	Pool    []phenology.Pooled // what other growers saw
}

// Stands parts trees by where they stood over the days of o, up to its issue; where
// they stand then they are taken to stay, and what is not known of the time before is
// taken to be as the log begins. A bench that there is not, or no more, is taken for the
// open, and the outlooks' notes say so. Trees that are gone stand nowhere. It returns an [ErrInvalid] where benches cannot be.
func Stands(o *climate.Outlook, benches []Bench, trees []Tree) ([]Stand, error) {
	if err := CheckBenches(benches); err != nil {
		return nil, err
	}
	exposures := map[string]climate.Exposure{"": {}}
	for _, b := range benches {
		e, err := b.Air()
		if err != nil {
			return nil, err
		}
		exposures[b.ID] = e
	}
	if trees = stillThere(trees, o.Issue); len(trees) == 0 {
		return []Stand{{Outlook: o}}, nil
	}
	if lost := strayBenches(exposures, trees, o.Issue); len(lost) > 0 {
		told := *o
		told.Supply.Notes = append(slices.Clone(o.Supply.Notes), "trees on benches that are not known are planned as in the open: "+strings.Join(lost, ", "))
		o = &told
	}
	var out []Stand
	at := map[string]int{}
	for i := range trees {
		t := &trees[i]
		stays, key := t.stays(o, exposures)
		k, ok := at[key]
		if !ok {
			k = len(out)
			at[key] = k
			out = append(out, Stand{Bench: t.BenchOn(o.Issue), Outlook: o.Under(stays)})
		}
		out[k].Trees = append(out[k].Trees, *t)
	}
	return out, nil
}

// strayBenches lists the benches of trees up to a day that are not among those known.
func strayBenches(known map[string]climate.Exposure, trees []Tree, issue climate.Date) []string {
	var out []string
	look := func(id string) {
		if _, ok := known[id]; !ok && !slices.Contains(out, id) {
			out = append(out, id)
		}
	}
	for i := range trees {
		look(trees[i].Bench)
		for _, e := range trees[i].Log {
			if e.On <= issue {
				look(e.Moved)
			}
		}
	}
	return out
}

// stays returns where the tree stood, and a text that is the same for trees that
// stood alike. Moves before the days of o make one stay.
func (t *Tree) stays(o *climate.Outlook, exposures map[string]climate.Exposure) ([]climate.Stay, string) {
	first := o.First
	if o.Record != nil && len(o.Record.Days) > 0 {
		first = min(first, o.Record.First)
	}
	moves := []Entry{{On: first, Moved: t.BenchOn(first)}}
	for _, e := range t.Log {
		if e.Moved != "" && e.On.Valid() && e.On > first && e.On <= o.Issue {
			moves = append(moves, e)
		}
	}
	slices.SortStableFunc(moves, func(a, b Entry) int { return cmp.Compare(a.On, b.On) })
	var stays []climate.Stay
	var key strings.Builder
	last := "\x00"
	for i, m := range moves {
		if m.Moved == last || i+1 < len(moves) && moves[i+1].On == m.On {
			continue // it stayed, or was moved on the same day again
		}
		fmt.Fprintf(&key, "%d %s\n", m.On, m.Moved)
		stays = append(stays, climate.Stay{From: m.On, Exposure: exposures[m.Moved]})
		last = m.Moved
	}
	return stays, key.String()
}

// Merge puts the plans of the stands of a place together, the trees in the order in
// which they are given.
func Merge(plans []*Plan, benches []Bench, trees []Tree) *Plan {
	if len(plans) == 0 {
		return nil
	}
	order := make(map[string]int, len(trees))
	for i := range trees {
		order[trees[i].ID] = i
	}
	out := *plans[0]
	out.Trees, out.Shows, out.Benches = nil, nil, benches
	for _, p := range plans {
		out.Trees = append(out.Trees, p.Trees...)
		out.Shows = append(out.Shows, p.Shows...)
	}
	slices.SortStableFunc(out.Shows, func(a, b ShowPlan) int { return cmp.Compare(order[a.Tree.ID], order[b.Tree.ID]) })
	slices.SortStableFunc(out.Trees, func(a, b TreePlan) int { return cmp.Compare(order[a.Tree.ID], order[b.Tree.ID]) })
	for i := range out.Trees {
		t := &out.Trees[i]
		on := t.Tree.BenchOn(out.On)
		if k := slices.IndexFunc(benches, func(b Bench) bool { return b.ID == on }); k >= 0 {
			t.Bench = &benches[k]
		}
	}
	return &out
}
