package calendar

import (
	"cmp"
	"slices"

	"budswell/climate"
)

// Agenda is who fits into which day: the works of a plan on the days for which
// there are hours, so that what is lost by work done too early, too late or not at
// all is least.
//
// What a work on a day is worth is the chance that its window is open then, times
// what missing it costs. The sum of that over all works is what is made greatest;
// it is what can be expected whether or not the trees share one spring.
type Agenda struct {
	On      climate.Date
	Days    []AgendaDay // with work on them, in order
	Waiting []Waiting   // what finds no day, the costliest first

	// Worth is what the chosen days save, in days of the trees' roads to the bench;
	// Gap is how much more any other choice could save at most, 0 where this is
	// proven the best.
	Worth, Gap float64

	plan   *Plan
	hours  *Hours
	before Promise
	jobs   []job
	days   []int   // of each job, counted from On; -1: it waits
	value  float64 // of the placing, with what keeping promises is worth
	wants  *wants
}

// AgendaDay is the work of one day.
type AgendaDay struct {
	Day     climate.Date
	Free    int // minutes that there are, of everybody
	Minutes int // that the works take, with setting up
	SetUp   int // of these
	Works   []Chosen

	// Chance is the chance that a work of the day is right, each counting by what
	// missing it costs; Least is that of the least sure. Trees of one kind share one
	// spring: Least is also about the chance that all of theirs are right at once.
	Chance, Least float64
}

// Chosen is a work on its day.
type Chosen struct {
	Tree    *TreePlan
	Work    *Planned
	Day     climate.Date
	Minutes int
	Chance  float64 // that the window is open on the day

	// Best is the day that would be best with all the time in the world, and
	// BestChance the chance then.
	Best       climate.Date
	BestChance float64

	// Promised is the day that it was promised for, and NoDate where it was not.
	// Missed says that that day has passed, Moved that another is chosen.
	Promised climate.Date
	Missed   bool
}

// Moved reports whether the work was promised for another day.
func (c *Chosen) Moved() bool { return c.Promised.Valid() && c.Promised != c.Day }

// GivesWay reports whether the day is markedly less sure than the best one, on which
// it found no room: by a tenth at least.
func (c *Chosen) GivesWay() bool { return c.BestChance >= c.Chance+0.1 && c.Best != c.Day }

// Waiting is a work that finds no day; a repeated one, once for each time.
type Waiting struct {
	Tree     *TreePlan
	Work     *Planned
	From     climate.Date // the days that it could take
	To       climate.Date
	Minutes  int
	Reason   string       // as people read it
	Advice   string       // what can be done about that, in whole sentences; empty: nothing that is not plain
	Chance   float64      // lost: that the window is open on its best day
	Cost     float64      // of missing it, in days of the tree's road
	Best     climate.Date // that day
	Promised climate.Date
}

// Urgent reports work that keeps a tree from harm, such as from frost: it is to be done
// whether there are hours or not.
func (w *Waiting) Urgent() bool { return w.Work.Work.Class == Protection }

// Fit chooses a day for each work of the plan that nothing stands against, as the
// hours allow, and keeps what was promised before unless the gain is worth a move.
// The same plan, hours and promise give the same agenda.
func (p *Plan) Fit(h *Hours, promised Promise) *Agenda {
	a := &Agenda{On: p.On, plan: p, hours: h, before: promised}
	a.take(a.fitting().solve(nil))
	return a
}

// Promise returns what the agenda promises.
func (a *Agenda) Promise() Promise {
	var out Promise
	for i := range a.Days {
		for _, c := range a.Days[i].Works {
			out = append(out, Promised{c.Tree.Tree.ID, c.Work.Key, c.Day, c.Chance})
		}
	}
	return out
}

// take makes the agenda of what was found.
func (a *Agenda) take(p *placing, w *wants) {
	a.wants, a.value, a.Gap = w, p.value, w.bound-p.value
	a.days = make([]int, len(p.at))
	for i := range p.at {
		a.days[i] = p.day(i)
	}
	a.tell(p)
}

// tell makes days and waiting works of a placing.
func (a *Agenda) tell(p *placing) {
	a.Days, a.Waiting, a.Worth = nil, nil, 0
	for d := range p.on {
		if len(p.on[d]) == 0 {
			continue
		}
		day := AgendaDay{Day: a.On + climate.Date(d), Free: p.days[d].all, Minutes: p.used[d].all, Least: 1}
		for k, m := range p.setUp {
			if p.count[d*len(p.setUp)+k] > 0 {
				day.SetUp += m
			}
		}
		tasks := slices.Clone(p.on[d])
		slices.Sort(tasks)
		costs := 0.0
		for _, i := range tasks {
			c := a.jobs[i].chosen(day.Day)
			day.Works = append(day.Works, c)
			day.Least = min(day.Least, c.Chance)
			day.Chance += c.Chance * c.Work.costs()
			costs += c.Work.costs()
		}
		a.Worth += day.Chance
		day.Chance /= costs
		slices.SortStableFunc(day.Works, func(x, y Chosen) int {
			return cmp.Or(cmp.Compare(y.Work.costs(), x.Work.costs()), cmp.Compare(x.Work.Work.ID, y.Work.Work.ID), cmp.Compare(x.Work.Title, y.Work.Title))
		})
		a.Days = append(a.Days, day)
	}
	for i := range a.jobs {
		if p.at[i] < 0 {
			a.Waiting = append(a.Waiting, a.waits(p, i))
		}
	}
	slices.SortStableFunc(a.Waiting, func(x, y Waiting) int {
		return cmp.Or(cmp.Compare(y.Chance*y.Cost, x.Chance*x.Cost), cmp.Compare(x.From, y.From))
	})
}
