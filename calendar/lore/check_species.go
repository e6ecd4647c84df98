package lore

import (
	"reflect"
	"regexp"
	"slices"
	"strings"

	"budswell/calendar"
	"budswell/climate/phenology"
)

// botanical is the form of a species' name: genus and epithet, perhaps a hybrid
// sign, a subspecies, variety, form or cultivar.
var botanical = regexp.MustCompile(`^\p{Lu}\p{Ll}+ ([x×] )?\p{Ll}+(-\p{Ll}+)*( (subsp\.|var\.|f\.) \p{Ll}+(-\p{Ll}+)*)?( \p{Lu}\p{Ll}+ Group| '[^']+')?$`)

var flushes = []phenology.Flush{phenology.VeryEarly, phenology.Early, phenology.Middle, phenology.Late, phenology.VeryLate}

func (s *set) checkSpecies() {
	taken := map[string]*spot{}
	take := func(at *spot, name string) {
		key := strings.ToLower(name)
		if other, ok := taken[key]; ok {
			s.faults.add(at, "is a name given already at %s; names must tell species apart", other)
		}
		taken[key] = at
	}
	for i := range s.species {
		v, at := &s.species[i].value, s.species[i].spot
		if !botanical.MatchString(v.Name) {
			s.faults.add(at.at("name"), "want a botanical name such as Acer campestre or Larix x marschlinsii")
		}
		take(at.at("name"), v.Name)
		for j, n := range v.Synonyms {
			s.checkText(at.at("synonyms").item(j), n, 80)
			take(at.at("synonyms").item(j), n)
		}
		for j, n := range v.Common {
			s.checkText(at.at("common").item(j), n, 80)
			take(at.at("common").item(j), n)
		}
		s.checkSpeciesValues(v, at)
	}
}

// checkSpeciesValues checks all of a species but its names.
func (s *set) checkSpeciesValues(v *calendar.Species, at *spot) {
	switch {
	case v.Group == "":
		s.faults.add(at.at("group"), "is missing; want one of %s", names(phenology.Groups()))
	case !slices.Contains(phenology.Groups(), v.Group):
		s.faults.add(at.at("group"), "there is no such group; want one of %s", names(phenology.Groups()))
	}
	if v.Flush != "" && !slices.Contains(flushes, v.Flush) {
		s.faults.add(at.at("flush"), "want one of %s, or the field left out where it is not known", names(flushes))
	}
	checkList(s, at.at("traits"), v.Traits, "trait", calendar.OwnTraits())
	if v.FlowerWeeks != nil {
		s.checkRange(at.at("flower_weeks"), *v.FlowerWeeks, -10, 30, " weeks after leaf-out")
		if phases := v.Group.Phases(); phases != nil && !slices.Contains(phases, phenology.Flowering) {
			s.faults.add(at.at("flower_weeks"), "trees of group %s are not followed in flower; leave it out", v.Group)
		}
	} else if v.Has(calendar.WorkedAfterFlowering) {
		s.faults.add(at.at("flower_weeks"), "is missing; a species that is worked after flowering needs it")
	}
	if v.RootsKilledBelow != nil {
		s.checkRange(at.at("roots_killed_below"), *v.RootsKilledBelow, -30, 10, " C")
	}
	if v.CrownHardy != nil {
		s.checkRange(at.at("crown_hardy"), *v.CrownHardy, -60, 15, " C")
	}
	if v.RootsKilledBelow != nil && v.CrownHardy != nil && *v.RootsKilledBelow < *v.CrownHardy {
		s.faults.add(at.at("roots_killed_below"), "potted roots stand less cold than the crown; want at least crown_hardy, %v", *v.CrownHardy)
	}
	s.checkAnswers(at, &v.Answers)
	s.checkSources(at, v.Source, v.Sources, speciesFields, "a species")
}

// checkSources checks the source of a row and those of its fields.
func (s *set) checkSources(at *spot, source string, sources map[string]string, fields map[string]bool, what string) {
	s.checkSource(at.at("source"), source)
	for _, field := range sorted(sources) {
		fs := at.at("sources").at(field)
		if !fields[field] {
			s.faults.add(fs, "there is no such field of %s", what)
		}
		s.checkSource(fs, sources[field])
	}
}

// speciesFields and genusFields are the fields that may have a source of their own.
var (
	speciesFields = fieldsWithSource(calendar.Species{})
	genusFields   = fieldsWithSource(calendar.Genus{})
)

func fieldsWithSource(of any) map[string]bool {
	out := map[string]bool{}
	for f := range fieldsOf(reflect.ValueOf(of)) {
		out[f] = f != "source" && f != "sources"
	}
	return out
}

func sorted(m map[string]string) []string {
	out := make([]string, 0, len(m))
	for k := range m {
		out = append(out, k)
	}
	slices.Sort(out)
	return out
}
