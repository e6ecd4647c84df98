package calendar_test

import (
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"budswell/calendar"
	"budswell/climate"
	"budswell/climate/phenology"
)

// manyTrees makes trees of all species in the lore, with logs as growers have
// them: some empty, some long, seen or not, judged or not.
func manyTrees(t testing.TB, n int, on string) []calendar.Tree {
	l, err := loadLore()
	if err != nil {
		t.Fatal(err)
	}
	rng := rand.New(rand.NewPCG(3, 4))
	day := d(t, on)
	did := []string{"repot", "root-flare", "first-style", "wire", "unwire", "feed", "heavy-prune", "wire-check", "second-style", "pot-change", "prune"}
	out := make([]calendar.Tree, n)
	for i := range out {
		s := &l.Species[i%len(l.Species)]
		tree := calendar.Tree{
			ID: fmt.Sprintf("tree-%d", i), Name: fmt.Sprintf("tree %d", i), Species: s.Name,
			Origin: calendar.Origins()[rng.IntN(len(calendar.Origins()))],
		}
		had := day
		if rng.IntN(8) > 0 {
			had -= 1 + climate.Date(rng.IntN(int(day-d(t, "2016-01-01"))))
			tree.Log = append(tree.Log, calendar.Entry{On: had, Did: "collect"})
			for range rng.IntN(40) {
				if had < day {
					tree.Log = append(tree.Log, calendar.Entry{On: had + climate.Date(rng.IntN(int(day-had))), Did: did[rng.IntN(len(did))]})
				}
			}
		}
		if rng.IntN(4) == 0 {
			tree.Log = append(tree.Log, calendar.Entry{On: had, Judged: &calendar.Judgement{
				Stage: calendar.Stages()[rng.IntN(8)], Strength: calendar.Strengths()[rng.IntN(3)],
			}})
		}
		if rng.IntN(4) == 0 {
			tree.Log = append(tree.Log, calendar.Entry{On: day - climate.Date(rng.IntN(int(day-had)+1)), NotYet: s.Group.Phases()[0]})
		}
		out[i] = tree
	}
	return out
}

// What every plan must hold, of whatever trees, at every kind of place.
func TestEveryPlanHoldsTogether(t *testing.T) {
	for name := range places {
		t.Run(name, func(t *testing.T) {
			const on = "2026-05-10"
			trees := manyTrees(t, 140, on)
			plan, err := planner(t, name, on).Plan(trees)
			if err != nil {
				t.Fatal(err)
			}
			if len(plan.Trees) != len(trees) {
				t.Fatalf("%d trees of %d", len(plan.Trees), len(trees))
			}
			for i := range plan.Trees {
				p := &plan.Trees[i]
				if p.Tree != &trees[i] {
					t.Fatal("trees out of order")
				}
				for _, wrong := range incoherent(plan, p) {
					t.Errorf("%s (%s, %s): %s", p.Tree.ID, p.Species.Name, p.State.Stage, wrong)
				}
			}
		})
	}
}

func incoherent(plan *calendar.Plan, p *calendar.TreePlan) (wrong []string) {
	no := func(format string, args ...any) { wrong = append(wrong, fmt.Sprintf(format, args...)) }
	if !strings.HasSuffix(p.Next, ".") || len(p.Next) < 20 {
		no("next %q", p.Next)
	}
	keys := map[string]bool{}
	hard := map[int]string{}
	for i, w := range p.Works {
		win := &w.Window
		if keys[w.Key] {
			no("key %s twice", w.Key)
		}
		keys[w.Key] = true
		if i > 0 && win.Likely < p.Works[i-1].Window.Likely {
			no("%s is out of order", w.Key)
		}
		if win.Opens.P10 > win.Opens.P50 || win.Opens.P50 > win.Opens.P90 || win.Closes.P10 > win.Closes.P50 || win.Closes.P50 > win.Closes.P90 ||
			win.Opens.P10 > win.Closes.P10 || win.Likely < win.Opens.P10 || win.Likely > win.Closes.P90 {
			no("%s: window %+v", w.Key, win)
		}
		if win.Chance <= 0 || win.Chance > 1 || win.Certainty <= 0 || win.Certainty > win.Chance {
			no("%s: chance %v, certainty %v", w.Key, win.Chance, win.Certainty)
		}
		if win.Closes.P90 < plan.On-7 || win.Opens.P50 > plan.On+548 {
			no("%s: window %+v is not of these eighteen months", w.Key, win)
		}
		if w.Due.Valid() != (w.Rule.Every > 0 && !w.Done.Valid()) && w.Rule.Every > 0 && win.Closes.P50 >= plan.On {
			no("%s: due %v, done %v", w.Key, w.Due, w.Done)
		}
		if w.Due.Valid() && (w.Due > win.Closes.P50 || w.Due < win.Opens.P50 || w.Due <= plan.On-2*120) {
			no("%s: due %v outside %+v", w.Key, w.Due, win)
		}
		if logged := slices.ContainsFunc(p.Tree.Log, func(e calendar.Entry) bool {
			return e.Did == w.Work.ID && e.On <= plan.On && e.On >= win.Opens.P10-21 && e.On <= win.Closes.P90+21
		}); w.Due.Valid() && logged == w.Unlogged {
			no("%s: due %v, logged %t, unlogged %t", w.Key, w.Due, logged, w.Unlogged)
		}
		if w.Done.Valid() && (len(w.Blocked) > 0 || w.Done > plan.On) {
			no("%s: done %v and blocked %v", w.Key, w.Done, w.Blocked)
		}
		for _, b := range w.Blocked {
			if b.Reason == "" {
				no("%s: blocked without a reason", w.Key)
			}
		}
		if w.Title == "" || w.Why == "" || len(w.Cautions) == 0 {
			no("%s: title %q, why %q, cautions %v", w.Key, w.Title, w.Why, w.Cautions)
		}
		if w.Work.Hard != "" && (w.Done.Valid() || len(w.Blocked) == 0) && win.Closes.P50 >= plan.On {
			s := plan.Site.Season(max(win.Likely, plan.On))
			if w.Done.Valid() {
				s = plan.Site.Season(w.Done)
			}
			if other, ok := hard[s]; ok && !w.Done.Valid() {
				no("%s and %s are both hard, in season %d", w.Key, other, s)
			}
			hard[s] = w.Key
			if p.State.Strength == calendar.Weak && !w.Done.Valid() {
				no("%s on a weak tree", w.Key)
			}
		}
	}
	return wrong
}

// The same inputs give the same plan; trees do not influence one another.
func TestPlansAreTheSame(t *testing.T) {
	const on = "2026-05-10"
	trees := manyTrees(t, 90, on)
	write := func(p *calendar.Planner, trees []calendar.Tree) []string {
		plan, err := p.Plan(trees)
		if err != nil {
			t.Fatal(err)
		}
		out := make([]string, len(plan.Trees))
		for i := range plan.Trees {
			one := *plan
			one.Trees = plan.Trees[i : i+1]
			b, err := json.Marshal(&one)
			if err != nil {
				t.Fatal(err)
			}
			out[i] = string(b)
		}
		return out
	}
	p := planner(t, "temperate", on)
	first, again := write(p, trees), write(p, trees)
	other := planner(t, "temperate", on)
	for i := range trees {
		if first[i] != again[i] {
			t.Fatalf("%s: planned twice, differs", trees[i].ID)
		}
	}
	for i := len(trees) - 1; i >= 0; i -= 7 {
		if alone := write(other, trees[i:i+1]); alone[0] != first[i] {
			t.Fatalf("%s: planned alone, differs:\n%s\n%s", trees[i].ID, alone[0], first[i])
		}
	}
}

// A sighting on a tree moves its own windows and no other tree's key.
func TestASightingMovesTheWindow(t *testing.T) {
	const on = "2026-04-05"
	log := "2024-03-20 did collected; 2026-04-03 saw bud-swell"
	tree := calendar.Tree{ID: "seen", Name: "seen", Species: "Acer campestre", Origin: calendar.Collected, Log: entries(t, log)}
	plan, err := planner(t, "temperate", on, tree.Sightings("Acer campestre")...).Plan([]calendar.Tree{tree})
	if err != nil {
		t.Fatal(err)
	}
	for _, w := range plan.Trees[0].Works {
		if w.Work.ID == "repot" && w.Season == 2026 {
			if w.Window.Opens.P10 != d(t, "2026-04-03") || w.Window.Opens.P90 != d(t, "2026-04-03") {
				t.Errorf("buds were seen to swell on 3 April, the window opens %+v", w.Window.Opens)
			}
			if !strings.HasPrefix(plan.Trees[0].Next, "Now: ") {
				t.Errorf("next: %s", plan.Trees[0].Next)
			}
			return
		}
	}
	t.Error("no repot")
}

func TestGroupPlan(t *testing.T) {
	for name := range places {
		plan, err := planner(t, name, "2026-02-10").GroupPlan(nil, nil)
		if err != nil {
			t.Fatal(err)
		}
		if len(plan.Trees) != len(phenology.Groups()) {
			t.Fatalf("%d groups", len(plan.Trees))
		}
		for i := range plan.Trees {
			p := &plan.Trees[i]
			if p.Tree.ID != string(phenology.Groups()[i]) || len(p.Tree.Log) > 0 || p.Next == "" {
				t.Errorf("%s: group %+v, next %q", name, p.Tree, p.Next)
			}
			kinds := map[string]bool{}
			for _, w := range p.Works {
				kinds[w.Work.ID] = true
				if len(w.Rule.For.Species) > 0 || len(w.Rule.For.Traits) > 0 {
					t.Errorf("%s: %s is for some species only", name, w.Key)
				}
			}
			if warm := p.Tree.ID == string(phenology.FrostTender); name == "temperate" && !kinds["repot"] || (warm || name != "tropical") && !kinds["feed"] {
				t.Errorf("%s, %s: works %v", name, p.Tree.ID, kinds)
			}
		}
	}
	plan, err := planner(t, "temperate", "2026-02-10").GroupPlan([]phenology.Group{phenology.SpruceFir}, nil)
	if err != nil || len(plan.Trees) != 1 || plan.Trees[0].Species.Group != phenology.SpruceFir {
		t.Errorf("one group: %+v, %v", plan, err)
	}
}

func BenchmarkPlan300Trees(b *testing.B) {
	const on = "2026-05-10"
	trees := manyTrees(b, 300, on)
	b.ReportAllocs()
	for b.Loop() {
		b.StopTimer()
		p := planner(b, "temperate", on)
		if _, err := p.Plan(trees); err != nil { // the forecaster's sums and the species' windows
			b.Fatal(err)
		}
		b.StartTimer()
		if _, err := p.Plan(trees); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkPlan300TreesCold(b *testing.B) {
	const on = "2026-05-10"
	trees := manyTrees(b, 300, on)
	b.ReportAllocs()
	for b.Loop() {
		b.StopTimer()
		p := planner(b, "temperate", on)
		b.StartTimer()
		if _, err := p.Plan(trees); err != nil {
			b.Fatal(err)
		}
	}
}
