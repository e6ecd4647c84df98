package lore

import (
	"slices"

	"budswell/calendar"
)

// longestBeforeShow is how many days before a show a work for it may be.
const longestBeforeShow = 800

// checkForShow checks what belongs to rules that hang on a show, and to no others.
func (s *set) checkForShow(at *spot, r *calendar.Rule, scope []*calendar.Species) {
	looks := at.at("for").at("looks")
	checkList(s, looks, r.For.Looks, "look", calendar.Looks())
	if !r.ForShow() {
		for _, outer := range []struct {
			at    *spot
			field string
		}{{at, "within"}, {at, "too_late"}, {at.at("for"), "looks"}} {
			if outer.at.has(outer.field) {
				s.faults.add(outer.at.at(outer.field), "is for rules that hang on a show; give it an anchor with at: show, or leave this out")
			}
		}
		return
	}
	for i, look := range r.For.Looks {
		gives := func(sp *calendar.Species) bool { return slices.Contains(sp.Looks(), look) }
		if slices.Contains(calendar.Looks(), look) && len(scope) > 0 && !slices.ContainsFunc(scope, gives) {
			s.faults.add(looks.item(i), "no species that the rule is for can be shown so")
		}
	}
	if at.has("within") {
		s.checkRange(at.at("within"), float64(r.Within), 1, longestBeforeShow, " days")
	}
	if r.TooLate == "" {
		s.faults.add(at.at("too_late"), "is missing; say what it means for the show when the work was not done in time")
	} else {
		s.checkText(at.at("too_late"), r.TooLate, 400)
	}
}
