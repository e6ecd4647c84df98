package calendar

import (
	"cmp"
	"slices"

	"budswell/climate"
	"budswell/climate/phenology"
)

// history is a tree's log up to a day, put in order and understood.
type history struct {
	tree    *Tree
	lore    *Lore
	species *Species
	growth  *Growth

	had    climate.Date
	done   []deed         // in the order of their days
	grew   []climate.Date // days on which growth was seen
	judged []verdict

	soil  float64 // share of the root ball that is field soil
	flare bool
	wire  climate.Date // since when there is wire on the tree
}

// deed is a work that was done.
type deed struct {
	work *Work
	on   climate.Date
	rest float64 // growing seasons in which nothing hard should follow
}

// verdict is a judgement and its day.
type verdict struct {
	Judgement
	on climate.Date
}

// newHistory reads the log of t up to on; entries in any order, those after on
// left out.
func newHistory(t *Tree, l *Lore, s *Species, g *Growth, on climate.Date) *history {
	h := beginHistory(t, l, s, g)
	for _, e := range inOrder(t.Log) {
		if e.On <= on {
			h.take(l, e)
		}
	}
	return h
}

// beginHistory returns the history of a tree of whose log nothing was read yet.
func beginHistory(t *Tree, l *Lore, s *Species, g *Growth) *history {
	h := &history{tree: t, lore: l, species: s, growth: g, had: climate.NoDate, wire: climate.NoDate}
	if t.Origin.dug() {
		h.soil = 1
	}
	if t.FieldSoil != nil {
		h.soil = *t.FieldSoil
	}
	return h
}

// inOrder returns the entries that have a day by their days.
func inOrder(log []Entry) []Entry {
	out := slices.DeleteFunc(slices.Clone(log), func(e Entry) bool { return !e.On.Valid() })
	slices.SortStableFunc(out, func(a, b Entry) int { return cmp.Compare(a.On, b.On) })
	return out
}

// take reads the next entry.
func (h *history) take(l *Lore, e Entry) {
	// A tree that was only looked at may still stand in the ground.
	if !h.had.Valid() && (!h.tree.Origin.dug() || e.Did != "" || e.Judged != nil || e.Moved != "") {
		h.had = e.On
	}
	if w, ok := l.WorkByID(e.Did); ok {
		h.do(w, e, l.restAfter(w, h.species))
	}
	if growthSign(e.Saw) {
		h.grew = append(h.grew, e.On)
	}
	if e.Judged != nil {
		h.judged = append(h.judged, verdict{*e.Judged, e.On})
	}
}

// do takes in that w was done.
func (h *history) do(w *Work, e Entry, rest float64) {
	switch w.ID {
	case WorkCollect:
		h.had = e.On
		rest = max(rest, h.restCollected())
	case WorkRepot:
		if h.species.bySteps() {
			h.soil = max(0, h.soil-0.5)
		} else {
			h.soil = 0
		}
	case WorkRootFlare:
		h.flare = true
	case WorkUnwire:
		h.wire = climate.NoDate
	}
	if w.wires() && !h.wire.Valid() {
		h.wire = e.On
	}
	if e.FieldSoilLeft != nil {
		h.soil = *e.FieldSoilLeft
	}
	if w.ID == WorkRepot && h.soil == 0 {
		h.flare = true // the bare base was seen
	}
	h.done = append(h.done, deed{w, e.On, rest})
}

// restCollected is how many growing seasons a collected tree rests: one, and
// conifers two (common practice, no published source).
func (h *history) restCollected() float64 {
	if h.species.Conifer() && h.tree.Origin == Collected {
		return 2
	}
	return 1
}

// restAfter returns for how many growing seasons a tree of s rests from hard
// work after w: the longest of the rules for it.
func (l *Lore) restAfter(w *Work, s *Species) float64 {
	rest := 0.0
	for i := range l.Rules {
		if r := &l.Rules[i]; r.Work == w.ID && r.For.MatchesSpecies(s) {
			rest = max(rest, r.Rest)
		}
	}
	return rest
}

// growthSign reports whether a phase shows that the tree grows.
func growthSign(p phenology.Phase) bool {
	switch p {
	case phenology.LeafOut, phenology.LeavesHardened, phenology.CandlesExtending,
		phenology.NeedlesSeparating, phenology.NeedlesHardened, phenology.SecondFlush:
		return true
	}
	return false
}

// Conifer reports whether the species is one.
func (s *Species) Conifer() bool {
	switch s.Group {
	case phenology.DeciduousConifer, phenology.SingleFlushPine, phenology.MultiFlushPine,
		phenology.SpruceFir, phenology.JuniperCypress:
		return true
	}
	return false
}

// bySteps reports whether field soil leaves the roots by halves: of conifers, and of
// kinds that answer root work badly or of which that is not known. Other broadleaves
// can be washed clean at once (common practice, no published source).
func (s *Species) bySteps() bool { return s.Conifer() || s.Has(RootSensitive) }

// last returns when one of the works that name stands for was last done, at the
// earliest on from; NoDate when never.
func (h *history) last(name string, from climate.Date) climate.Date {
	for _, d := range slices.Backward(h.done) {
		if d.on < from {
			break
		}
		if d.work.Is(name) {
			return d.on
		}
	}
	return climate.NoDate
}

// repotted reports whether the tree was repotted since it was dug: it says so in
// the log, or the grower judged it to be at a stage that comes after.
func (h *history) repotted() bool {
	return h.last(WorkRepot, beforeAll).Valid() || slices.ContainsFunc(h.judged, func(v verdict) bool {
		return v.Stage.rank() >= StageFirstStyling.rank()
	})
}

// Is reports whether name means w: its id, [AnyHard] or [AnyRootWork].
func (w *Work) Is(name string) bool {
	switch name {
	case AnyHard:
		return w.Hard != HardOnNothing
	case AnyRootWork:
		return w.Hard == HardOnRoots
	}
	return w.ID == name
}

// wires reports whether w puts wire on the tree.
func (w *Work) wires() bool {
	return w.ID == WorkWire || w.ID == WorkFirstStyle || w.ID == WorkSecondStyle
}

// counts reports whether a time since the work that name means runs from w: the wire
// of a styling is wire.
func (w *Work) counts(name string) bool { return w.Is(name) || name == WorkWire && w.wires() }
