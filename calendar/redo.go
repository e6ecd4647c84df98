package calendar

import (
	"cmp"
	"slices"
)

// redo chooses anew what is done on each day, one after the other, as long as the
// whole gains. A day may take any task for what it is worth more there than where
// it is, and give up any for the best other day that has room.
// Prices make it faster where they are known.
func (p *placing) redo(pr *prices) {
	w := p.worths(pr)
	for range redoPasses {
		before := p.value
		for d := range p.days {
			p.redoDay(d, w)
		}
		if p.value <= before {
			return
		}
	}
}

// redoFrom chooses anew what is done on a day, and then on each day that this
// moved something from or to, as long as the whole gains.
func (p *placing) redoFrom(day int, pr *prices) {
	w := p.worths(pr)
	queue := []int{day}
	for n := 0; n < len(queue) && n < redoDays; n++ {
		for _, d := range p.redoDay(queue[n], w) {
			if !slices.Contains(queue[n+1:], d) {
				queue = append(queue, d)
			}
		}
	}
}

// worths is for choosing what a day takes by what its tasks are worth elsewhere.
func (p *placing) worths(pr *prices) *wants {
	each := make([]int, len(p.tasks))
	for i := range each {
		each[i] = i
	}
	return &wants{fitting: p.fitting, prices: pr, group: each, ask: make([]float64, len(p.tasks)), picked: make([]int, len(p.tasks)), unit: p.unit}
}

// redoDay chooses anew what is done on a day. It returns the other days that it
// took from or gave to, none where nothing is gained and all is as it was.
func (p *placing) redoDay(d int, w *wants) (touched []int) {
	wished := func(x pick) bool {
		return p.tasks[x.task].options[x.option].value > p.worth(int(x.task))
	}
	if !slices.ContainsFunc(p.wanting[d], wished) {
		return nil
	}
	value := p.value
	had := make([]pick, 0, len(p.on[d]))
	for _, i := range p.on[d] {
		had = append(had, pick{i, int32(p.at[i])})
	}
	for _, x := range had {
		p.drop(int(x.task))
	}
	for _, x := range p.wanting[d] {
		w.ask[x.task] = p.worth(int(x.task))
	}
	for _, x := range had {
		w.ask[x.task] = 0
		for _, o := range p.tasks[x.task].ranked {
			if p.tasks[x.task].options[o].day != d && p.fits(int(x.task), int(o)) {
				w.ask[x.task] = p.tasks[x.task].options[o].value
				break
			}
		}
	}
	w.picks = w.picks[:0]
	w.day(d)
	slices.SortFunc(w.picks, func(a, b pick) int { return cmp.Compare(a.task, b.task) })
	moved := make([]pick, 0, len(w.picks))
	for _, x := range w.picks {
		i := int(x.task)
		was := p.drop(i)
		moved = append(moved, pick{x.task, int32(was)})
		if p.fits(i, int(x.option)) {
			p.put(i, int(x.option))
		} else if was >= 0 {
			p.put(i, was)
		}
	}
	for _, x := range had {
		if p.at[x.task] < 0 {
			if o := p.best(int(x.task), 0); o >= 0 {
				p.put(int(x.task), o)
			}
		}
	}
	if p.value > value {
		for _, x := range moved {
			if x.option >= 0 {
				touched = append(touched, p.tasks[x.task].options[x.option].day)
			}
		}
		for _, x := range had {
			if to := p.day(int(x.task)); to >= 0 {
				touched = append(touched, to)
			}
		}
		slices.Sort(touched)
		return slices.DeleteFunc(slices.Compact(touched), func(t int) bool { return t == d })
	}
	for _, x := range moved {
		p.drop(int(x.task))
	}
	for _, x := range had {
		p.drop(int(x.task))
	}
	for _, x := range moved {
		if x.option >= 0 {
			p.put(int(x.task), int(x.option))
		}
	}
	for _, x := range had {
		p.put(int(x.task), int(x.option))
	}
	return nil
}
