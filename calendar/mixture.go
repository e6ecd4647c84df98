package calendar

import (
	"cmp"
	"math"
	"slices"

	"budswell/climate"
)

// drawn are the first and last days of a window in each draw in which it opens.
type drawn struct{ opens, closes []climate.Date }

// keepDraws lets windows keep their draws from now on, for those who mix them. Those
// that were computed before are computed anew.
func (p *Planner) keepDraws() {
	if !p.keeps {
		p.keeps = true
		clear(p.windows)
	}
}

// mix makes the whole of a region from the plans of its bands.
func (r *RegionPlan) mix(name string) {
	if len(r.Bands) == 1 {
		r.Whole = r.Bands[0].Plan
		return
	}
	first := r.Bands[0].Plan
	r.Whole = &Plan{On: r.On, Site: first.Site, Basis: basisOf(r.Bands)}
	r.Whole.Site.Name = name
	for i := range first.Trees {
		t := first.Trees[i]
		t.Works, t.Doubt = nil, ""
		for k := range r.Bands {
			for _, w := range r.Bands[k].Trees[i].Works {
				if !slices.ContainsFunc(t.Works, func(o Planned) bool { return o.Key == w.Key }) {
					t.Works = append(t.Works, mixed(r.with(i, w.Key)))
				}
			}
		}
		slices.SortStableFunc(t.Works, func(x, y Planned) int {
			return cmp.Or(cmp.Compare(x.Window.Likely, y.Window.Likely), cmp.Compare(x.Key, y.Key))
		})
		r.Whole.Trees = append(r.Whole.Trees, t)
	}
}

// with returns the work of a key from the bands that have it.
func (r *RegionPlan) with(tree int, key string) []*Planned {
	var out []*Planned
	for i := range r.Bands {
		if w := r.Bands[i].Work(tree, key); w != nil {
			out = append(out, w)
		}
	}
	return out
}

// mixed returns one work whose window is, as likely as each other, that of any of the
// works, which are the same in different bands.
func mixed(works []*Planned) Planned {
	out := *works[0]
	if len(works) == 1 {
		return out
	}
	out.draws, out.SoFar = nil, ""
	if out.Rule != nil {
		out.Why = out.Rule.Why
	}
	if !slices.ContainsFunc(works, func(w *Planned) bool { return len(w.Blocked) == 0 }) {
		out.Blocked = works[0].Blocked
	} else {
		out.Blocked = nil
	}
	out.Due = climate.NoDate
	for _, w := range works {
		if w.Due.Valid() && (!out.Due.Valid() || w.Due < out.Due) {
			out.Due = w.Due
		}
	}
	var opens, closes []weighted
	share := 1 / float64(len(works))
	out.Window = Window{AnyTime: true}
	for _, w := range works {
		each := share * w.Window.Chance / float64(len(w.draws.opens))
		for i := range w.draws.opens {
			opens = append(opens, weighted{w.draws.opens[i], each})
			closes = append(closes, weighted{w.draws.closes[i], each})
		}
		out.Window.Chance += share * w.Window.Chance
		out.Window.AnyTime = out.Window.AnyTime && w.Window.AnyTime
	}
	out.Window.Opens, out.Window.Closes = spreadOfWeighted(opens), spreadOfWeighted(closes)
	out.Open = meanCurve(works)
	out.Window.Likely, out.Window.Certainty = out.Open.best(out.Window.Opens.P50, out.Window.Closes.P50)
	return out
}

// weighted is a day that counts for so much.
type weighted struct {
	day    climate.Date
	weight float64
}

func spreadOfWeighted(days []weighted) climate.Spread {
	slices.SortFunc(days, func(a, b weighted) int { return cmp.Compare(a.day, b.day) })
	sum := 0.0
	for _, d := range days {
		sum += d.weight
	}
	out := never
	for _, q := range []struct {
		share float64
		to    *climate.Date
	}{{0.1, &out.P10}, {0.5, &out.P50}, {0.9, &out.P90}} {
		seen := 0.0
		for _, d := range days {
			*q.to = d.day
			if seen += d.weight; seen > q.share*sum*(1+1e-9) { // what rounding adds is nothing
				break
			}
		}
	}
	return out
}

// meanCurve is the chance that a window is open in a band that is as likely any of those
// of the works.
func meanCurve(works []*Planned) Curve {
	first, last := works[0].Open.First, works[0].Open.First
	for _, w := range works {
		first, last = min(first, w.Open.First), max(last, w.Open.First+climate.Date(len(w.Open.Chance))-1)
	}
	out := Curve{First: first, Chance: make([]float64, max(0, int(last-first)+1))}
	for i := range out.Chance {
		for _, w := range works {
			out.Chance[i] += w.Open.On(first+climate.Date(i)) / float64(len(works))
		}
	}
	return out
}

// best returns the day from first to last, or where they are in no order any day, on which
// the curve is highest, of several as good the middle, and how high that is.
func (c Curve) best(first, last climate.Date) (climate.Date, float64) {
	if last < first {
		first, last = c.First, c.First+climate.Date(len(c.Chance))-1
	}
	most := 0.0
	for d := first; d <= last; d++ {
		most = max(most, c.On(d))
	}
	enough := most * (1 - nearTie)
	from, to := climate.NoDate, climate.NoDate
	for d := first; d <= last; d++ {
		if c.On(d) < enough {
			if from.Valid() {
				break
			}
			continue
		}
		if !from.Valid() {
			from = d
		}
		to = d
	}
	if !from.Valid() {
		return first, 0
	}
	likely := from + climate.Date(math.Floor(float64(to-from)/2))
	return likely, c.On(likely)
}
