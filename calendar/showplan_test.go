package calendar_test

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"budswell/calendar"
	"budswell/calendar/lore"
	"budswell/climate"
)

// TestPlanForShows: trees that are entered get the works, others none; works that
// would spoil the look are blocked with a reason, and showing at large gives way.
func TestPlanForShows(t *testing.T) {
	show := func(on string, look calendar.Look) calendar.Show {
		return calendar.Show{Name: "hall", On: d(t, on), Look: look, Trees: []string{"in"}}
	}
	two := func(species, log string) []calendar.Tree {
		return []calendar.Tree{
			{ID: "in", Name: "in", Species: species, Origin: calendar.Nursery, Log: entries(t, log)},
			{ID: "out", Name: "out", Species: species, Origin: calendar.Nursery, Log: entries(t, log)},
		}
	}
	for _, c := range []struct {
		name, on, species, log string
		show                   calendar.Show
		in, out                []expectation
	}{
		{
			"moss at its time, and not in the season at large", "2026-06-01", "Carpinus betulus", "2024-01-01 judged exhibition strong; 2025-04-01 did pot-change",
			show("2027-02-12", calendar.WinterSilhouette),
			[]expectation{comes("moss", "2027-01-15", "2027-01-15"), never("moss", "2026-01-01", "2027-01-14"), comes("show-after", "2027-02-13", "2027-02-28"), comes("show", "2027-02-12", "2027-02-12")},
			[]expectation{comes("moss", "2026-09-01", "2026-12-31"), absent("show-after"), absent("show-travel"), absent("last-leaves")},
		},
		{
			"no repot just after the show", "2026-06-01", "Carpinus betulus", "2020-01-01 judged exhibition strong; 2021-04-01 did pot-change",
			show("2027-02-12", calendar.WinterSilhouette),
			[]expectation{blocked("repot", "2027-03-01", "2027-05-31", "rests for one growing season after the show \"hall\" on 2027-02-12"), never("repot", "", "9")},
			[]expectation{comes("repot", "2027-03-01", "2027-05-31")},
		},
		{
			"no repot in the season of the show", "2026-01-15", "Carpinus betulus", "2020-01-01 judged exhibition strong; 2021-04-01 did pot-change",
			show("2026-11-20", calendar.WinterSilhouette),
			[]expectation{never("repot", "2026-01-15", "2026-12-31"), blocked("repot", "2026-03-01", "2026-05-31", "would spoil the show \"hall\" on 2026-11-20")},
			[]expectation{comes("repot", "2026-03-01", "2026-05-31")},
		},
		{
			"no heavy pruning and no new wire in the season of the show", "2026-01-15", "Carpinus betulus", "2022-01-01 judged building strong",
			show("2026-11-20", calendar.WinterSilhouette),
			[]expectation{never("heavy-prune", "2026-01-15", "2026-11-20"), never("wire", "2026-01-15", "2026-11-20")},
			[]expectation{comes("wire", "2026-01-15", "2026-12-31")},
		},
		{
			"no defoliation too late", "2026-01-15", "Carpinus betulus", "2022-01-01 judged refining strong; 2024-04-01 did pot-change",
			show("2026-07-20", calendar.InLeaf),
			[]expectation{blocked("defoliate", "2026-05-01", "2026-08-01", "8 weeks behind the tree")},
			[]expectation{comes("defoliate", "2026-05-01", "2026-08-01")},
		},
		{
			"the pot change for a show goes first", "2026-01-15", "Carpinus betulus", "2022-01-01 judged refining strong",
			show("2028-02-12", calendar.WinterSilhouette),
			[]expectation{comes("pot-change", "2026-03-01", "2026-05-31"), hardIn(1, "2026-01-15", "2026-12-31")},
			nil,
		},
	} {
		t.Run(c.name, func(t *testing.T) {
			p := planner(t, "temperate", c.on)
			p.Shows = []calendar.Show{c.show}
			plan, err := p.Plan(two(c.species, c.log))
			if err != nil {
				t.Fatal(err)
			}
			for i, expect := range [][]expectation{c.in, c.out} {
				for _, f := range expect {
					if wrong := f(&plan.Trees[i]); wrong != "" {
						t.Errorf("%s: %s", plan.Trees[i].Tree.ID, wrong)
					}
				}
			}
			keys := map[string]bool{}
			for _, w := range plan.Trees[0].Works {
				if keys[w.Key] {
					t.Errorf("two works have the key %s", w.Key)
				}
				keys[w.Key] = true
			}
			for _, w := range plan.Trees[1].Works {
				if w.Show != nil || w.Rule.ForShow() {
					t.Errorf("%s is for a show that the tree is not entered for", w.Key)
				}
			}
			if len(plan.Shows) != 1 || plan.Shows[0].Tree.ID != "in" {
				t.Errorf("%d ways to shows", len(plan.Shows))
			}
		})
	}
}

// TestTwoShows: each show has its own works, whose keys differ.
func TestTwoShows(t *testing.T) {
	p := planner(t, "temperate", "2026-06-01")
	p.Shows = []calendar.Show{
		{Name: "second", On: d(t, "2027-11-06"), Look: calendar.Evergreen, Trees: []string{"t"}},
		{Name: "first", On: d(t, "2026-10-03"), Look: calendar.Evergreen, Trees: []string{"t"}},
	}
	plan, err := p.Plan([]calendar.Tree{{ID: "t", Name: "t", Species: "Pinus sylvestris", Origin: calendar.Nursery, Log: entries(t, "2024-01-01 judged exhibition strong")}})
	if err != nil {
		t.Fatal(err)
	}
	if len(plan.Shows) != 2 || plan.Shows[0].Show.Name != "first" {
		t.Fatalf("ways to shows: %+v", plan.Shows)
	}
	moss := map[string]string{}
	for _, w := range plan.Trees[0].Works {
		if w.Work.ID == "moss" {
			moss[w.Show.Name] = w.Key
		}
	}
	if len(moss) != 2 || moss["first"] == moss["second"] {
		t.Errorf("moss: %v", moss)
	}
}

func TestShowPlanErrors(t *testing.T) {
	p := planner(t, "temperate", "2026-03-01")
	tree := calendar.Tree{ID: "t", Name: "t", Species: "Acer campestre", Origin: calendar.Nursery}
	for _, c := range []struct {
		show calendar.Show
		tree calendar.Tree
		want string
	}{
		{calendar.Show{Name: "x", On: d(t, "2026-02-28"), Look: calendar.InLeaf}, tree, "lies before today, 2026-03-01"},
		{calendar.Show{Name: "x", On: d(t, "2041-03-02"), Look: calendar.InLeaf}, tree, "more than 15 years ahead"},
		{calendar.Show{Name: "x", On: climate.NoDate, Look: calendar.InLeaf}, tree, "want the day"},
		{calendar.Show{Name: "x", On: d(t, "2027-02-28"), Look: calendar.Evergreen}, tree, "Acer campestre is never shown \"evergreen\""},
		{calendar.Show{Name: "", On: d(t, "2027-02-28"), Look: calendar.InLeaf}, tree, "want a name"},
		{calendar.Show{Name: "x", On: d(t, "2027-02-28"), Look: calendar.InLeaf}, calendar.Tree{ID: "t", Name: "t", Species: "Acer nullum", Origin: calendar.Nursery}, "Acer nullum"},
	} {
		_, err := p.ShowPlan(c.show, c.tree)
		if err == nil || !errors.Is(err, calendar.ErrInvalid) || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%+v: %v, want %q", c.show, err, c.want)
		}
	}
	if p.Shows != nil {
		t.Error("a show that was only tried is kept")
	}
	// The last day that may be.
	if _, err := p.ShowPlan(calendar.Show{Name: "x", On: d(t, "2041-03-01"), Look: calendar.InLeaf}, tree); err != nil {
		t.Error(err)
	}
}

// TestShowPlansHoldTogether checks what holds of every way to a show.
func TestShowPlansHoldTogether(t *testing.T) {
	l, err := lore.Load()
	if err != nil {
		t.Fatal(err)
	}
	planners := map[string]*calendar.Planner{}
	var kinds []string
	for name := range places {
		kinds = append(kinds, name)
		planners[name] = planner(t, name, "2026-04-15")
	}
	slices.Sort(kinds)
	logs := []string{"", refined, "2024-03-20 did repot", "2020-03-01 judged exhibition strong; 2025-04-01 did pot-change; 2026-02-01 did wire", "2026-01-01 judged building weak"}
	rapid.Check(t, func(rt *rapid.T) {
		sp := &l.Species[rapid.IntRange(0, len(l.Species)-1).Draw(rt, "species")]
		show := calendar.Show{
			Name: "a show", Look: rapid.SampledFrom(sp.Looks()).Draw(rt, "look"),
			On: d(t, "2026-04-15") + climate.Date(rapid.IntRange(0, 15*365).Draw(rt, "days ahead")),
		}
		tree := calendar.Tree{ID: "t", Name: "t", Species: sp.Name, Origin: calendar.Nursery, Log: entries(t, rapid.SampledFrom(logs).Draw(rt, "log"))}
		p := planners[rapid.SampledFrom(kinds).Draw(rt, "place")]
		plan, err := p.ShowPlan(show, tree)
		if err != nil {
			rt.Fatal(err)
		}
		if bad := oddWay(plan); bad != "" {
			rt.Error(bad)
		}
	})
}

// oddWay says what cannot be about the way to a show, empty where all can.
func oddWay(p *calendar.ShowPlan) string {
	seen := map[string]bool{}
	for i, s := range p.Steps {
		switch {
		case i > 0 && s.Window.Opens.P50 < p.Steps[i-1].Window.Opens.P50:
			return s.Key + " stands after a later one"
		case seen[s.Rule.ID]:
			return s.Rule.ID + " stands twice"
		case s.After != (s.Work.ID == "show-after"):
			return fmt.Sprintf("%s comes after the show: %v", s.Work.ID, s.After)
		case !s.After && s.Latest > p.Show.On:
			return fmt.Sprintf("%s may be done on %v, after the show on %v", s.Key, s.Latest, p.Show.On)
		case s.TooLate == "" || len(s.Cautions) == 0 || s.Why == "":
			return s.Key + " says too little"
		case s.Status == calendar.StepOver && s.Latest >= d2026:
			return s.Key + " is over before its last day"
		case s.Done.Valid() != (s.Status == calendar.StepDone):
			return s.Key + " is done and not"
		case (s.Spared != "") != (s.Status == calendar.StepSpared):
			return s.Key + " is spared and not"
		case s.LastChance != nil && s.LastChance.Opens.P50 <= s.Window.Opens.P50:
			return s.Key + " has a last chance that is not later"
		case s.Rule.Within > 0 && s.Window.Opens.P10 < p.Show.On-climate.Date(s.Rule.Within):
			return s.Key + " opens too long before the show"
		}
		seen[s.Rule.ID] = true
	}
	l := p.Look
	switch {
	case !(l.Chance >= 0 && l.Chance <= l.Best && l.Best <= 1):
		return fmt.Sprintf("chance %v, at best %v", l.Chance, l.Best)
	case l.From.Valid() != l.To.Valid() || l.From > l.To:
		return fmt.Sprintf("likeliest from %v to %v", l.From, l.To)
	case l.Says == "":
		return "nothing is said of the look"
	}
	for _, c := range p.Ready {
		if c.Status != calendar.Met && c.By.Valid() && c.Status != calendar.OutOfReach && c.By > p.Show.On || c.Says == "" {
			return fmt.Sprintf("criterion %+v", c)
		}
	}
	return ""
}

const d2026 = climate.Date(20558) // 2026-04-15
