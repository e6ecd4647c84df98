package calendar

import (
	"math"
	"slices"
)

// wants are what tasks ask for, each for having a day at all: the Lagrange
// multipliers of the demand that a task takes one day only. Without that demand
// each day by itself takes the tasks that bring it most, a knapsack with set-ups
// which is solved outright; so at any wants of 0 or more, their sum and what the
// days then bring is at least the value of the best placing (Fisher 1981, The
// Lagrangian relaxation method for solving integer programming problems,
// Management Science 27). The bound is closer than that of prices, since it does
// not cut tasks in two, and dearer.
type wants struct {
	fitting *fitting
	prices  *prices   // nil: none are known
	group   []int     // of each task
	ask     []float64 // by group
	bound   float64   // the least found
	unit    int       // as the fitting's
	picked  []int     // options of a group that the days of the last look picked
	picks   []pick    // all of these

	light, heavy sack
}

// pick is an option that a day took.
type pick struct{ task, option int32 }

// newWants starts from prices: a task asks for what it would have left.
func newWants(f *fitting, pr *prices) *wants {
	w := &wants{fitting: f, prices: pr, group: f.group, ask: make([]float64, f.groups), bound: math.Inf(1), picked: make([]int, f.groups)}
	w.unit = f.unit
	for i := range f.tasks {
		for o := range f.tasks[i].options {
			g := w.group[i]
			w.ask[g] = max(w.ask[g], pr.offer(f, i, o, false))
		}
	}
	return w
}

// asked returns the wants for a fitting of the same tasks with other days.
func (w *wants) asked(f *fitting) *wants {
	out := &wants{fitting: f, prices: w.prices, group: f.group, ask: make([]float64, f.groups), picked: make([]int, f.groups), unit: f.unit}
	for i, g := range f.group {
		out.ask[g] = max(out.ask[g], w.ask[w.group[i]])
	}
	return out
}

// look lets each day take what brings it most at the present wants, and returns
// the bound.
func (w *wants) look() float64 {
	sum := 0.0
	for _, u := range w.ask {
		sum += u
	}
	clear(w.picked)
	w.picks = w.picks[:0]
	for d := range w.fitting.days {
		sum += w.day(d)
	}
	return sum
}

// day returns what a day brings at most, and notes with what.
func (w *wants) day(d int) float64 {
	f := w.fitting
	have := f.days[d]
	apart := have.own < have.all // who may do hard work is not everybody
	w.light.clear()
	w.heavy.clear()
	kind := -2
	any := false
	for _, x := range f.wanting[d] {
		t := &f.tasks[x.task]
		if t.kind != kind {
			kind = t.kind
			setUp := 0
			if kind >= 0 {
				setUp = f.setUp[kind] / w.unit
			}
			w.light.begin(setUp)
			w.heavy.begin(setUp)
		}
		if v := t.options[x.option].value - w.ask[w.group[x.task]]; v > 0 {
			any = true
			s := &w.light
			if apart && t.hard {
				s = &w.heavy
			}
			s.items = append(s.items, item{x, t.minutes / w.unit, v})
		}
	}
	if !any {
		return 0
	}
	all, own := have.all/w.unit, have.own/w.unit
	if w.prices != nil {
		w.prune(d, all, own)
	}
	w.light.fill(all)
	if !apart {
		w.note(&w.light, all)
		return w.light.best[all]
	}
	w.heavy.fill(own)
	most, at := -1.0, 0
	for h := 0; h <= min(own, all); h++ {
		if v := w.heavy.best[h] + w.light.best[all-h]; v > most {
			most, at = v, h
		}
	}
	w.note(&w.heavy, at)
	w.note(&w.light, all-at)
	return most
}

// prune takes out of the sacks what cannot be of the best: what falls further
// short of the price of its minutes than the bound of the prices lies above what
// some choice brings.
func (w *wants) prune(d, all, own int) {
	price := w.prices.all[d] * float64(w.unit)
	hard := w.prices.own[d] * float64(w.unit)
	over := func(s *sack, cost float64) float64 {
		sum := 0.0
		for i := range s.items {
			sum += max(0, s.items[i].value-cost*float64(s.items[i].units))
		}
		return sum
	}
	some, used := w.heavy.some(min(own, all), price+hard)
	more, _ := w.light.some(all-used, price)
	slack := price*float64(all) + hard*float64(own) + over(&w.heavy, price+hard) + over(&w.light, price) - some - more
	w.heavy.keep(slack, price+hard)
	w.light.keep(slack, price)
}

// note notes what a sack took that was filled with so many units.
func (w *wants) note(s *sack, units int) {
	width := len(s.best)
	for k := len(s.groups) - 1; k >= 0; k-- {
		if !s.with[k*width+units] {
			continue
		}
		g := s.groups[k]
		for i := s.end(k) - 1; i >= g.first; i-- {
			if s.took[i*width+units] {
				x := &s.items[i]
				units -= x.units
				w.picked[w.group[x.task]]++
				w.picks = append(w.picks, x.pick)
			}
		}
		units -= g.setUp
	}
}

// improve moves the wants so that the bound comes down: a task that several days
// took asks for more, one that none took for less. It places what the days took
// as well as it can, and returns the best placing of these that is better than
// best, or best.
func (w *wants) improve(best *placing, rounds int) *placing {
	const placeEvery = 10
	scale, stale := 1.0, 0
	asked := slices.Clone(w.ask) // of the least bound
	for round := range rounds {
		bound := w.look()
		if stale++; bound < w.bound {
			if bound < w.bound-1e-6*w.bound {
				stale = 0
			}
			w.bound = bound
			copy(asked, w.ask)
		}
		if stale >= 4 {
			scale, stale = scale*0.6, 0
		}
		norm := 0.0
		for i, n := range w.picked {
			if n != 1 && !(n == 0 && w.ask[i] == 0) {
				norm += float64((n - 1) * (n - 1))
			}
		}
		last := norm == 0 || round == rounds-1
		if last || round%placeEvery == placeEvery-1 {
			if p := w.place(); p.value > best.value {
				best = p
			}
		}
		if last || w.bound-best.value <= leastGain {
			break
		}
		step := scale * max(bound-best.value, 0) / norm
		for i, n := range w.picked {
			w.ask[i] = max(0, w.ask[i]+step*float64(n-1))
		}
	}
	w.ask = asked
	return best
}

// place places what the days took: of a task that several took, the best that
// fits; and fills what is left.
func (w *wants) place() *placing {
	p := newPlacing(w.fitting)
	for _, x := range w.picks {
		i, o := int(x.task), int(x.option)
		had := p.drop(i)
		switch {
		case had >= 0 && p.tasks[i].options[o].value <= p.tasks[i].options[had].value, !p.fits(i, o):
			if had >= 0 {
				p.put(i, had)
			}
		default:
			p.put(i, o)
		}
	}
	p.fill(p.byValue(nil))
	p.redo(w.prices)
	return p
}
