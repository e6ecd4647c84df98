package calendar

import (
	"slices"

	"budswell/climate"
)

// reason is why something on a tree's way came no earlier than it did.
type reason uint8

const (
	fromNow    reason = iota // nothing but the day of the plan
	afterStage               // the stage before had to be reached
	afterWork                // a work had to be done before
	byTime                   // the stage takes its growing seasons
	byRest                   // the tree rested from hard work
	byRooting                // roots had to settle after root work
	bySince                  // a rule wants time since a work
	bySeason                 // one hard work a season
	byStrength               // the tree had to be strong
	bySetback                // it was not strong after a hard work
	byHold                   // it was held back, to see what that costs
)

// milestone is one thing on a tree's way: a stage entered or a work done.
type milestone struct {
	stage int // -1 where it is a work
	work  int // -1 where it is a stage
	day   climate.Date
	why   reason
	from  int // the milestone that it waited for, -1 for what was before the plan's day
	of    int // the work that the reason is about, -1 for none
}

// bound is the earliest day of something, and what decides it.
type bound struct {
	day  climate.Date
	why  reason
	from int
	of   int
}

func (b *bound) after(day climate.Date, why reason, from, of int) {
	if day > b.day {
		*b = bound{day, why, from, of}
	}
}

// life is one draw of a tree's coming years.
type life struct {
	*route
	clock clock
	draw  int
	seed  uint64

	now   climate.Date
	stage int
	from  climate.Date // since when the tree is reckoned to go on from the stage that was judged

	had      climate.Date
	dug      bool
	last     []climate.Date // of each work of the lore
	lastHard climate.Date
	lastRoot climate.Date
	hard     int // indices of those works
	root     int

	soil        float64
	soilAtStart float64
	wireAtStart climate.Date
	flare       bool
	repotted    bool
	final       bool
	wire        climate.Date

	restUntil float64 // by the clock
	restFrom  int     // the work rested from
	strong    bound   // from when the tree is strong; afterAll: until it is dug

	times [numStages]float64 // growing seasons that this tree takes for the timed stages

	way     []milestone
	entered [numStages]int // index in way, -1 where not
	made    []int          // of each work, the last time

	late bool // a window was missed

	hold   int // a work that is held back, -1 for none
	holdTo climate.Date
}

const numStages = 8

// mostMilestones bounds a way; no tree has more in [mostYears].
const mostMilestones = 120

// purposes of chance.
const (
	forTime    = 1
	forSetback = 2
	forSeasons = 3
	forMissed  = 4
	forDigging = 5
)

// chance returns a number, 0 < u < 1, that is always the same for the same purpose.
func (l *life) chance(purpose, a, b int) float64 {
	x := mix(l.seed ^ mix(uint64(l.draw)<<32^uint64(purpose)<<24^uint64(a)<<12^uint64(b)))
	return (float64(x>>11) + 0.5) / (1 << 53)
}

// begin sets the life back to the plan's day, of a tree with history h.
func (l *life) begin(h *history, seed uint64, draw int) {
	issue := l.planner.outlook.Issue
	l.clock.coming, l.clock.paces, l.clock.issue = l.coming, l.paces, issue
	l.clock.set(draw)
	l.draw, l.seed, l.now = draw, seed, issue
	_, l.from = h.begins(issue)
	l.stage = h.stage(issue).rank()
	l.had, l.dug = h.had, h.tree.Origin.dug()
	l.soil, l.flare, l.wire, l.repotted = h.soil, h.flare, h.wire, h.repotted()
	l.soilAtStart, l.wireAtStart = h.soil, h.wire
	l.way, l.late = l.way[:0], false
	n := len(l.planner.lore.Works)
	if len(l.last) != n {
		l.last, l.made = make([]climate.Date, n), make([]int, n)
	}
	for i := range l.last {
		l.last[i], l.made[i] = climate.NoDate, -1
	}
	for i := range l.entered {
		l.entered[i] = -1
	}
	l.lastHard, l.lastRoot, l.hard, l.root = climate.NoDate, climate.NoDate, -1, -1
	l.restUntil, l.restFrom, l.strong = 0, -1, bound{issue, fromNow, -1, -1}
	for i := range h.done {
		d := &h.done[i]
		w := l.indexOf(d.work)
		l.last[w] = d.on
		l.worked(w, d.on, d.rest)
	}
	styled := l.begun(l.works.second)
	l.final = h.tree.Container.Kind == FinalPot || l.last[l.works.potChange] >= styled && l.last[l.works.potChange].Valid()
	l.drawTimes(h)
	l.drawStrength(h)
}

func (l *life) indexOf(w *Work) int {
	all := l.planner.lore.Works
	return slices.IndexFunc(all, func(o Work) bool { return o.ID == w.ID })
}

// worked takes in what a work that is hard on a tree does to its rest.
func (l *life) worked(w int, on climate.Date, rest float64) {
	work := &l.planner.lore.Works[w]
	if work.Hard == HardOnNothing {
		return
	}
	if on >= l.lastHard {
		l.lastHard, l.hard = on, w
	}
	if work.Hard == HardOnRoots && on >= l.lastRoot {
		l.lastRoot, l.root = on, w
	}
	if until := l.clock.at(on) + enough(rest); rest > 0 && until > l.restUntil {
		l.restUntil, l.restFrom = until, w
	}
}

// begun returns the day on which a work was last done since the tree goes on from
// the stage it was judged at, or else that day.
func (l *life) begun(w int) climate.Date {
	if l.last[w].Valid() && l.last[w] >= l.from {
		return l.last[w]
	}
	return l.from
}

// drawTimes draws how long the tree takes for each timed stage. Of a stage that it is
// in, only what is left counts.
func (l *life) drawTimes(h *history) {
	for i, stage := range stages {
		if l.spells[i] == (spell{}) {
			l.times[i] = 0
			continue
		}
		spent := 0.0
		from := climate.NoDate
		switch {
		case stage == StageBuilding && l.stage >= StageBuilding.rank():
			from = l.begun(l.works.first)
		case stage == StageSecondStyling && l.last[l.works.second].Valid():
			from = l.last[l.works.second]
		case stage == StageRefining && l.stage >= StageRefining.rank():
			from = l.begun(l.works.second)
		case stage == StageRecovering && l.dug:
			from = h.had
		}
		if from.Valid() {
			spent = max(0, l.clock.at(l.now)-l.clock.at(from))
			if spent >= l.usual[i] && stage != StageRecovering {
				l.times[i] = 0 // the plan reckons with it already
				continue
			}
		}
		l.times[i] = l.spells[i].seasons(l.chance(forTime, i, 0), spent)
	}
}

// drawStrength draws from when the tree is strong.
func (l *life) drawStrength(h *history) {
	is := h.strength(l.now)
	for _, v := range slices.Backward(h.judged) {
		if v.Strength == "" {
			continue
		}
		if is != Strong {
			s := l.waned
			if is == Weak {
				s = l.weak
			}
			begun := l.clock.at(v.on)
			takes := s.seasons(l.chance(forTime, numStages, 0), l.clock.at(l.now)-begun)
			l.strong.after(l.clock.by(begun+takes), byStrength, -1, -1)
		}
		return
	}
	switch {
	case is == Strong:
	case !l.had.Valid():
		l.strong.day = afterAll
	default:
		l.recover(-1)
	}
}

// recover says from when a tree that was dug is strong.
func (l *life) recover(from int) {
	rest := 1.0
	if l.conifer && l.origin == Collected {
		rest = 2
	}
	takes := max(l.times[StageRecovering.rank()], enough(rest))
	site := l.planner.outlook.Site
	free := site.SeasonStart(site.Season(l.had) + int(rest))
	l.strong = bound{l.now, fromNow, -1, -1}
	l.strong.after(l.clock.by(l.clock.at(l.had)+takes), byStrength, from, l.works.collect)
	l.strong.after(free, byStrength, from, l.works.collect)
}

// live goes through the years until the tree is at the bench, or nothing comes any
// more.
func (l *life) live() {
	for l.stage < StageExhibition.rank() && len(l.way) < mostMilestones {
		next, enters := l.entry()
		limit := l.coming.end()
		if enters {
			limit = min(limit, next.day)
		}
		work, at := l.work(limit)
		switch {
		case work != nil:
			l.do(work.work, at)
		case enters && next.day < l.coming.end():
			l.stage++
			l.now = max(l.now, next.day)
			l.entered[l.stage] = len(l.way)
			l.way = append(l.way, milestone{l.stage, -1, l.now, next.why, next.from, next.of})
		default:
			return
		}
	}
}

// lessSoil returns what is left of field soil after a repot.
func (l *life) lessSoil(soil float64) float64 {
	if l.species.bySteps() {
		return max(0, soil-0.5)
	}
	return 0
}

// willStyle reports whether the second styling was still to come on the plan's day.
func (l *life) willStyle() bool { return l.made[l.works.second] >= 0 }

// do takes in that a work is done.
func (l *life) do(w int, at bound) {
	x, day := &l.works, at.day
	l.now, l.last[w], l.made[w] = day, day, len(l.way)
	l.way = append(l.way, milestone{-1, w, day, at.why, at.from, at.of})
	rest := l.rests[w]
	switch w {
	case x.collect:
		l.had, l.from = day, day
		if l.conifer && l.origin == Collected {
			rest = max(rest, 2)
		}
		rest = max(rest, 1)
		l.recover(l.made[w])
	case x.repot:
		l.soil = l.lessSoil(l.soil)
		l.repotted = true
		if !l.flare { // it is inspected along with the first repot
			l.flare = true
			l.last[x.flare], l.made[x.flare] = day, len(l.way)
			l.way = append(l.way, milestone{-1, x.flare, day, afterWork, l.made[w], w})
		}
	case x.flare:
		l.flare = true
	case x.first, x.second:
		if !l.wire.Valid() {
			l.wire = day
		}
	case x.unwire:
		l.wire = climate.NoDate
	case x.potChange:
		l.final = true
	}
	l.worked(w, day, rest)
	season := l.coming.season(day)
	if s := l.after[w]; s != nil && w != x.collect && l.chance(forSetback, w, season) < s.Chance {
		takes := s.spell().seasons(l.chance(forSeasons, w, season), 0)
		l.strong.after(l.clock.by(l.clock.at(day)+takes), bySetback, l.made[w], w)
	}
}
