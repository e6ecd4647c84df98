package calendar

import "budswell/climate"

// stageFrom is the bound of what can only come in the stage that the tree is at.
func (l *life) stageFrom() bound {
	b := bound{l.planner.outlook.Issue, fromNow, -1, -1}
	if e := l.entered[l.stage]; e >= 0 {
		b.after(l.way[e].day, afterStage, e, -1)
	}
	return b
}

// entry returns when the tree enters the next stage if nothing more is done to it,
// and false where something must be done first.
func (l *life) entry() (bound, bool) {
	b := bound{l.planner.outlook.Issue, fromNow, -1, -1}
	if e := l.entered[l.stage]; e >= 0 {
		b.after(l.way[e].day, afterStage, e, -1)
	}
	timed := func(stage Stage, since climate.Date, of int) {
		b.after(l.clock.by(l.clock.at(since)+l.times[stage.rank()]), byTime, l.madeAt(of), of)
	}
	x := &l.works
	switch stages[l.stage+1] {
	case StageRecovering:
		if !l.had.Valid() {
			return b, false
		}
		timed(StageCollected, max(l.had, l.from), x.collect)
	case StageBaseWork:
		b.after(l.strong.day, l.strong.why, l.strong.from, l.strong.of)
	case StageFirstStyling:
		if !l.hasDone(x.repot) || !l.flare {
			return b, false
		}
		b.after(l.last[x.repot], afterWork, l.madeAt(x.repot), x.repot)
		b.after(l.last[x.flare], afterWork, l.madeAt(x.flare), x.flare)
		b.after(l.strong.day, l.strong.why, l.strong.from, l.strong.of)
	case StageBuilding:
		if !l.hasDone(x.first) {
			return b, false
		}
		b.after(l.last[x.first], afterWork, l.madeAt(x.first), x.first)
	case StageSecondStyling:
		if l.soil > 0 {
			return b, false
		}
		timed(StageBuilding, l.begun(x.first), x.first)
		if l.lastRoot.Valid() && l.lastRoot >= l.had {
			b.after(l.clock.by(l.clock.at(l.lastRoot)+enough(seasonsRooted)), byRooting, l.madeAt(l.root), l.root)
		}
	case StageRefining:
		if !l.hasDone(x.second) || l.wire.Valid() {
			return b, false
		}
		timed(StageSecondStyling, l.last[x.second], x.second)
		if l.last[x.unwire] >= l.last[x.second] {
			b.after(l.last[x.unwire], afterWork, l.madeAt(x.unwire), x.unwire)
		}
	case StageExhibition:
		if !l.final || !l.conifer && l.wire.Valid() {
			return b, false
		}
		timed(StageRefining, l.begun(x.second), x.second)
		b.after(l.last[x.potChange], afterWork, l.madeAt(x.potChange), x.potChange)
		// It is shown when it has taken hold in its pot.
		b.after(l.clock.by(l.restUntil), byRest, l.madeAt(l.restFrom), l.restFrom)
	}
	return b, b.day < afterAll
}

// hasDone reports whether a work was done since the tree goes on from the stage it
// was judged at.
func (l *life) hasDone(w int) bool { return l.last[w].Valid() && l.last[w] >= l.from }

// madeAt returns the milestone at which a work was last done on this way, -1 where it
// was before.
func (l *life) madeAt(w int) int {
	if w < 0 {
		return -1
	}
	return l.made[w]
}

// work returns the step that comes first, with its day, and nil where none comes
// before the limit.
func (l *life) work(limit climate.Date) (*step, bound) {
	var best *step
	var at bound
	for i := range l.steps {
		st := &l.steps[i]
		if st.stages&(1<<l.stage) == 0 || !l.wants(st.work) {
			continue
		}
		if b, ok := l.earliest(st, limit); ok && (best == nil || b.day < at.day) {
			best, at, limit = st, b, b.day
		}
	}
	return best, at
}

// wants reports whether the tree goes on by a work.
func (l *life) wants(w int) bool {
	x, at := &l.works, stages[l.stage]
	switch w {
	case x.collect:
		return l.dug && !l.had.Valid()
	case x.flare:
		return !l.flare && l.hasDone(x.repot)
	case x.first:
		return at == StageFirstStyling
	case x.second:
		return at == StageSecondStyling && !l.hasDone(x.second)
	case x.unwire:
		return l.wire.Valid()
	case x.potChange:
		return !l.final
	case x.repot:
		switch at {
		case StageBaseWork:
			return !l.hasDone(x.repot)
		case StageBuilding, StageSecondStyling, StageRefining:
			return l.soil > 0 || l.dug && !l.repotted || at == StageBuilding
		}
	}
	return false
}

// earliest returns the first day before the limit on which a step can be done as the
// tree is, and what decides it.
func (l *life) earliest(st *step, limit climate.Date) (bound, bool) {
	b := l.stageFrom()
	if l.stage > 0 && st.stages&(1<<(l.stage-1)) != 0 {
		b = bound{l.planner.outlook.Issue, fromNow, -1, -1} // it could have come before
	}
	work := &l.planner.lore.Works[st.work]
	if l.hold == st.work && l.heldNow(st.work) {
		b.after(l.holdTo, byHold, -1, -1)
	}
	for i := range st.rule.Needs {
		if !l.meets(&st.rule.Needs[i], &b) {
			return b, false
		}
	}
	for _, name := range st.rule.Excludes {
		l.notInSeasonOf(name, &b)
	}
	if work.Hard != HardOnNothing && !l.lawful(work, &b) {
		return b, false
	}
	spare := climate.NoDate // a repot that only renews the soil waits for no styling
	if st.work == l.works.repot && l.soil == 0 && stages[l.stage] == StageBuilding && l.repotted {
		spare = l.clock.by(l.clock.at(l.begun(l.works.first)) + l.times[StageBuilding.rank()])
	}
	from := max(b.day, l.now)
	for k := max(0, l.coming.season(from)-1); k < len(l.coming.starts)-1; k++ {
		if l.coming.starts[k] >= limit {
			return b, false
		}
		if spare.Valid() && spare < l.coming.starts[k+1] {
			return b, false
		}
		opens, closes, ok := l.window(st, k, l.draw)
		if !ok || closes < from {
			continue
		}
		if work.Hard != HardOnNothing && l.misses(st, k) {
			l.late = true
			continue
		}
		day := max(from, opens+climate.Date(st.best*float64(closes-opens)))
		if day < limit {
			return bound{day, b.why, b.from, b.of}, true
		}
		return b, false
	}
	return b, false
}

// heldNow reports whether the next time that a work is done is the one that may be held
// back: the first, and of taking wire off that after the second styling.
func (l *life) heldNow(w int) bool {
	if w == l.works.unwire {
		return l.hasDone(l.works.second)
	}
	return l.made[w] < 0
}

func (l *life) misses(st *step, season int) bool {
	return l.route.missed > 0 && l.chance(forMissed, st.work, season) < l.route.missed
}

// lawful takes in what holds for all hard work; see the planner's laws.
func (l *life) lawful(work *Work, b *bound) bool {
	collect := work.ID == WorkCollect
	if !collect {
		b.after(l.strong.day, l.strong.why, l.strong.from, l.strong.of)
	}
	if l.restFrom >= 0 {
		b.after(l.clock.by(l.restUntil), byRest, l.madeAt(l.restFrom), l.restFrom)
	}
	if l.lastHard.Valid() {
		l.seasonAfter(l.lastHard, l.hard, b)
	}
	return !(work.Hard == HardOnBranches && l.dug && !l.repotted) && b.day < afterAll
}

// seasonAfter wants the season after that of a work's day.
func (l *life) seasonAfter(day climate.Date, w int, b *bound) {
	if day < l.coming.starts[0] {
		return
	}
	if k := l.coming.season(day); k+1 < len(l.coming.starts) {
		b.after(l.coming.starts[k+1], bySeason, l.madeAt(w), w)
	}
}

// notInSeasonOf wants another season than that in which one of the works that name
// stands for was last done.
func (l *life) notInSeasonOf(name string, b *bound) {
	if day, w := l.lastOf(name); day.Valid() {
		l.seasonAfter(day, w, b)
	}
}

// lastOf returns when one of the works that name stands for was last done, and which.
func (l *life) lastOf(name string) (climate.Date, int) {
	switch name {
	case AnyHard:
		return l.lastHard, l.hard
	case AnyRootWork:
		return l.lastRoot, l.root
	}
	for i := range l.last {
		if l.planner.lore.Works[i].ID == name {
			if i == l.works.wire && l.wire.Valid() {
				return max(l.last[i], l.wire), i // wire of a styling counts
			}
			return l.last[i], i
		}
	}
	return climate.NoDate, -1
}

// meets takes in a need; false where it cannot be met as the tree is.
func (l *life) meets(n *Need, b *bound) bool {
	switch {
	case n.Strength != "":
		b.after(l.strong.day, l.strong.why, l.strong.from, l.strong.of)
		return b.day < afterAll
	case n.Stage != "":
		return l.stage >= n.Stage.rank()
	case n.Done != "":
		day, w := l.lastOf(n.Done)
		if !day.Valid() {
			return n.Done == WorkRepot && l.repotted
		}
		b.after(day, afterWork, l.madeAt(w), w)
	case n.NotDone != "":
		day, _ := l.lastOf(n.NotDone)
		return !day.Valid() || day < l.had
	case n.Wired != nil:
		return *n.Wired == l.wire.Valid()
	case n.FieldSoil != nil:
		return *n.FieldSoil == (l.soil > 0)
	case n.Since != "":
		day, w := l.lastOf(n.Since)
		if !day.Valid() {
			return true
		}
		if n.Weeks > 0 {
			b.after(day+climate.Date(7*n.Weeks+0.5), bySince, l.madeAt(w), w)
		} else {
			b.after(l.clock.by(l.clock.at(day)+enough(n.seasons(l.species, stages[l.stage]))), bySince, l.madeAt(w), w)
		}
		return b.day < afterAll
	}
	for _, name := range n.NotThisSeason {
		l.notInSeasonOf(name, b)
	}
	return true
}
