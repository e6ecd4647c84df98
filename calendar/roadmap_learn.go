package calendar

import (
	"math"
	"slices"

	"budswell/climate"
)

// learnt is what the logs of a grower's own trees tell of how long a stage takes.
type learnt struct {
	n   int     // stages that were gone through
	sum float64 // of the logarithms of how long they took, as a part of what is usual
}

const (
	// waiting is how many growing seasons pass, on average, from when a tree is ready
	// until the window of the next work comes, once a year.
	waiting = 0.5

	// mostLearnt is by how much a grower's own trees move what is usual at most.
	mostLearnt = 2
)

// spell returns s as it is for the grower's trees. The logarithm of how long a stage
// takes is a sum of what the grower's hand, place and trees have in common and of what
// differs from tree to tree, with half of the spread each (judged, no published
// source). Then n stages gone through, of a mean logarithm m beside what is usual,
// shift the middle by m n/(n+1) and leave 1/(n+1) of the first half of the spread: the
// normal distribution's rule of Bayes.
func (t learnt) spell(s spell) spell {
	if t.n == 0 {
		return s
	}
	n := float64(t.n)
	by := math.Exp(t.sum / (n + 1))
	by = min(max(by, 1.0/mostLearnt), mostLearnt)
	narrower := by * math.Sqrt((1+1/(n+1))/2)
	return spell{s.middle * by, s.below * narrower, s.above * narrower}
}

// learn looks through the logs of trees, each of a species, for stages that were gone through, by id of
// the times that they tell of.
func (p *Planner) learn(trees []Tree, species []*Species) map[string]learnt {
	out := map[string]learnt{}
	for i := range trees {
		s := species[i]
		h := newHistory(&trees[i], p.lore, s, p.growthOf(s), p.outlook.Issue)
		h.gone(StageRecovering, WorkCollect, WorkRepot, out)
		h.gone(StageBuilding, WorkFirstStyle, WorkSecondStyle, out)
		h.gone(StageRefining, WorkSecondStyle, WorkShow, out)
	}
	return out
}

// gone notes how long the tree took from one work to the next, unless it was judged
// to be at a stage in between: then it took a way of its own.
func (h *history) gone(stage Stage, from, to string, out map[string]learnt) {
	first := func(work string, after climate.Date) climate.Date {
		for _, d := range h.done {
			if d.work.ID == work && d.on > after {
				return d.on
			}
		}
		return climate.NoDate
	}
	begun := first(from, climate.NoDate)
	if !begun.Valid() {
		return
	}
	done := first(to, begun)
	if !done.Valid() || slices.ContainsFunc(h.judged, func(v verdict) bool { return v.Stage != "" && v.on >= begun && v.on <= done }) {
		return
	}
	t := h.lore.stageTime(stage, h.species, h.tree.Origin)
	if t.Usual == 0 {
		return
	}
	took := max(h.growth.Seasons(begun, done)-waiting, t.Usual/4)
	l := out[t.ID]
	out[t.ID] = learnt{l.n + 1, l.sum + math.Log(took/t.Usual)}
}
