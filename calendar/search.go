package calendar

import (
	"cmp"
	"math"
	"slices"
)

// leastGain is a difference of values that is less than the smallest that there is,
// and more than what sums with prices in them are wrong by.
const leastGain = 1e-7

// Effort of a search. They are counts, not times, so that the same question has
// the same answer on every machine.
const (
	priceRounds  = 100
	wantRounds   = 100     // at most
	wantLeast    = 6       // at least
	wantOptions  = 1500000 // that are looked at in all rounds
	redoPasses   = 4
	redoDays     = 200 // after one from which days are done anew
	polishPasses = 4
	ejectOptions = 5       // of a task, the most valuable, that another may be moved from
	ejectTries   = 30000   // of moving one
	wholeTasks   = 100     // a question of so many tasks at most is searched through wholly
	wholeLooks   = 5000000 // at so many options at most
)

// solve returns the best placing found, starting from one where it is given, and a
// bound on the value of any. The placing is proven best where the bound is its value.
func (f *fitting) solve(start []int) (best *placing, w *wants) {
	best = newPlacing(f)
	if start != nil {
		best.set(start)
	} else {
		best.fill(f.byValue(nil))
	}
	best.redo(nil)
	pr := newPrices(f)
	pr.bound = pr.dual(f, nil, nil)
	if pr.bound-best.value > leastGain {
		pr.improve(f, best.value, priceRounds)
		other := newPlacing(f)
		other.buy(pr)
		other.redo(pr)
		if other.value > best.value {
			best = other
		}
		best.polish()
	}
	w = newWants(f, pr)
	w.bound = pr.bound
	if w.bound-best.value > leastGain {
		best = w.improve(best, min(wantRounds, max(wantLeast, wantOptions/f.options())))
		best.polish()
		best.redo(pr)
	}
	if w.bound-best.value > leastGain && f.open() <= wholeTasks {
		all := make([]int, len(f.tasks))
		for i := range all {
			all[i] = i
		}
		if best.exact(all, pr, wholeLooks) {
			w.bound = best.value
		}
	}
	// All that is placed is worth a whole number of fractions.
	w.bound = max(math.Floor((w.bound+leastGain)*valueFraction)/valueFraction, best.value)
	return best, w
}

// options returns how many options there are, 1 for none.
func (f *fitting) options() int {
	n := 1
	for i := range f.tasks {
		n += len(f.tasks[i].options)
	}
	return n
}

// open returns the number of tasks that have something to choose.
func (f *fitting) open() int {
	n := 0
	for i := range f.tasks {
		if len(f.tasks[i].options) > 0 {
			n++
		}
	}
	return n
}

// byValue returns the tasks in the order of what they are worth a minute, at
// prices or, with nil, without.
func (f *fitting) byValue(pr *prices) []int {
	order, worth := make([]int, len(f.tasks)), make([]float64, len(f.tasks))
	for i := range f.tasks {
		order[i] = i
		for o, x := range f.tasks[i].options {
			v := x.value
			if pr != nil {
				v = pr.offer(f, i, o, false)
			}
			worth[i] = max(worth[i], v/float64(f.tasks[i].minutes))
		}
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(worth[b], worth[a]) })
	return order
}

// fill gives each task in turn, if it has none, the best option that fits.
func (p *placing) fill(order []int) {
	for _, i := range order {
		if p.at[i] < 0 {
			if o := p.best(i, 0); o >= 0 {
				p.put(i, o)
			}
		}
	}
}

// buy gives each task the option that it would buy of those that fit, and then
// fills what is left.
func (p *placing) buy(pr *prices) {
	order := p.byValue(pr)
	kinds := len(p.setUp)
	for _, i := range order {
		most, pick := leastGain, -1
		for o := range p.tasks[i].options {
			t := &p.tasks[i]
			made := t.kind >= 0 && p.count[t.options[o].day*kinds+t.kind] > 0
			if v := pr.offer(p.fitting, i, o, made); v > most && p.fits(i, o) {
				most, pick = v, o
			}
		}
		if pick >= 0 {
			p.put(i, pick)
		}
	}
	p.fill(p.byValue(nil))
}

// polish moves tasks to better days, and others out of their way, as long as the
// whole gains; those that have most to gain first.
func (p *placing) polish() {
	order, gain := make([]int, 0, len(p.tasks)), make([]float64, len(p.tasks))
	p.tries = ejectTries
	for range polishPasses {
		before := p.value
		order = order[:0]
		for i := range p.tasks {
			if t := &p.tasks[i]; len(t.options) > 0 {
				if gain[i] = t.options[t.ranked[0]].value - p.worth(i); gain[i] > 0 {
					order = append(order, i)
				}
			}
		}
		slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(gain[b], gain[a]) })
		for _, i := range order {
			p.better(i)
		}
		if p.value <= before {
			return
		}
	}
}

// better moves task i to a better day, if need be by moving one other task out of
// its way to where the whole gains.
func (p *placing) better(i int) {
	t := &p.tasks[i]
	was, had := p.worth(i), p.drop(i)
	for n, ranked := range t.ranked {
		o := int(ranked)
		x := t.options[o]
		if x.value <= was+leastGain {
			break
		}
		if !p.inOrder(i, o) {
			continue
		}
		if p.room(t, x.day) || n < ejectOptions && p.eject(i, o, x.value-was) {
			p.put(i, o)
			return
		}
	}
	if had >= 0 {
		p.put(i, had)
	}
}

// eject makes room for option o of task i by moving a task of that day elsewhere,
// or by leaving it out, where that costs less than gain; the one that costs least.
func (p *placing) eject(i, o int, gain float64) bool {
	t := &p.tasks[i]
	day := t.options[o].day
	least, victim, to := gain-leastGain, -1, -1
	short := p.lacks(t, day)
	on := slices.Clone(p.on[day])
	for _, k := range on {
		if p.tries == 0 {
			break
		}
		j := int(k)
		if was := p.worth(j); was >= least && p.second(j) <= was-least || !p.frees(j, short) {
			continue
		}
		p.tries--
		was, had := p.worth(j), p.drop(j)
		if p.room(t, day) {
			p.put(i, o) // so that j does not take the room
			other := p.best(j, was-least)
			loss := was
			if other >= 0 {
				loss -= p.tasks[j].options[other].value
			}
			p.drop(i)
			if loss < least || loss == least && victim >= 0 && j < victim {
				least, victim, to = loss, j, other
			}
		}
		p.put(j, had)
	}
	if victim < 0 {
		return false
	}
	p.drop(victim)
	if to >= 0 {
		p.put(victim, to)
	}
	return true
}

// lacks returns the minutes that a day is short of for a task.
func (p *placing) lacks(t *task, day int) int {
	m := p.takes(t, day)
	short := p.used[day].all + m - p.days[day].all
	if t.hard {
		short = max(short, p.used[day].own+m-p.days[day].own)
	}
	return short
}

// frees reports whether a day may gain so many minutes when task j leaves it.
func (p *placing) frees(j, minutes int) bool {
	t := &p.tasks[j]
	if t.kind >= 0 {
		return t.minutes+p.setUp[t.kind] >= minutes
	}
	return t.minutes >= minutes
}

// second returns what task j is worth on the best day but the one that it has.
func (p *placing) second(j int) float64 {
	t := &p.tasks[j]
	for _, o := range t.ranked {
		if int(o) != p.at[j] {
			return t.options[o].value
		}
	}
	return 0
}
