package calendar

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"budswell/climate"
)

// job is a work of a plan that wants a day; of a repeated work, one of its times.
type job struct {
	tree     *TreePlan
	work     *Planned
	minutes  int
	due      climate.Date // the day that is best
	from, to climate.Date // the days that it may take
	promised climate.Date
	missed   bool
}

// What missing a work costs where the lore does not say, in days of a tree's road
// to the bench: hard work has one window a year, other work of a season can mostly
// be made up for, and a repeated one comes again (judged, common practice, no
// published source).
const (
	costOfHard  = 365
	costOfLight = 30
)

// costs returns what missing a work costs, in days of the tree's road: what its
// rule or its kind says, or else its interval if it is repeated.
func (p *Planned) costs() float64 {
	switch n := cmp.Or(p.Rule.Loses, p.Work.Loses); {
	case n > 0:
		return float64(n)
	case p.Rule.Every > 0:
		return float64(p.Rule.Every)
	case p.Work.Hard != HardOnNothing:
		return costOfHard
	}
	return costOfLight
}

// minutesOf returns how long a work takes for one tree.
func (h *Hours) minutesOf(p *Planned) int {
	const unsaid = 15
	return cmp.Or(h.Minutes[p.Work.ID], p.Rule.Minutes, unsaid)
}

const (
	// leastChance is the chance below which no work is put on a day, or half of its
	// certainty where that is less (judged, no published source).
	leastChance = 0.25

	// perDayOff is how much a day further from the best is worth less, as a share of
	// what missing the work costs: of days that are about as sure, the nearer.
	perDayOff = 0.0002

	// perInterval is how much a repeated work that comes a whole interval late is
	// worth less, as such a share (judged, no published source).
	perInterval = 0.3

	// certain is what a promise that stands is worth more than all that could take
	// its place, in days.
	certain = 1e6
)

// fitting makes the question of the agenda, and its jobs.
func (a *Agenda) fitting() *fitting {
	f := &fitting{days: make([]dayMinutes, horizonDays+1)}
	for d := range f.days {
		f.days[d] = a.hours.on(a.On + climate.Date(d))
	}
	kinds := map[string]int{}
	for _, id := range sortedKeys(a.hours.SetUp) {
		kinds[id] = len(f.setUp)
		f.setUp = append(f.setUp, a.hours.SetUp[id])
	}
	a.jobs = nil
	was := a.before.byWork()
	for i := range a.plan.Trees {
		t := &a.plan.Trees[i]
		first := make([]int, 0, len(t.Works)+1) // job of each work
		for k := range t.Works {
			first = append(first, len(a.jobs))
			a.jobsOf(t, &t.Works[k], was)
		}
		first = append(first, len(a.jobs))
		for i := first[0]; i < len(a.jobs); i++ {
			f.tasks = append(f.tasks, a.task(&a.jobs[i], f, kinds, was))
		}
		a.link(f, t, first)
	}
	f.ready()
	return f
}

func sortedKeys(m WorkMinutes) []string {
	out := make([]string, 0, len(m))
	for k := range m {
		out = append(out, k)
	}
	slices.Sort(out)
	return out
}

// jobsOf adds the jobs of a work.
func (a *Agenda) jobsOf(t *TreePlan, w *Planned, was promises) {
	free, ok := w.free()
	if !ok || w.Done.Valid() || w.Rule.Every > 0 && !w.Due.Valid() || len(w.Open.Chance) == 0 {
		return
	}
	last := min(w.Open.First+climate.Date(len(w.Open.Chance))-1, a.On+horizonDays)
	j := job{tree: t, work: w, minutes: a.hours.minutesOf(w), from: max(a.On, w.Open.First), to: last, promised: climate.NoDate}
	if len(w.Blocked) > 0 {
		j.from = max(j.from, free)
	}
	list := was[[2]string{t.Tree.ID, w.Key}]
	if w.Rule.Every == 0 {
		j.due = max(w.Window.Likely, j.from)
		if len(list) > 0 {
			j.promised, j.missed = list[0].Day, list[0].Day < a.On
		}
		if j.from <= j.to {
			a.jobs = append(a.jobs, j)
		}
		return
	}
	every := climate.Date(w.Rule.Every)
	for due := w.Due; due <= min(w.Window.Closes.P50, last); due += every {
		one := j
		one.due, one.from, one.to = max(due, j.from), max(due, j.from), min(due+every-1, last)
		if one.from > one.to {
			continue
		}
		for _, p := range list {
			if p.Day >= due && p.Day < due+every {
				one.promised, one.missed = p.Day, p.Day < a.On
				break
			}
		}
		a.jobs = append(a.jobs, one)
	}
}

// task makes the task of a job. Only days with minutes enough for it are options.
func (a *Agenda) task(j *job, f *fitting, kinds map[string]int, was promises) task {
	t := task{minutes: j.minutes, hard: j.work.Work.Hard != HardOnNothing, kind: -1}
	if k, ok := kinds[j.work.Work.ID]; ok {
		t.kind = k
	}
	enough := j.leastChance()
	for d := j.from; d <= j.to; d++ {
		k := int(d - a.On)
		chance := j.work.Open.On(d)
		if have := f.days[k]; chance < enough || chance < j.tooEarly(d) || have.all < t.minutes || t.hard && have.own < t.minutes {
			continue
		}
		t.options = append(t.options, option{k, j.worth(d, chance)})
	}
	if j.promised.Valid() && !j.missed {
		a.keep(j, &t, was)
	}
	return t
}

// leastChance is that below which the job is put on no day.
func (j *job) leastChance() float64 { return min(leastChance, j.work.Window.Certainty/2) }

// tooEarly is the chance below which the job is not put on a day before its best one: a
// tree that comes out of shelter or shade too early comes to harm, and it is better left
// until later (judged, no published source).
func (j *job) tooEarly(d climate.Date) float64 {
	const share = 0.8
	if w := j.work; d < w.Window.Likely && (w.Work.ID == WorkOutOfWinter || w.Work.ID == WorkShadeEnd) {
		return share * w.Window.Certainty
	}
	return 0
}

// worth returns what the job on a day is worth. Days about as sure as the likely
// one count as equal, as they do in choosing that.
func (j *job) worth(d climate.Date, chance float64) float64 {
	w := j.work
	if w.Window.Certainty > 0 {
		chance = min(chance, w.Window.Certainty)
	}
	off := math.Abs(float64(d - j.due))
	less := perDayOff * off
	if w.Rule.Every > 0 {
		less = perInterval * off / float64(w.Rule.Every)
	}
	return w.costs() * max(chance-less, chance/10)
}

// keep makes the promised day of a job worth more.
func (a *Agenda) keep(j *job, t *task, was promises) {
	for o := range t.options {
		d := a.On + climate.Date(t.options[o].day)
		if d != j.promised {
			continue
		}
		t.options[o].value += worthMoving * j.work.costs()
		for _, p := range was[[2]string{j.tree.Tree.ID, j.work.Key}] {
			if p.Day == d && p.stands(a.On, j.work.Open.On(d)) {
				t.options[o].value += certain
				return
			}
		}
	}
}

func (j *job) chosen(d climate.Date) Chosen {
	best, chance := j.best()
	return Chosen{
		Tree: j.tree, Work: j.work, Day: d, Minutes: j.minutes, Chance: j.work.Open.On(d),
		Best: best, BestChance: chance, Promised: j.promised, Missed: j.missed,
	}
}

// best returns the day that would be best with all the time in the world, and the
// chance that the window is open then.
func (j *job) best() (climate.Date, float64) {
	best, most := j.due, 0.0
	for d := j.from; d <= j.to; d++ {
		if v := j.worth(d, j.work.Open.On(d)); v > most {
			best, most = d, v
		}
	}
	return best, j.work.Open.On(best)
}

// waits tells of job i, which has no day, and why.
func (a *Agenda) waits(p *placing, i int) Waiting {
	j, t := &a.jobs[i], &p.tasks[i]
	best, chance := j.best()
	reason, advice := a.reason(p, j, t, i)
	return Waiting{
		Tree: j.tree, Work: j.work, From: j.from, To: j.to, Minutes: j.minutes, Chance: chance, Best: best,
		Cost: j.work.costs(), Promised: j.promised, Reason: reason, Advice: advice,
	}
}

// reason says why job i has no day, and what can be done about it where that is not plain.
func (a *Agenda) reason(p *placing, j *job, t *task, i int) (reason, advice string) {
	if len(t.options) == 0 {
		return a.dayless(p, j, t)
	}
	room, ordered := false, false
	for o, x := range t.options {
		free := p.room(t, x.day)
		room, ordered = room || free, ordered || free && p.inOrder(i, o)
	}
	if room && !ordered {
		return "the tree's other works leave it no day with time for it", ""
	}
	return "its days are full of work that costs more to miss", ""
}

// mostSittings is in how many sittings a styling is done at most (judged, no published source).
const mostSittings = 4

// dayless says why none of its days can take a job.
func (a *Agenda) dayless(p *placing, j *job, t *task) (reason, advice string) {
	longest, days, away := 0, 0, 0
	for d := j.from; d <= j.to; d++ {
		if chance := j.work.Open.On(d); chance < j.leastChance() || chance < j.tooEarly(d) {
			continue
		}
		days++
		have := p.days[int(d-a.On)]
		if t.hard {
			have.all = have.own
		}
		longest = max(longest, have.all)
		if a.hours.away(d) {
			away++
		}
	}
	switch {
	case days == 0:
		return "no day is left on which its window is likely open", ""
	case longest == 0 && away > 0:
		return "you are away when its window is open, or have no hours", ""
	case longest == 0 && t.hard:
		return "there are no hours for hard work on any of its days", ""
	case longest == 0:
		return "there are no hours on any of its days", ""
	}
	advice = "Keep a longer day for it, or get a helper"
	switch {
	case j.work.Work.Hard == HardOnRoots:
		advice += " who may do hard work: bare roots cannot wait for another day."
	case j.work.Work.wires() && t.minutes <= mostSittings*longest:
		advice += fmt.Sprintf(", or do it in sittings within %d weeks: give the longest of them as its minutes (minutes: {%s: %d}), and log it after the last.", sittings/7, j.work.Work.ID, longest)
	default:
		advice += "."
	}
	return fmt.Sprintf("it takes %s, and none of its days has more than %s", longText(t.minutes), longText(longest)), advice
}
