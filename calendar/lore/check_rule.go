package lore

import (
	"slices"

	"budswell/calendar"
	"budswell/climate/phenology"
)

func (s *set) checkRule(it *item[calendar.Rule]) {
	r, at := &it.value, it.spot
	s.checkID(at.at("id"), r.ID)
	if r.Work == "" {
		s.faults.add(at.at("work"), "is missing; want the id of a work")
	} else {
		s.checkWork(at.at("work"), r.Work, false)
	}
	if at.has("title") {
		s.checkText(at.at("title"), r.Title, 80)
	}
	scope := s.checkScope(at.at("for"), &r.For)
	s.checkWindow(at, r, scope)
	if r.Best != "" && !slices.Contains([]calendar.Best{calendar.BestEarly, calendar.BestMiddle, calendar.BestLate}, r.Best) {
		s.faults.add(at.at("best"), "want early, middle or late")
	}
	s.checkRange(at.at("every"), float64(r.Every), 0, 120, " days")
	if r.Once && r.Every > 0 {
		s.faults.add(at.at("once"), "a work is done once, or every so many days; give one of the two")
	}
	for i := range r.Needs {
		s.checkNeed(at.at("needs").item(i), &r.Needs[i])
	}
	for i, id := range r.Excludes {
		s.checkWork(at.at("excludes").item(i), id, true)
	}
	s.checkRange(at.at("rest"), r.Rest, 0, 4, " growing seasons")
	s.checkRange(at.at("loses"), float64(r.Loses), 0, 1500, " days")
	if r.Minutes == 0 {
		s.faults.add(at.at("minutes"), "is missing; want the effort for one tree, 1 to 960 minutes")
	} else {
		s.checkRange(at.at("minutes"), float64(r.Minutes), 1, 960, " minutes")
	}
	for i, m := range r.Materials {
		s.checkText(at.at("materials").item(i), m, 80)
	}
	s.checkCautionIDs(at.at("cautions"), r.Cautions)
	if at.has("not") {
		s.checkText(at.at("not"), r.Not, 400)
	}
	if r.Why == "" {
		s.faults.add(at.at("why"), "is missing; say in words why the window lies there")
	} else {
		s.checkText(at.at("why"), r.Why, 400)
	}
	s.checkForShow(at, r, scope)
	s.checkVariant(at, r)
	s.checkSource(at.at("source"), r.Source)
}

// checkScope checks whom a rule is for and returns those species; none where
// that is not known.
func (s *set) checkScope(at *spot, c *calendar.Scope) []*calendar.Species {
	before := len(s.faults.all)
	checkList(s, at.at("groups"), c.Groups, "group", phenology.Groups())
	s.checkTaxa(at.at("species"), c.Species)
	s.checkTaxa(at.at("except"), c.Except)
	checkList(s, at.at("traits"), c.Traits, "trait", calendar.Traits())
	checkList(s, at.at("without"), c.Without, "trait", calendar.Traits())
	checkList(s, at.at("stages"), c.Stages, "stage", calendar.Stages())
	checkList(s, at.at("origins"), c.Origins, "origin", origins)
	for i, id := range c.Pests {
		if !s.knows("pest", id) {
			s.faults.add(at.at("pests").item(i), "there is no such pest; want the id of one%s", s.like("pest", id))
		}
	}
	var out []*calendar.Species
	for i := range s.species {
		if v := &s.species[i].value; c.MatchesSpecies(v) {
			out = append(out, v)
		}
	}
	switch {
	case at.broken() || len(s.faults.all) > before:
		return nil // whom it is for is not known
	case len(out) == 0:
		s.faults.add(at, "no species is of this kind; widen it")
	}
	return out
}

var origins = []calendar.Origin{
	calendar.Collected, calendar.FieldGrown, calendar.Nursery, calendar.Cutting, calendar.Layered, calendar.Grafted, calendar.Seedling,
}

// checkTaxa checks names of species or genera.
func (s *set) checkTaxa(at *spot, list []string) {
	for i, n := range list {
		if !slices.ContainsFunc(s.species, func(it item[calendar.Species]) bool {
			return it.value.Name == n || it.value.Genus() == n
		}) && !s.knows("species", n) {
			s.faults.add(at.item(i), "there is no such species or genus; want an accepted botanical name")
		}
		if slices.Contains(list[:i], n) {
			s.faults.add(at.item(i), "is given twice")
		}
	}
}

// checkNeed checks one thing that must be true.
func (s *set) checkNeed(at *spot, n *calendar.Need) {
	kinds := []string{"strength", "stage", "done", "not_done", "wired", "field_soil", "since", "not_this_season"}
	given := 0
	for _, k := range kinds {
		if at.has(k) {
			given++
		}
	}
	if given != 1 {
		s.faults.add(at, "has %d of %s; want exactly one", given, names(kinds))
		return
	}
	if at.has("strength") {
		checkList(s, alone(at.at("strength")), []calendar.Strength{n.Strength}, "strength", []calendar.Strength{calendar.Weak, calendar.Recovering, calendar.Strong})
	}
	if at.has("stage") {
		checkList(s, alone(at.at("stage")), []calendar.Stage{n.Stage}, "stage", calendar.Stages())
	}
	if at.has("done") {
		s.checkWork(at.at("done"), n.Done, false)
	}
	if at.has("not_done") {
		s.checkWork(at.at("not_done"), n.NotDone, false)
	}
	if at.has("not_this_season") && len(n.NotThisSeason) == 0 && !at.broken() {
		s.faults.add(at.at("not_this_season"), "is empty; want works")
	}
	for i, id := range n.NotThisSeason {
		s.checkWork(at.at("not_this_season").item(i), id, true)
	}
	if at.has("since") {
		s.checkWork(at.at("since"), n.Since, true)
	}
	if at.has("since") == (at.has("seasons") == at.has("weeks")) {
		s.faults.add(at, "want since with seasons or with weeks")
	}
	if at.has("seasons") {
		s.checkRange(at.at("seasons"), n.Seasons, 0.5, 10, " growing seasons")
	}
	if n.Interval && !at.has("seasons") {
		s.faults.add(at.at("interval"), "goes with seasons, which hold where the species' interval between repots is not known")
	}
	if at.has("weeks") {
		s.checkRange(at.at("weeks"), n.Weeks, 1, 104, " weeks")
	}
}

// alone returns the spot of a list whose one item stands at s.
func alone(s *spot) *spot { return &spot{items: []*spot{s}} }

// checkVariant checks what a rule of a variant takes the place of.
func (s *set) checkVariant(at *spot, r *calendar.Rule) {
	if at.has("instead") && !at.has("variant") {
		s.faults.add(at.at("instead"), "goes with variant, by which a grower chooses this rule")
		return
	}
	if !at.has("variant") {
		return
	}
	s.checkID(at.at("variant"), r.Variant)
	if !at.has("instead") {
		return // work besides, for growers who choose it
	}
	i := slices.IndexFunc(s.rules, func(o item[calendar.Rule]) bool { return o.value.ID == r.Instead })
	switch {
	case i < 0 && !s.knows("rule", r.Instead):
		s.faults.add(at.at("instead"), "there is no such rule%s", s.like("rule", r.Instead))
	case i >= 0 && s.rules[i].value.Variant != "":
		s.faults.add(at.at("instead"), "is itself a variant; want the rule that holds without a choice")
	case i >= 0 && s.rules[i].value.Work != r.Work:
		s.faults.add(at.at("instead"), "is for another work, %s", s.rules[i].value.Work)
	}
}

// checkReach finds rules that no tree can ever get, because the works that they
// need done need others that in the end need them.
func (s *set) checkReach() {
	told := map[*spot]bool{}
	for i := range s.species {
		sp := &s.species[i].value
		var open []*item[calendar.Rule]
		for j := range s.rules {
			if s.rules[j].value.For.MatchesSpecies(sp) {
				open = append(open, &s.rules[j])
			}
		}
		done := map[string]bool{}
		for more := true; more; {
			more = false
			open = slices.DeleteFunc(open, func(it *item[calendar.Rule]) bool {
				if need := missing(&it.value, done); need >= 0 {
					return false
				}
				done[it.value.Work], more = true, true
				return true
			})
		}
		for _, it := range open {
			if told[it.spot] {
				continue
			}
			told[it.spot] = true
			n := missing(&it.value, done)
			if id := it.value.Needs[n].Done; s.knows("work", id) {
				s.faults.add(it.spot.at("needs").item(n).at("done"),
					"a tree of %s never gets that far: no rule gives it %s unless it had %s before", sp.Name, id, it.value.Work)
			}
		}
	}
}

// missing returns the first need of r for a work that cannot have been done, -1
// where there is none.
func missing(r *calendar.Rule, done map[string]bool) int {
	return slices.IndexFunc(r.Needs, func(n calendar.Need) bool { return n.Done != "" && !done[n.Done] })
}
