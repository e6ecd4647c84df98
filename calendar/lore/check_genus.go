package lore

import (
	"cmp"
	"maps"
	"regexp"
	"slices"

	"budswell/calendar"
)

var generic = regexp.MustCompile(`^\p{Lu}\p{Ll}+$`)

func (s *set) checkGenera() {
	for i := range s.genera {
		v, at := &s.genera[i].value, s.genera[i].spot
		switch {
		case !generic.MatchString(v.Name):
			s.faults.add(at.at("name"), "want the name of a genus, such as Acer")
		case !slices.ContainsFunc(s.species, func(it item[calendar.Species]) bool { return it.value.Genus() == v.Name }):
			s.faults.add(at.at("name"), "no species is of this genus; add one, or take the genus out")
		}
		s.checkAnswers(at, &v.Answers)
		s.checkSources(at, v.Source, v.Sources, genusFields, "a genus")
	}
}

// checkAnswers checks how a species or genus answers.
func (s *set) checkAnswers(at *spot, a *calendar.Answers) {
	if a.Repot != nil {
		rs, last := at.at("repot"), 0.0
		for _, f := range []struct {
			name string
			v    float64
		}{{"young", a.Repot.Young}, {"building", a.Repot.Building}, {"refined", a.Repot.Refined}} {
			if !rs.has(f.name) {
				s.faults.add(rs, "has no %s; want young, building and refined, each in growing seasons", f.name)
				continue
			}
			s.checkRange(rs.at(f.name), f.v, 0.5, 10, " growing seasons")
			if f.v < last {
				s.faults.add(rs.at(f.name), "an older tree is not repotted more often; want at least %v", last)
			}
			last = f.v
		}
	}
	for _, g := range []struct {
		name   string
		grade  calendar.Grade
		grades []calendar.Grade
	}{
		{"back_buds", a.BackBuds, calendar.BackBudGrades},
		{"root_work", a.RootWork, calendar.RootWorkGrades},
		{"new_growth", a.NewGrowth, calendar.NewGrowthGrades},
		{"bleeding", a.Bleeding, calendar.BleedingGrades},
	} {
		if at.has(g.name) && !slices.Contains(g.grades, g.grade) {
			s.faults.add(at.at(g.name), "want one of %s, or the field left out where it is not known", names(g.grades))
		}
	}
	if p := a.Poison; p != nil {
		ps := at.at("poison")
		for i, part := range p.Parts {
			s.checkText(ps.at("parts").item(i), part, 60)
		}
		switch {
		case !ps.has("parts"):
			s.faults.add(ps, "has no parts; want those that are poisonous, or [] where none is known to be")
		case p.Caution == "" && len(p.Parts) > 0:
			s.faults.add(ps, "has no caution; want the id of that which shows with work by hand")
		case p.Caution != "":
			s.checkCautionIDs(alone(ps.at("caution")), []string{p.Caution})
		}
	}
	for i, id := range a.Pests {
		if !s.knows("pest", id) {
			s.faults.add(at.at("pests").item(i), "there is no such pest; want the id of one%s", s.like("pest", id))
		}
		if slices.Contains(a.Pests[:i], id) {
			s.faults.add(at.at("pests").item(i), "is given twice")
		}
	}
}

func (s *set) checkPests() {
	for _, p := range s.pests {
		s.checkID(p.spot.at("id"), p.value.ID)
		s.checkText(p.spot.at("name"), p.value.Name, 60)
		s.checkText(p.spot.at("look"), p.value.Look, 400)
		s.checkSource(p.spot.at("source"), p.value.Source)
	}
}

// inherit gives species what their traits tell of how they answer, then what their
// genus has where their own row says nothing, each with a source that tells so, and
// checks that what a row says itself agrees.
func (s *set) inherit() {
	for i := range s.species {
		v, at := &s.species[i].value, s.species[i].spot
		v.Sources = maps.Clone(v.Sources)
		if v.Sources == nil {
			v.Sources = map[string]string{}
		}
		j := slices.IndexFunc(s.genera, func(it item[calendar.Genus]) bool { return it.value.Name == v.Genus() })
		genus := &calendar.Genus{}
		if j >= 0 {
			genus = &s.genera[j].value
		}
		for _, t := range toldByTraits(v, genus) {
			switch {
			case !slices.Contains(v.Traits, t.trait):
			case *t.own == "" && !slices.Contains(t.grades, t.genus):
				*t.own = t.grades[0]
				v.Sources[t.field] = "by its trait " + string(t.trait) + ": " + cmp.Or(v.Sources["traits"], v.Source)
			case *t.own != "" && !slices.Contains(t.grades, *t.own):
				s.faults.add(at.at(t.field), "does not go with the trait %s; change one of the two", t.trait)
			}
		}
		if j >= 0 {
			inheritFrom(v, genus)
		}
	}
}

// toldByTrait is a grade that follows from a trait: one of some grades, the first
// where no more is known.
type toldByTrait struct {
	trait  calendar.Trait
	field  string
	own    *calendar.Grade
	genus  calendar.Grade
	grades []calendar.Grade
}

func toldByTraits(v *calendar.Species, genus *calendar.Genus) []toldByTrait {
	return []toldByTrait{
		{calendar.Bleeder, "bleeding", &v.Bleeding, genus.Bleeding, []calendar.Grade{"much", "some"}},
		{calendar.SoftGrowthFrost, "new_growth", &v.NewGrowth, genus.NewGrowth, []calendar.Grade{"tender"}},
		{calendar.BudsOnOldWood, "back_buds", &v.BackBuds, genus.BackBuds, []calendar.Grade{"readily"}},
	}
}

func inheritFrom(v *calendar.Species, g *calendar.Genus) {
	take := func(field string, missing bool, set func()) {
		if !missing {
			return
		}
		set()
		source := g.Source
		if own, ok := g.Sources[field]; ok {
			source = own
		}
		v.Sources[field] = "as of the genus " + g.Name + ": " + source
	}
	take("repot", v.Repot == nil && g.Repot != nil, func() { v.Repot = g.Repot })
	take("back_buds", v.BackBuds == "" && g.BackBuds != "", func() { v.BackBuds = g.BackBuds })
	take("root_work", v.RootWork == "" && g.RootWork != "", func() { v.RootWork = g.RootWork })
	take("new_growth", v.NewGrowth == "" && g.NewGrowth != "", func() { v.NewGrowth = g.NewGrowth })
	take("bleeding", v.Bleeding == "" && g.Bleeding != "", func() { v.Bleeding = g.Bleeding })
	take("poison", v.Poison == nil && g.Poison != nil, func() { v.Poison = g.Poison })
	take("pests", v.Pests == nil && g.Pests != nil, func() { v.Pests = g.Pests })
}
