package calendar

import (
	"cmp"
	"slices"
)

// exact searches all ways to place some tasks, the others staying where they are,
// and keeps the best. It reports whether it got through, by branch and bound with
// the bound of the prices, before it had looked at so many options.
func (p *placing) exact(tasks []int, pr *prices, looks int) bool {
	e := &enumeration{placing: p, prices: pr, looks: looks, best: p.value, bestAt: slices.Clone(p.at)}
	for _, i := range tasks {
		if len(p.tasks[i].options) > 0 {
			e.order = append(e.order, i)
		}
	}
	for _, i := range e.order {
		p.drop(i)
	}
	// Those with the most to lose first.
	slices.SortStableFunc(e.order, func(a, b int) int {
		return cmp.Compare(p.tasks[b].options[p.tasks[b].ranked[0]].value, p.tasks[a].options[p.tasks[a].ranked[0]].value)
	})
	seen := map[int]bool{}
	for _, i := range e.order {
		for _, x := range p.tasks[i].options {
			if !seen[x.day] {
				seen[x.day] = true
				e.dates = append(e.dates, x.day)
			}
		}
	}
	e.from(0)
	p.set(e.bestAt)
	return e.looks > 0
}

// enumeration is such a search under way.
type enumeration struct {
	*placing
	prices *prices
	order  []int
	dates  []int // that the tasks may take
	looks  int   // left
	best   float64
	bestAt []int
}

// from places the tasks from the n-th of the order on in all ways that may be
// better than the best.
func (e *enumeration) from(n int) {
	if e.looks--; e.looks <= 0 {
		return
	}
	if n == len(e.order) {
		if e.value > e.best+leastGain {
			e.best = e.value
			copy(e.bestAt, e.at)
		}
		return
	}
	if e.bound(n) <= e.best+leastGain {
		return
	}
	i := e.order[n]
	for _, o := range e.tasks[i].ranked {
		if e.fits(i, int(o)) {
			e.put(i, int(o))
			e.from(n + 1)
			e.drop(i)
		}
	}
	e.from(n + 1)
}

// bound returns what the tasks from the n-th on may bring at most, with what the
// others have: each its best day that still fits it, or the bound of the prices
// on what is left of the days, whichever is less.
func (e *enumeration) bound(n int) float64 {
	simple, priced := e.value, e.value
	for _, d := range e.dates {
		priced += e.prices.all[d]*float64(e.days[d].all-e.used[d].all) + e.prices.own[d]*float64(e.days[d].own-e.used[d].own)
	}
	kinds := len(e.setUp)
	for _, i := range e.order[n:] {
		most, offer := 0.0, 0.0
		t := &e.tasks[i]
		e.looks -= len(t.options)
		for o, x := range t.options {
			if !e.room(t, x.day) {
				continue
			}
			most = max(most, x.value)
			made := t.kind >= 0 && e.count[x.day*kinds+t.kind] > 0
			offer = max(offer, e.prices.offer(e.fitting, i, o, made))
		}
		simple += most
		priced += offer
	}
	return min(simple, priced)
}
