package lore

import (
	"slices"

	"budswell/calendar"
)

// leads are the works without which a tree does not enter a stage.
var leads = map[calendar.Stage][]string{
	calendar.StageFirstStyling: {calendar.WorkRepot},
	calendar.StageBuilding:     {calendar.WorkFirstStyle},
	calendar.StageRefining:     {calendar.WorkSecondStyle, calendar.WorkUnwire},
	calendar.StageExhibition:   {calendar.WorkPotChange},
}

// checkWay finds rules that no tree on its way to the bench ever gets, because they
// are for, or need, a stage that is only entered by their own work or one that comes
// later; those of the works that lead on, for the others keep no tree from its way.
func (s *set) checkWay() {
	if len(s.faults.all) > 0 {
		return // what is wrong with single rules is told first
	}
	told := map[*spot]bool{}
	for i := range s.species {
		sp := &s.species[i].value
		work, at := s.stuck(sp)
		if work == "" {
			continue
		}
		for j := range s.rules {
			it := &s.rules[j]
			if it.value.Work != work || it.value.ForShow() || told[it.spot] || !it.value.For.MatchesSpecies(sp) {
				continue
			}
			told[it.spot] = true
			s.faults.add(s.why(it, at),
				"no rule gives a tree of %s this work (%s) by the stage %q, and without it no tree goes on from there; want a rule for that stage whose needs can be met by then", sp.Name, work, at)
			break // one rule of them is enough to be told of
		}
	}
}

// why returns the spot of what keeps a rule from trees at a stage: a need, or else its
// scope.
func (s *set) why(it *item[calendar.Rule], at calendar.Stage) *spot {
	for n := range it.value.Needs {
		need := &it.value.Needs[n]
		if need.Stage != "" && rank(need.Stage) > rank(at) {
			return it.spot.at("needs").item(n).at("stage")
		}
	}
	return it.spot.at("for")
}

func rank(s calendar.Stage) int { return slices.Index(calendar.Stages(), s) }

// stuck returns the work for want of which trees of a species stay at a stage, or
// nothing. A rule that needs a work done counts once a rule for that work does; one
// for a show is for trees that are entered for it alone.
func (s *set) stuck(sp *calendar.Species) (work string, at calendar.Stage) {
	all := calendar.Stages()
	done := map[string]bool{calendar.WorkCollect: true}
	var open []*calendar.Rule // that do not count yet
	for i := range s.rules {
		if r := &s.rules[i].value; r.Variant == "" && !r.ForShow() && r.For.MatchesSpecies(sp) {
			open = append(open, r)
		}
	}
	for k, next := range all[1:] {
		for more := true; more; {
			more = false
			open = slices.DeleteFunc(open, func(r *calendar.Rule) bool {
				if !gets(r, all[:k+1]) || missing(r, done) >= 0 {
					return false
				}
				done[r.Work], more = true, true
				return true
			})
		}
		for _, w := range leads[next] {
			if !done[w] {
				return w, all[k]
			}
		}
	}
	return "", ""
}

// gets reports whether a rule is for trees that have come no further than some
// stages, and needs no stage beyond them.
func gets(r *calendar.Rule, come []calendar.Stage) bool {
	last := len(come) - 1
	return (len(r.For.Stages) == 0 || slices.ContainsFunc(r.For.Stages, func(s calendar.Stage) bool { return slices.Contains(come, s) })) &&
		!slices.ContainsFunc(r.Needs, func(n calendar.Need) bool { return n.Stage != "" && rank(n.Stage) > last })
}
