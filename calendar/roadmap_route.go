package calendar

import (
	"budswell/climate"
)

// route is what the trees of one species and origin can be given in the coming
// seasons: the rules that carry a tree on, with their windows draw by draw.
type route struct {
	planner *Planner
	species *Species
	origin  Origin
	coming  *coming
	paces   *paces
	steps   []step
	works   workIndex
	rests   []float64 // growing seasons of rest after each work of the lore
	after   []*Setback
	spells  [numStages]spell   // of the timed stages, in growing seasons that are enough
	usual   [numStages]float64 // what the plan reckons with, in the same
	missed  float64            // chance that a window is missed
	weak    spell              // until a tree judged weak is strong
	waned   spell              // until one judged recovering is
	conifer bool
}

// step is a rule that carries trees on.
type step struct {
	rule    *Rule
	work    int    // its index in the lore
	stages  uint16 // for which it holds, a bit each
	windows [3]ends
	best    float64 // where in its window it is best, 0 to 1
}

// ends are the ends of a window draw by draw, in days from the start of its season;
// afterAll where it does not open.
type ends struct{ opens, closes []climate.Date }

// workIndex finds the works that the program gives meaning to among those of the
// lore, -1 where it has none.
type workIndex struct {
	collect, repot, potChange, flare, first, second, wire, unwire, show int
}

func (l *Lore) workIndex() workIndex {
	of := func(id string) int {
		for i := range l.Works {
			if l.Works[i].ID == id {
				return i
			}
		}
		return -1
	}
	return workIndex{
		of(WorkCollect), of(WorkRepot), of(WorkPotChange), of(WorkRootFlare),
		of(WorkFirstStyle), of(WorkSecondStyle), of(WorkWire), of(WorkUnwire), of(WorkShow),
	}
}

// carries reports whether a work carries trees on.
func (x *workIndex) carries(w int) bool {
	switch w {
	case x.collect, x.repot, x.potChange, x.flare, x.first, x.second, x.unwire:
		return true
	}
	return false
}

type routeKey struct {
	phases *phases
	origin Origin
}

// newRoute prepares the way of the trees that share forecasts and an origin. What
// hangs on a tree's own log is looked at as it is on the plan's day.
func (p *Planner) newRoute(t *timing, origin Origin, c *coming, times map[string]learnt) *route {
	s := t.species
	r := &route{
		planner: p, species: s, origin: origin, coming: c, works: p.lore.workIndex(), conifer: s.Conifer(),
		rests: make([]float64, len(p.lore.Works)), after: make([]*Setback, len(p.lore.Works)),
		paces: p.pacesOf(p.growthOf(s), c),
	}
	for i := range p.lore.Works {
		w := &p.lore.Works[i]
		r.rests[i] = p.lore.restAfter(w, s)
		r.after[i] = p.lore.setback(SetbackNotStrong, w, s, origin)
	}
	for _, stage := range TimedStages() {
		st := p.lore.stageTime(stage, s, origin)
		r.spells[stage.rank()] = times[st.ID].spell(spellOf(enough(st.Low), enough(st.Usual), enough(st.High)))
		r.usual[stage.rank()] = enough(st.Usual)
	}
	if b := p.lore.setback(SetbackMissed, nil, s, origin); b != nil {
		r.missed = b.Chance
	}
	if b := p.lore.setback(SetbackWeak, nil, s, origin); b != nil {
		r.weak = b.spell()
	}
	if b := p.lore.setback(SetbackRecovering, nil, s, origin); b != nil {
		r.waned = b.spell()
	}
	for i := range p.lore.Rules {
		rule := &p.lore.Rules[i]
		w, ok := p.lore.WorkByID(rule.Work)
		if !ok || rule.ForShow() || !rule.For.MatchesSpecies(s) {
			continue
		}
		st := step{rule: rule, best: rule.Best.place()}
		for k := range p.lore.Works {
			if &p.lore.Works[k] == w {
				st.work = k
			}
		}
		if !r.works.carries(st.work) {
			continue
		}
		for k, stage := range stages {
			if p.holds(rule, s, stage, origin) {
				st.stages |= 1 << k
			}
		}
		if st.stages != 0 && r.open(&st, t) {
			r.steps = append(r.steps, st)
		}
	}
	return r
}

// place is where in a window work is best, as a part of it.
func (b Best) place() float64 {
	switch b {
	case BestMiddle:
		return 0.5
	case BestLate:
		return 0.9
	}
	return 0
}

// open finds the windows of a step, and reports whether the place gives it often
// enough to plan on.
func (r *route) open(st *step, t *timing) bool {
	p := r.planner
	first := p.outlook.Site.Season(p.outlook.Issue) - plannedSeason
	for k := range st.windows {
		start := r.coming.starts[k]
		e := &st.windows[k]
		e.opens, e.closes = make([]climate.Date, p.draws), make([]climate.Date, p.draws)
		w := p.ends(st.rule, t, first+k)
		n := 0
		for i := range e.opens {
			o, c, ok := w.of(i)
			if !ok {
				e.opens[i] = afterAll
				continue
			}
			e.opens[i], e.closes[i] = o-start, c-start
			n++
		}
		if k == plannedSeason+1 && n*2 < p.draws {
			return false // see the law on windows that rarely come
		}
	}
	return true
}

// window returns the ends of a step's window in a season of a draw, and false where
// it does not open.
func (r *route) window(st *step, season, draw int) (opens, closes climate.Date, ok bool) {
	i := r.coming.draws[draw][season]
	e := &st.windows[min(season, len(st.windows)-1)]
	if e.opens[i] == afterAll {
		return 0, 0, false
	}
	start := r.coming.starts[season]
	return start + e.opens[i], start + e.closes[i], true
}
