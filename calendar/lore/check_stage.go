package lore

import (
	"slices"

	"budswell/calendar"
	"budswell/climate/phenology"
)

// mostSeasons is the longest that a stage may take; far above what growers tell.
const mostSeasons = 12

func (s *set) checkStages() {
	for i := range s.stages {
		t, at := &s.stages[i].value, s.stages[i].spot
		s.checkID(at.at("id"), t.ID)
		if t.Stage == "" {
			s.faults.add(at.at("stage"), "is missing; want one of %s", names(calendar.TimedStages()))
		} else {
			checkList(s, alone(at.at("stage")), []calendar.Stage{t.Stage}, "timed stage", calendar.TimedStages())
		}
		s.checkSpanScope(at.at("for"), &t.For)
		s.checkSpan(at, t.Low, t.Usual, t.High)
		s.checkSource(at.at("source"), t.Source)
	}
	for _, stage := range calendar.TimedStages() {
		for i := range s.species {
			if sp := &s.species[i]; slices.Contains(phenology.Groups(), sp.value.Group) && !s.timed(stage, &sp.value) {
				s.faults.add(sp.spot, "no row of stages tells how long trees of it take at the stage %q; add one", stage)
				break // one of them is enough to be told of
			}
		}
	}
}

// timed reports whether some row tells the time of a stage for trees of a species.
func (s *set) timed(stage calendar.Stage, sp *calendar.Species) bool {
	return slices.ContainsFunc(s.stages, func(it item[calendar.StageTime]) bool {
		return it.value.Stage == stage && it.value.For.MatchesSpecies(sp)
	})
}

// checkSpanScope checks whom a row is for; that is not bound to stages.
func (s *set) checkSpanScope(at *spot, c *calendar.Scope) {
	s.checkScope(at, c)
	if at.has("stages") {
		s.faults.add(at.at("stages"), "a row is not bound to stages here; leave the field out")
	}
}

// checkSpan checks three numbers of growing seasons.
func (s *set) checkSpan(at *spot, low, usual, high float64) {
	for _, f := range []string{"low", "usual", "high"} {
		if !at.has(f) {
			s.faults.add(at.at(f), "is missing; want growing seasons, 0 to %d", mostSeasons)
			return
		}
	}
	s.checkRange(at.at("low"), low, 0, mostSeasons, " growing seasons")
	s.checkRange(at.at("usual"), usual, 0, mostSeasons, " growing seasons")
	s.checkRange(at.at("high"), high, 0, mostSeasons, " growing seasons")
	switch {
	case low > usual:
		s.faults.add(at.at("usual"), "want at least what low says, %v", low)
	case usual > high:
		s.faults.add(at.at("high"), "want at least what usual says, %v", usual)
	}
}

func (s *set) checkSetbacks() {
	for i := range s.setbacks {
		b, at := &s.setbacks[i].value, s.setbacks[i].spot
		s.checkID(at.at("id"), b.ID)
		switch b.Kind {
		case calendar.SetbackNotStrong:
			if b.After == "" {
				s.faults.add(at.at("after"), "is missing; want the work after which the tree is not strong")
			}
			s.checkSpan(at, b.Low, b.Usual, b.High)
			s.checkChance(at, b.Chance)
		case calendar.SetbackMissed:
			for _, f := range []string{"low", "usual", "high"} {
				if at.has(f) {
					s.faults.add(at.at(f), "what a missed window costs follows from the rules; leave the field out")
				}
			}
			s.checkChance(at, b.Chance)
		case calendar.SetbackWeak, calendar.SetbackRecovering:
			s.checkSpan(at, b.Low, b.Usual, b.High)
			if at.has("after") {
				s.faults.add(at.at("after"), "follows a judgement, not a work; leave the field out")
			}
			if b.Chance != 1 {
				s.faults.add(at.at("chance"), "want 1: the grower has judged it to be so")
			}
		case "":
			s.faults.add(at.at("kind"), "is missing; want one of %s", names(calendar.SetbackKinds()))
		default:
			checkList(s, alone(at.at("kind")), []calendar.SetbackKind{b.Kind}, "kind of setback", calendar.SetbackKinds())
		}
		if b.After != "" {
			s.checkWork(at.at("after"), b.After, true)
		}
		s.checkSpanScope(at.at("for"), &b.For)
		s.checkSource(at.at("source"), b.Source)
	}
}

// checkChance checks a probability; a setback that nearly always comes would leave
// no way to the bench.
func (s *set) checkChance(at *spot, chance float64) {
	if !at.has("chance") {
		s.faults.add(at.at("chance"), "is missing; want a probability, 0 to 0.9")
		return
	}
	s.checkRange(at.at("chance"), chance, 0, 0.9, "")
}
