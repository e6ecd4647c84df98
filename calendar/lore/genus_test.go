package lore_test

import (
	"slices"
	"strings"
	"testing"

	"budswell/calendar"
	"budswell/calendar/lore"
)

// Every species has every answer, of its own or of its genus, but for those of which
// it is known that nothing is known; and its source says where it comes from.
func TestAnswersOfAll(t *testing.T) {
	l := load(t)
	unknown := map[string][]string{
		"Lyonia":     {"back_buds", "root_work", "pests"},
		"Nothofagus": {"new_growth", "pests"}, "Pseudolarix": {"pests"}, "Conocarpus": {"poison"},
		"Ehretia": {"poison"}, "Murraya": {"poison"}, "Serissa": {"poison"},
		"Pemphis": {"back_buds", "poison", "pests"}, "Terminalia": {"back_buds", "poison"},
	}
	for i := range l.Species {
		s := &l.Species[i]
		for field, known := range map[string]bool{
			"repot": s.Repot != nil, "back_buds": s.BackBuds != "", "root_work": s.RootWork != "", "new_growth": s.NewGrowth != "",
			"bleeding": s.Bleeding != "", "poison": s.Poison != nil, "pests": s.Pests != nil,
		} {
			if want := !slices.Contains(unknown[s.Genus()], field); known != want {
				t.Errorf("%s: %s known is %v, want %v", s.Name, field, known, want)
			}
			if source := s.Sources[field]; source != "" && !known {
				t.Errorf("%s: %s has a source and no value", s.Name, field)
			}
		}
	}
}

// What a genus says holds where the row of a species says nothing, also of a species
// that a grower adds, and the traits of a row come before its genus.
func TestInherit(t *testing.T) {
	l := load(t, lore.File{Name: "mine.yaml", Text: []byte(`
species:
  - {name: Acer diabolicum, group: deciduous, traits: [soft-growth-frost], repot: {young: 1, building: 1, refined: 2}, source: from memory}
  - {name: Toona sinensis, group: deciduous, source: from memory}
`)})
	s, err := l.SpeciesNamed("Acer diabolicum")
	if err != nil {
		t.Fatal(err)
	}
	if s.Repot.Refined != 2 || s.Sources["repot"] != "" {
		t.Errorf("repot %+v, source %q: want its own", s.Repot, s.Sources["repot"])
	}
	if s.RootWork != "well" || s.Sources["root_work"] != "as of the genus Acer: common practice, no published source" {
		t.Errorf("root work %q, source %q: want those of the genus", s.RootWork, s.Sources["root_work"])
	}
	if s.NewGrowth != "tender" || !strings.HasPrefix(s.Sources["new_growth"], "by its trait soft-growth-frost: ") {
		t.Errorf("new growth %q, source %q: want it by the trait", s.NewGrowth, s.Sources["new_growth"])
	}
	if !s.Has(calendar.Bleeder) {
		t.Error("no bleeder, which maples are")
	}
	// Nothing is known of this one: the plan takes care, and permits nothing.
	s, err = l.SpeciesNamed("Toona sinensis")
	if err != nil {
		t.Fatal(err)
	}
	for trait, want := range map[calendar.Trait]bool{
		calendar.Bleeder: true, calendar.SoftGrowthFrost: true, calendar.HardlyBackBuds: true, calendar.RootSensitive: true,
		calendar.BudsOnOldWood: false, calendar.FrostHardyRoots: false,
	} {
		if s.Has(trait) != want {
			t.Errorf("of which nothing is known: %s is %v", trait, !want)
		}
	}
	var ids []string
	for _, r := range l.RulesFor(s, calendar.StageBuilding, calendar.Collected) {
		ids = append(ids, r.ID)
	}
	for id, want := range map[string]bool{
		"repot-deciduous-sensitive": true, "repot-deciduous": false, "heavy-prune-bleeder": true, "heavy-prune-deciduous": false,
		"frost-watch-soft-growth": true, "pest-check-aphids": true, "pest-check-mites": true, "pest-check-winter-moth": false,
	} {
		if slices.Contains(ids, id) != want {
			t.Errorf("of which nothing is known: rule %s is %v", id, !want)
		}
	}
	prune, _ := l.RuleByID("heavy-prune-bleeder")
	texts := strings.Join(l.CautionTexts(prune, s), "\n")
	for _, want := range []string{"not known here", "never cut back to bare wood"} {
		if !strings.Contains(texts, want) {
			t.Errorf("cautions %q do not say %q", texts, want)
		}
	}
}

// A club adds what its law asks for, by kinds of work, and names where it holds.
func TestRegionalCaution(t *testing.T) {
	l := load(t, lore.File{Name: "club.yaml", Text: []byte(`
cautions:
  - id: valley-collecting
    works: [collect]
    region: our valley
    text: The forest office gives permits for digging.
  - id: valley-health
    classes: [health]
    region: our valley
    text: Report what you do not know to the plant office.
`)})
	for id, want := range map[string]string{
		"collect-deciduous":       "In our valley: The forest office gives permits for digging.",
		"pest-check-aphids":       "In our valley: Report what you do not know to the plant office.",
		"dormant-spray-deciduous": "In our valley: Report what you do not know to the plant office.",
		"repot-deciduous":         "",
	} {
		r, ok := l.RuleByID(id)
		if !ok {
			t.Fatalf("no rule %s", id)
		}
		var got []string
		for _, text := range l.CautionTexts(r, nil) {
			if strings.HasPrefix(text, "In our valley") {
				got = append(got, text)
			}
		}
		if strings.Join(got, " ") != want {
			t.Errorf("%s: %q, want %q", id, got, want)
		}
	}
}

// Of a pest whose days are published the rule hangs on degree-days and its source
// gives an address or a year.
func TestPestsByWarmth(t *testing.T) {
	l := load(t)
	n := 0
	for i := range l.Rules {
		r := &l.Rules[i]
		if !hangsOn(&r.Opens, calendar.AtDegreeDays) {
			continue
		}
		n++
		if !strings.Contains(r.Source, "https://") {
			t.Errorf("%s: %q gives no address", r.ID, r.Source)
		}
		if r.Opens.Sum >= r.Closes.Sum || r.Opens.C == nil || *r.Opens.C != *r.Closes.C {
			t.Errorf("%s: from %v to %v", r.ID, r.Opens.Sum, r.Closes.Sum)
		}
		if len(r.For.Pests) != 1 {
			t.Errorf("%s: for the pests %v, want one", r.ID, r.For.Pests)
		}
	}
	if n < 15 {
		t.Errorf("%d rules by degree-days", n)
	}
	for _, p := range l.Pests {
		if !slices.ContainsFunc(l.Species, func(s calendar.Species) bool { return slices.Contains(s.Pests, p.ID) }) {
			t.Errorf("no species gets %s", p.ID)
		}
	}
}
