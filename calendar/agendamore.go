package calendar

import (
	"cmp"
	"slices"

	"budswell/climate"
)

// More is what more time on one day would bring.
type More struct {
	Day     climate.Date
	Minutes int
	Moves   []Move // what would be done on another day, or at all; the most gained first

	// Gain is what the moves save, in days of the trees' roads, less what it is worth
	// to keep promises; AtMost is what any others could save at most.
	Gain, AtMost float64
}

// Move is a work that would be done on another day.
type Move struct {
	Chosen                  // Day is NoDate where it would give way and wait
	From       climate.Date // the day that it has; NoDate: it waits
	FromChance float64
}

// gain returns what a move saves, in days of the tree's road.
func (m *Move) gain() float64 { return (m.Chance - m.FromChance) * m.Work.costs() }

// More says what so many minutes more of the grower's own on a day would bring, by
// choosing anew with them. What it finds holds; that nothing better is to be found
// is told by AtMost.
func (a *Agenda) More(day climate.Date, minutes int) More {
	out := More{Day: day, Minutes: minutes}
	k := int(day - a.On)
	if k < 0 || k > horizonDays || minutes <= 0 {
		return out
	}
	b := &Agenda{On: a.On, plan: a.plan, hours: a.hours.with(day, minutes), before: a.before}
	f := b.fitting()
	start := make([]int, len(f.tasks))
	for i := range start {
		start[i] = slices.IndexFunc(f.tasks[i].options, func(o option) bool { return o.day == a.days[i] })
	}
	p := newPlacing(f)
	p.set(start)
	p.redoFrom(k, a.wants.prices)
	w := a.wants.asked(f)
	w.bound = w.look()
	if f.open() <= wholeTasks {
		p, w = f.solve(p.at)
	}
	out.Gain, out.AtMost = p.value-a.value, max(w.bound, p.value)-a.value
	for i := range p.at {
		to, from := p.day(i), a.days[i]
		if to == from {
			continue
		}
		m := Move{Chosen: b.jobs[i].chosen(climate.NoDate), From: climate.NoDate}
		if to >= 0 {
			m.Chosen = b.jobs[i].chosen(a.On + climate.Date(to))
		}
		if from >= 0 {
			m.From = a.On + climate.Date(from)
			m.FromChance = m.Work.Open.On(m.From)
		}
		out.Moves = append(out.Moves, m)
	}
	slices.SortStableFunc(out.Moves, func(x, y Move) int { return cmp.Compare(y.gain(), x.gain()) })
	return out
}

// Scarce returns up to n of the next so many days on which more time would help
// most, as their prices say, in order; only days that have hours.
func (a *Agenda) Scarce(n, within int) []climate.Date {
	var days []climate.Date
	price := func(d climate.Date) float64 {
		k := int(d - a.On)
		return a.wants.prices.all[k] + a.wants.prices.own[k]
	}
	for k := range a.wants.fitting.days[:min(within, horizonDays)+1] {
		if d := a.On + climate.Date(k); price(d) > 0 {
			days = append(days, d)
		}
	}
	slices.SortStableFunc(days, func(x, y climate.Date) int { return cmp.Compare(price(y), price(x)) })
	days = days[:min(n, len(days))]
	slices.Sort(days)
	return days
}
