package calendar

import (
	"slices"
	"strings"
	"testing"

	"budswell/climate/phenology"
)

// TestRepotInterval: a repot is too soon, right or overdue by the species' own interval
// at the tree's stage; by the rule's where that is not known.
func TestRepotInterval(t *testing.T) {
	slow := &RepotEvery{Young: 1, Building: 4, Refined: 6}
	l := smallLore()
	l.Rules[0].Needs = []Need{{Strength: Strong}, {Since: AnyRootWork, Seasons: 2, Interval: true}}
	for _, test := range []struct {
		name    string
		repot   *RepotEvery
		stage   Stage
		last    string
		blocked string // part of the reason; empty: free
		overdue bool
	}{
		{"young, a season ago", slow, StageBaseWork, "2025-04-01", "", false},
		{"young, three seasons ago", slow, StageBaseWork, "2023-04-01", "", true},
		{"built, three seasons ago", slow, StageBuilding, "2023-04-01", "4 growing seasons after repot", false},
		{"built, four seasons ago", slow, StageBuilding, "2022-04-01", "", false},
		{"built, six seasons ago", slow, StageBuilding, "2020-04-01", "", true},
		{"refined, five seasons ago", slow, StageRefining, "2021-04-01", "6 growing seasons after repot", false},
		{"not known, a season ago", nil, StageBuilding, "2025-04-01", "2 growing seasons after repot", false},
		{"not known, two seasons ago", nil, StageBuilding, "2024-04-01", "", false},
	} {
		t.Run(test.name, func(t *testing.T) {
			s := *maple
			s.Repot = test.repot
			p := smallPlannerOf(t, l, "2026-02-01")
			b := p.bench(&Tree{Origin: Nursery, Log: []Entry{
				{On: day(t, "2015-04-01"), Judged: &Judgement{Stage: test.stage, Strength: Strong}}, did(t, test.last, WorkRepot),
			}}, &s)
			w, _ := l.WorkByID(WorkRepot)
			c := b.candidate(&l.Rules[0], w, 2026)
			if c == nil {
				t.Fatal("no window")
			}
			if found := b.against(c); test.blocked == "" && len(found) > 0 || test.blocked != "" && (len(found) != 1 || !strings.Contains(found[0].Reason, test.blocked)) {
				t.Errorf("blocked %+v, want %q", found, test.blocked)
			}
			if got := b.overdue(c); got != test.overdue {
				t.Errorf("overdue %v", got)
			}
			if told := strings.Contains(c.Why, "want this about every"); told != (test.repot != nil) || told && !strings.Contains(c.Why, test.last) {
				t.Errorf("why %q", c.Why)
			}
		})
	}
}

// A genus answers as the most delicate of its species, and what is not known of one is
// not known of it.
func TestAnswersInCommon(t *testing.T) {
	robust := Answers{
		Repot: &RepotEvery{1, 2, 3}, BackBuds: "readily", RootWork: "well", NewGrowth: "hardy", Bleeding: "none",
		Poison: &Poison{}, Pests: []string{"aphids"},
	}
	delicate := Answers{
		Repot: &RepotEvery{2, 2, 4}, BackBuds: "hardly", RootWork: "fairly", NewGrowth: "tender", Bleeding: "some",
		Poison: &Poison{Parts: []string{"seed"}, Caution: "toxic-seed"}, Pests: []string{"scale"},
	}
	got := answersInCommon([]*Species{{Answers: robust}, {Answers: delicate}})
	if *got.Repot != (RepotEvery{2, 2, 4}) || got.BackBuds != "hardly" || got.RootWork != "fairly" || got.NewGrowth != "tender" ||
		got.Bleeding != "some" || got.Poison != delicate.Poison || !slices.Equal(got.Pests, []string{"aphids", "scale"}) {
		t.Errorf("%+v", got)
	}
	got = answersInCommon([]*Species{{Answers: robust}, {}})
	if got.Repot != nil || got.BackBuds != "" || got.RootWork != "" || got.NewGrowth != "" || got.Bleeding != "" || got.Poison != nil {
		t.Errorf("of a species of which nothing is known: %+v", got)
	}
	if !slices.Equal(robust.Pests, []string{"aphids"}) {
		t.Error("the pests of a species were changed")
	}
}

// The plan of a group is for trees in its middle: none of the care that is taken where
// nothing is known.
func TestGroupIsMiddling(t *testing.T) {
	s := &Species{Group: phenology.Deciduous, Answers: middling}
	for _, trait := range Traits() {
		if s.Has(trait) {
			t.Errorf("has %s", trait)
		}
	}
}

// A caution of a trait shows with the classes that it names, one of poison with work
// by hand.
func TestCautionsOfAnswers(t *testing.T) {
	l := &Lore{
		Works: []Work{{ID: "repot", Class: Roots}, {ID: "prune", Class: Branches}, {ID: "feed", Class: Feeding}},
		Cautions: []Caution{
			{ID: string(RootSensitive), Text: "Gently.", Classes: []Class{Roots}},
			{ID: string(HardlyBackBuds), Text: "Leave green.", Classes: []Class{Branches}},
			{ID: PoisonUnknown, Text: "Who knows."},
			{ID: "sap", Text: "Sap."},
			{ID: "law", Text: "Ask.", Works: []string{"prune"}, Region: "the valley"},
		},
	}
	unknown, known := &Species{Name: "A b"}, &Species{Name: "A c", Answers: middling}
	poisonous := &Species{Name: "A d", Answers: middling}
	poisonous.Poison = &Poison{Parts: []string{"all"}, Caution: "sap"}
	for _, test := range []struct {
		work string
		s    *Species
		want string
	}{
		{"repot", unknown, "Gently. Who knows."},
		{"prune", unknown, "Leave green. Who knows. In the valley: Ask."},
		{"feed", unknown, ""},
		{"repot", known, ""},
		{"prune", known, "In the valley: Ask."},
		{"repot", poisonous, "Sap."},
		{"feed", poisonous, ""},
		{"prune", nil, "In the valley: Ask."},
	} {
		if got := strings.Join(l.CautionTexts(&Rule{Work: test.work}, test.s), " "); got != test.want {
			t.Errorf("%s on %v: %q, want %q", test.work, test.s, got, test.want)
		}
	}
}

// Field soil leaves by halves where roots are delicate, or nothing is known of them.
func TestFieldSoilBySteps(t *testing.T) {
	delicate, unknown := *maple, *maple
	delicate.RootWork, unknown.RootWork = "badly", ""
	for _, test := range []struct {
		s    *Species
		want float64
	}{{maple, 0}, {&delicate, 0.5}, {&unknown, 0.5}, {pine, 0.5}} {
		p := smallPlanner(t, temperate, "2026-05-01")
		b := p.bench(&Tree{Origin: Collected, Log: []Entry{did(t, "2020-03-01", "collected"), did(t, "2024-04-01", WorkRepot)}}, test.s)
		if got := b.state.FieldSoil; got != test.want {
			t.Errorf("%s, root work %q: %v of field soil left, want %v", test.s.Name, test.s.RootWork, got, test.want)
		}
	}
}
