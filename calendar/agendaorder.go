package calendar

import (
	"math"
	"slices"

	"budswell/climate"
)

// link ties tasks of a tree that must follow one another; first is the first job
// of each of its works, and the end.
func (a *Agenda) link(f *fitting, t *TreePlan, first []int) {
	for x := range t.Works {
		for y := range t.Works {
			if x == y || first[x] == first[x+1] || first[y] == first[y+1] {
				continue
			}
			gap := a.gap(t, &t.Works[x], &t.Works[y])
			if gap == nil {
				continue
			}
			for i := first[x]; i < first[x+1]; i++ {
				for k := first[y]; k < first[y+1]; k++ {
					a.follow(f, i, k, gap)
				}
			}
		}
	}
}

// follow ties task k to come after task i where it is due later.
func (a *Agenda) follow(f *fitting, i, k int, gap func(climate.Date) climate.Date) {
	earlier, later := &f.tasks[i], &f.tasks[k]
	if a.jobs[i].due >= a.jobs[k].due || len(earlier.options) == 0 || len(later.options) == 0 {
		return
	}
	end := earlier.options[len(earlier.options)-1].day
	if gap(a.On+climate.Date(end)) <= a.On+climate.Date(later.options[0].day) {
		return // it does so anyway
	}
	l := link{earlier: i, later: k, least: make([]int, len(earlier.options))}
	for o, x := range earlier.options {
		l.least[o] = int(gap(a.On+climate.Date(x.day)) - a.On)
	}
	earlier.links, later.links = append(earlier.links, l), append(later.links, l)
}

// gap returns from which day on work y may be done once x was done on a day; nil
// where neither minds the other.
func (a *Agenda) gap(t *TreePlan, x, y *Planned) func(climate.Date) climate.Date {
	hard := x.Work.Hard != HardOnNothing && y.Work.Hard != HardOnNothing
	apart := hard || x.excludes(y) || y.excludes(x)
	days, seasons := 0, 0.0
	if hard {
		seasons = x.Rule.Rest
	}
	minds := apart
	for _, n := range y.Rule.Needs {
		if n.Since != "" && x.Work.counts(n.Since) {
			days, seasons, minds = max(days, int(math.Round(7*n.Weeks))), max(seasons, n.seasons(t.Species, t.State.Stage)), true
		}
	}
	for _, n := range x.Rule.Needs {
		minds = minds || n.Since != "" && y.Work.counts(n.Since)
	}
	if !minds {
		return nil
	}
	return func(d climate.Date) climate.Date {
		from := d + climate.Date(max(days, 1))
		if apart {
			from = max(from, a.plan.Site.SeasonStart(a.plan.Site.Season(d)+1))
		}
		if seasons > 0 && t.growth != nil {
			if by := t.growth.PassedBy(d, seasons); by.Valid() {
				from = max(from, by)
			}
		}
		return from
	}
}

// excludes reports whether the rule of p does not share a season with the work of o.
func (p *Planned) excludes(o *Planned) bool {
	if slices.ContainsFunc(p.Rule.Excludes, o.Work.Is) {
		return true
	}
	return slices.ContainsFunc(p.Rule.Needs, func(n Need) bool { return slices.ContainsFunc(n.NotThisSeason, o.Work.Is) })
}
