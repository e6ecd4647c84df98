package lore

import (
	"maps"
	"slices"
	"strings"

	"budswell/calendar"
)

// set is what was read, with where each item stands.
type set struct {
	species  []item[calendar.Species]
	works    []item[calendar.Work]
	rules    []item[calendar.Rule]
	cautions []item[calendar.Caution]
	stages   []item[calendar.StageTime]
	setbacks []item[calendar.Setback]
	genera   []item[calendar.Genus]
	pests    []item[calendar.Pest]

	files  []string         // names, in the order in which they were read
	known  map[string]known // by kind and id; what was read last holds
	faults faultList
}

// clone returns a set to which more can be added, and leaves s as it is.
func (s *set) clone() *set {
	return &set{
		species: slices.Clone(s.species), works: slices.Clone(s.works), rules: slices.Clone(s.rules), cautions: slices.Clone(s.cautions),
		stages: slices.Clone(s.stages), setbacks: slices.Clone(s.setbacks),
		genera: slices.Clone(s.genera), pests: slices.Clone(s.pests),
		files: slices.Clone(s.files), known: maps.Clone(s.known), faults: faultList{slices.Clone(s.faults.all)},
	}
}

// item is one item of a list of lore.
type item[T any] struct {
	value T
	spot  *spot
	layer int // 0: part of the program; those above hold over it
	from  *calendar.From
}

type known struct {
	spot  *spot
	layer int
}

// enter notes that an item of that id was read, and reports whether it may hold.
func (s *set) enter(kind, key, id string, at *spot, layer int) bool {
	if id == "" {
		if at.fields != nil && !at.has(key) {
			s.faults.add(at, "has no %s", key)
		}
		return false
	}
	old, ok := s.known[handle(kind, id)]
	if ok && old.layer == layer {
		s.faults.add(at.at(key), "is given already at %s", old.spot)
		return false
	}
	s.known[handle(kind, id)] = known{at, layer}
	return true
}

// knows reports whether an item of that id was read.
func (s *set) knows(kind, id string) bool {
	_, ok := s.known[handle(kind, id)]
	return ok
}

func handle(kind, id string) string {
	if kind == "species" {
		id = strings.ToLower(id)
	}
	return kind + " " + id
}

// holding returns the items that nothing read later has put aside.
func holding[T any](s *set, kind string, all []item[T], id func(*T) string) []item[T] {
	var out []item[T]
	for i := range all {
		if s.known[handle(kind, id(&all[i].value))].spot == all[i].spot {
			out = append(out, all[i])
		}
	}
	return out
}

// check checks everything that was read.
func (s *set) check() {
	s.species = holding(s, "species", s.species, func(v *calendar.Species) string { return v.Name })
	s.works = holding(s, "work", s.works, func(v *calendar.Work) string { return v.ID })
	s.rules = holding(s, "rule", s.rules, func(v *calendar.Rule) string { return v.ID })
	s.cautions = holding(s, "caution", s.cautions, func(v *calendar.Caution) string { return v.ID })

	s.stages = holding(s, "stage", s.stages, func(v *calendar.StageTime) string { return v.ID })
	s.setbacks = holding(s, "setback", s.setbacks, func(v *calendar.Setback) string { return v.ID })
	s.genera = holding(s, "genus", s.genera, func(v *calendar.Genus) string { return v.Name })
	s.pests = holding(s, "pest", s.pests, func(v *calendar.Pest) string { return v.ID })

	s.checkGenera()
	s.checkSpecies()
	s.inherit()
	s.checkPests()
	s.checkCautions()
	s.checkWorks()
	for i := range s.rules {
		s.checkRule(&s.rules[i])
	}
	s.checkReach()
	s.checkWay()
	s.checkStages()
	s.checkSetbacks()
}

// lore returns what holds.
func (s *set) lore() *calendar.Lore {
	out := &calendar.Lore{
		Species: values(s.species), Works: values(s.works), Cautions: values(s.cautions),
		Stages: values(s.stages), Setbacks: values(s.setbacks),
		Genera: values(s.genera), Pests: values(s.pests),
	}
	for i := range s.species {
		out.Species[i].From = s.species[i].from
	}
	for i := range s.rules {
		r := s.rules[i].value
		r.From = s.rules[i].from
		if r.Off {
			out.Off = append(out.Off, r)
		} else {
			out.Rules = append(out.Rules, r)
		}
	}
	return out
}

func values[T any](items []item[T]) []T {
	out := make([]T, len(items))
	for i := range items {
		out[i] = items[i].value
	}
	return out
}
