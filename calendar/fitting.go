package calendar

import (
	"cmp"
	"math"
	"slices"
)

// A fitting is the question which of its days each task takes, freed of trees and
// rules: a generalized assignment problem with set-up. At most one option a task;
// on each day the minutes of its tasks, and once those of setting up for each
// kind that is done on it, fit into what there is; the summed value is greatest.
type fitting struct {
	tasks []task
	days  []dayMinutes // what there is, day by day
	setUp []int        // minutes by kind

	// group numbers the tasks; those of which only one can have a day, since the
	// order of a tree's works leaves no other two days for them, share a number.
	group  []int
	groups int

	unit    int      // minutes that a knapsack counts as one
	wanting [][]pick // the options of a day, by kind
}

// task is one thing to do on one day.
type task struct {
	minutes int
	hard    bool     // takes the minutes of those who may do hard work
	kind    int      // index of what shares its set-up; -1: none
	options []option // by day
	ranked  []int32  // indexes of options, the most valuable first
	links   []link
}

// option is a day that a task may take, with what that is worth: more than 0.
type option struct {
	day   int
	value float64
}

// link is that one task of a tree comes after another: not before the day that
// least has for each option of the earlier one. Both have the link.
type link struct {
	earlier, later int
	least          []int
}

// valueFraction is of what fraction all values are multiples: of this part of a
// day. They are binary, so that sums are the same in whatever order they are made.
const valueFraction = 1 << 20

// ready puts the options in order and rounds what they are worth.
func (f *fitting) ready() {
	f.unit = f.units()
	f.gather()
	f.wanting = make([][]pick, len(f.days))
	for i := range f.tasks {
		t := &f.tasks[i]
		t.ranked = make([]int32, len(t.options))
		for o := range t.options {
			t.ranked[o] = int32(o)
			t.options[o].value = math.Round(t.options[o].value*valueFraction) / valueFraction
			f.wanting[t.options[o].day] = append(f.wanting[t.options[o].day], pick{int32(i), int32(o)})
		}
		slices.SortStableFunc(t.ranked, func(a, b int32) int { return cmp.Compare(t.options[b].value, t.options[a].value) })
	}
	for _, of := range f.wanting {
		slices.SortStableFunc(of, func(a, b pick) int { return cmp.Compare(f.tasks[a.task].kind, f.tasks[b.task].kind) })
	}
}

// gather finds the groups.
func (f *fitting) gather() {
	f.group = make([]int, len(f.tasks))
	var members [][]int
	for i := range f.tasks {
		f.group[i] = -1
		for _, l := range f.tasks[i].links {
			other := l.earlier + l.later - i
			if other > i || !f.exclude(l) {
				continue
			}
			g := f.group[other]
			if all := slices.ContainsFunc(members[g], func(m int) bool { return !f.apart(i, m) }); !all {
				f.group[i] = g
				members[g] = append(members[g], i)
				break
			}
		}
		if f.group[i] < 0 {
			f.group[i] = len(members)
			members = append(members, []int{i})
		}
	}
	f.groups = len(members)
}

// apart reports whether tasks i and k cannot both have a day.
func (f *fitting) apart(i, k int) bool {
	return slices.ContainsFunc(f.tasks[i].links, func(l link) bool { return l.earlier+l.later == i+k && f.exclude(l) })
}

// exclude reports whether no two days of the tasks keep the order of a link.
func (f *fitting) exclude(l link) bool {
	later := f.tasks[l.later].options
	return len(later) == 0 || len(l.least) == 0 || later[len(later)-1].day < slices.Min(l.least)
}

// mostUnits is into how many units the longest day is cut at most. Where minutes
// are finer, knapsacks count tasks a little short, and their bound stays one.
const mostUnits = 400

// units returns the minutes that a knapsack counts as one: the greatest that goes
// into all times.
func (f *fitting) units() int {
	unit, longest := 0, 1
	for i := range f.tasks {
		unit = gcd(unit, f.tasks[i].minutes)
	}
	for _, m := range f.setUp {
		unit = gcd(unit, m)
	}
	for _, d := range f.days {
		longest = max(longest, d.all)
	}
	return max(unit, 1, (longest+mostUnits-1)/mostUnits)
}

func gcd(a, b int) int {
	for b != 0 {
		a, b = b, a%b
	}
	return a
}

// placing is which option each task of a fitting has, -1 for none.
type placing struct {
	*fitting
	at    []int
	used  []dayMinutes
	count []int // tasks on a day of a kind, at day*len(setUp)+kind
	on    [][]int32
	value float64
	tries int // left of moving a task out of the way of another
}

func newPlacing(f *fitting) *placing {
	p := &placing{
		fitting: f, at: make([]int, len(f.tasks)), used: make([]dayMinutes, len(f.days)),
		count: make([]int, len(f.days)*len(f.setUp)), on: make([][]int32, len(f.days)),
	}
	for i := range p.at {
		p.at[i] = -1
	}
	return p
}

// worth returns the value of the option that a task has, 0 for none.
func (p *placing) worth(i int) float64 {
	if p.at[i] < 0 {
		return 0
	}
	return p.tasks[i].options[p.at[i]].value
}

// day returns the day that a task has, -1 for none.
func (p *placing) day(i int) int {
	if p.at[i] < 0 {
		return -1
	}
	return p.tasks[i].options[p.at[i]].day
}

// takes returns the minutes that a task takes on a day besides what is done there.
func (p *placing) takes(t *task, day int) int {
	if t.kind >= 0 && p.count[day*len(p.setUp)+t.kind] == 0 {
		return t.minutes + p.setUp[t.kind]
	}
	return t.minutes
}

// room reports whether a day has the minutes that a task takes on it.
func (p *placing) room(t *task, day int) bool {
	m := p.takes(t, day)
	return p.used[day].all+m <= p.days[day].all && (!t.hard || p.used[day].own+m <= p.days[day].own)
}

// inOrder reports whether option o of task i keeps the order of its tree's tasks.
func (p *placing) inOrder(i, o int) bool {
	t := &p.tasks[i]
	for _, l := range t.links {
		if l.earlier == i {
			if k := p.at[l.later]; k >= 0 && p.tasks[l.later].options[k].day < l.least[o] {
				return false
			}
		} else if k := p.at[l.earlier]; k >= 0 && t.options[o].day < l.least[k] {
			return false
		}
	}
	return true
}

// fits reports whether task i, which has no option, can have option o.
func (p *placing) fits(i, o int) bool {
	return p.room(&p.tasks[i], p.tasks[i].options[o].day) && p.inOrder(i, o)
}

// put gives task i, which has none, an option that fits.
func (p *placing) put(i, o int) {
	t := &p.tasks[i]
	d := t.options[o].day
	p.take(t, d, p.takes(t, d))
	if t.kind >= 0 {
		p.count[d*len(p.setUp)+t.kind]++
	}
	p.at[i] = o
	p.on[d] = append(p.on[d], int32(i))
	p.value += t.options[o].value
}

// drop takes its option from task i and returns it, -1 where it has none.
func (p *placing) drop(i int) int {
	o := p.at[i]
	if o < 0 {
		return o
	}
	t := &p.tasks[i]
	d := t.options[o].day
	if t.kind >= 0 {
		p.count[d*len(p.setUp)+t.kind]--
	}
	p.take(t, d, -p.takes(t, d))
	p.at[i] = -1
	for k, other := range p.on[d] {
		if int(other) == i {
			last := len(p.on[d]) - 1
			p.on[d][k] = p.on[d][last]
			p.on[d] = p.on[d][:last]
			break
		}
	}
	p.value -= t.options[o].value
	return o
}

func (p *placing) take(t *task, day, minutes int) {
	p.used[day].all += minutes
	if t.hard {
		p.used[day].own += minutes
	}
}

// best returns the most valuable option of task i that fits and is worth more
// than least, -1 for none. Task i has no option.
func (p *placing) best(i int, least float64) int {
	for _, o := range p.tasks[i].ranked {
		if p.tasks[i].options[o].value <= least {
			return -1
		}
		if p.fits(i, int(o)) {
			return int(o)
		}
	}
	return -1
}

// set gives the tasks the options of at, which fit together.
func (p *placing) set(at []int) {
	for i := range p.at {
		if p.at[i] != at[i] {
			p.drop(i)
		}
	}
	for i, o := range at {
		if o >= 0 && p.at[i] != o {
			p.put(i, o)
		}
	}
}
