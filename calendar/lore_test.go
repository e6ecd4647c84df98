package calendar_test

import (
	"errors"
	"slices"
	"strings"
	"testing"

	"budswell/calendar"
	"budswell/climate/phenology"
)

func at(v float64) *float64 { return &v }

func testLore() *calendar.Lore {
	return &calendar.Lore{
		Species: []calendar.Species{
			{Name: "Acer campestre", Synonyms: []string{"Acer austriacum"}, Common: []string{"field maple"}, Group: phenology.Deciduous, Flush: phenology.Middle, Traits: []calendar.Trait{calendar.Bleeder, calendar.BudsOnOldWood}, Answers: calendar.Answers{NewGrowth: "hardy"}, RootsKilledBelow: at(-10), CrownHardy: at(-29)},
			{Name: "Acer palmatum", Group: phenology.Deciduous, Flush: phenology.Middle, Traits: []calendar.Trait{calendar.Bleeder, calendar.SoftGrowthFrost}, RootsKilledBelow: at(-8)},
			{Name: "Pinus mugo", Group: phenology.SingleFlushPine},
			{Name: "Pinus thunbergii", Group: phenology.MultiFlushPine},
			{Name: "Larix × marschlinsii", Group: phenology.DeciduousConifer, Traits: []calendar.Trait{calendar.ToxicSap}},
		},
		Works: []calendar.Work{
			{ID: "repot", Title: "Repot", Class: calendar.Roots, Hard: calendar.HardOnRoots, Cautions: []string{"tools", "look"}, Also: []string{"repotted"}},
			{ID: "feed", Title: "Feed", Class: calendar.Feeding, Cautions: []string{"look"}},
		},
		Cautions: []calendar.Caution{{ID: "look", Text: "Look."}, {ID: "tools", Text: "Sharp."}, {ID: "toxic-sap", Text: "Sap."}, {ID: "cold", Text: "Cold."}},
		Rules: []calendar.Rule{
			{ID: "repot-broadleaf", Work: "repot", For: calendar.Scope{Groups: []phenology.Group{phenology.Deciduous}, Stages: []calendar.Stage{calendar.StageBuilding}}},
			{ID: "repot-all", Work: "repot", For: calendar.Scope{Except: []string{"Acer"}}, Cautions: []string{"cold", "look"}},
			{ID: "repot-late", Work: "repot", Variant: "late", Instead: "repot-all"},
			{ID: "feed-campestre", Work: "feed", For: calendar.Scope{Species: []string{"Acer campestre"}, Origins: []calendar.Origin{calendar.Nursery}}},
			{ID: "feed-soft", Work: "feed", For: calendar.Scope{Species: []string{"Acer"}, Traits: []calendar.Trait{calendar.SoftGrowthFrost}, Without: []calendar.Trait{calendar.StoneFruit}}},
		},
	}
}

func TestSpeciesNamed(t *testing.T) {
	l := testLore()
	for name, want := range map[string]string{
		"Acer campestre": "Acer campestre", " acer  CAMPESTRE ": "Acer campestre", "Acer austriacum": "Acer campestre",
		"Field Maple": "Acer campestre", "Larix x marschlinsii": "Larix × marschlinsii", "larix ×marschlinsii": "Larix × marschlinsii",
		"acer": "Acer", "Acer sp.": "Acer", "Larix spp.": "Larix",
	} {
		if s, err := l.SpeciesNamed(name); err != nil || s.Name != want {
			t.Errorf("%q is %v, %v; want %s", name, s, err, want)
		}
	}
	for name, want := range map[string]string{
		"Acer campester": "want Acer campestre, Acer palmatum, or the genus Acer alone",
		"Pinus":          "grow in different ways; want one of Pinus mugo, Pinus thunbergii",
		"Fagus":          "want the botanical or English name",
		"":               "want the botanical or English name",
	} {
		_, err := l.SpeciesNamed(name)
		if !errors.Is(err, calendar.ErrNotFound) || !strings.Contains(err.Error(), want) {
			t.Errorf("%q gives %v; want ErrNotFound with %q", name, err, want)
		}
	}
}

// A genus has what all its species have, and of what differs the more cautious.
func TestGenus(t *testing.T) {
	s, err := testLore().SpeciesNamed("Acer")
	if err != nil {
		t.Fatal(err)
	}
	if s.Group != phenology.Deciduous || s.Flush != phenology.Middle {
		t.Errorf("group %s, flush %s", s.Group, s.Flush)
	}
	if !slices.Equal(s.Traits, []calendar.Trait{calendar.Bleeder, calendar.SoftGrowthFrost}) {
		t.Errorf("traits %v", s.Traits)
	}
	if s.RootsKilledBelow == nil || *s.RootsKilledBelow != -8 {
		t.Errorf("roots killed below %v, want the higher, -8", s.RootsKilledBelow)
	}
	if s.CrownHardy != nil {
		t.Errorf("crown hardy to %v, want unknown as of one species it is", *s.CrownHardy)
	}
}

func TestRulesFor(t *testing.T) {
	l := testLore()
	for _, c := range []struct {
		species  string
		stage    calendar.Stage
		origin   calendar.Origin
		variants []string
		want     string
	}{
		{"Acer campestre", calendar.StageBuilding, calendar.Collected, nil, "repot-broadleaf"},
		{"Acer campestre", calendar.StageRefining, calendar.Nursery, nil, "feed-campestre"},
		{"Acer palmatum", calendar.StageBuilding, calendar.Collected, nil, "repot-broadleaf feed-soft"},
		{"Pinus mugo", calendar.StageBuilding, calendar.Collected, nil, "repot-all"},
		{"Pinus mugo", calendar.StageBuilding, calendar.Collected, []string{"late"}, "repot-late"},
	} {
		s, err := l.SpeciesNamed(c.species)
		if err != nil {
			t.Fatal(err)
		}
		var got []string
		for _, r := range l.RulesFor(s, c.stage, c.origin, c.variants...) {
			got = append(got, r.ID)
		}
		if strings.Join(got, " ") != c.want {
			t.Errorf("%s %s %s %v: rules %v, want %s", c.species, c.stage, c.origin, c.variants, got, c.want)
		}
	}
}

func TestWorkByIDAndCautions(t *testing.T) {
	l := testLore()
	if w, ok := l.WorkByID("repotted"); !ok || w.ID != "repot" {
		t.Errorf("repotted is %v", w)
	}
	if _, ok := l.WorkByID("prune"); ok {
		t.Error("found a work that is not there")
	}
	r, ok := l.RuleByID("repot-all")
	if !ok {
		t.Fatal("no rule repot-all")
	}
	for species, want := range map[*calendar.Species][]string{
		nil:           {"Look.", "Sharp.", "Cold."},
		&l.Species[0]: {"Look.", "Sharp.", "Cold."},
		&l.Species[4]: {"Look.", "Sharp.", "Sap.", "Cold."},
	} {
		if got := l.CautionTexts(r, species); !slices.Equal(got, want) {
			t.Errorf("cautions %v, want %v", got, want)
		}
	}
	if got := l.CautionTexts(&l.Rules[3], &l.Species[4]); !slices.Equal(got, []string{"Look."}) {
		t.Errorf("cautions of feeding %v, want no word of sap", got)
	}
}
