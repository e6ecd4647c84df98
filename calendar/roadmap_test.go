package calendar

import (
	"bytes"
	"encoding/json"
	"errors"
	"math"
	"reflect"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"budswell/climate"
	"budswell/climate/phenology"
)

// wayLore is a lore with all works that carry a tree on, and no more.
func wayLore() *Lore {
	at := func(ph phenology.Phase, days int) Anchor { return Anchor{At: AtPhase, Phase: ph, Days: days} }
	yes, no := true, false
	l := smallLore()
	strong := Need{Strength: Strong}
	l.Rules = []Rule{
		{ID: "collect", Work: WorkCollect, For: Scope{Stages: []Stage{StageCollected}}, Opens: at(phenology.BudSwell, -20), Closes: at(phenology.BudSwell, 3), Once: true, Rest: 1},
		{ID: "repot", Work: WorkRepot, Opens: at(phenology.BudSwell, 0), Closes: at(phenology.LeafOut, -1), Rest: 1, Needs: []Need{strong, {Since: AnyRootWork, Seasons: 2}}},
		{ID: "style", Work: WorkFirstStyle, For: Scope{Stages: []Stage{StageFirstStyling}}, Opens: at(phenology.LeavesHardened, 0), Closes: at(phenology.LeavesHardened, 28), Rest: 1, Once: true, Needs: []Need{strong, {Done: WorkRepot}}},
		{ID: "unwire", Work: WorkUnwire, Opens: at(phenology.LeavesHardened, 0), Closes: at(phenology.LeafFall, 0), Needs: []Need{{Wired: &yes}, {Since: WorkWire, Weeks: 6}}},
		{ID: "detail", Work: WorkSecondStyle, For: Scope{Stages: []Stage{StageSecondStyling}}, Opens: at(phenology.BudSwell, -40), Closes: at(phenology.BudSwell, -5), Rest: 1, Once: true, Needs: []Need{strong, {Wired: &no}, {FieldSoil: &no}}},
		{ID: "pot", Work: WorkPotChange, For: Scope{Stages: []Stage{StageRefining}}, Opens: at(phenology.BudSwell, 0), Closes: at(phenology.LeafOut, -1), Rest: 1, Needs: []Need{strong, {FieldSoil: &no}, {Since: AnyRootWork, Seasons: 2}}},
	}
	l.Setbacks = []Setback{
		{ID: "sulks", Kind: SetbackNotStrong, After: AnyRootWork, Chance: 0.1, Low: 0.5, Usual: 1, High: 2},
		{ID: "missed", Kind: SetbackMissed, Chance: 0.1},
		{ID: "weak", Kind: SetbackWeak, Chance: 1, Low: 1, Usual: 2, High: 3},
		{ID: "recovering", Kind: SetbackRecovering, Chance: 1, Low: 0.5, Usual: 1, High: 2},
	}
	return l
}

func wayPlanner(t testing.TB, p place, on string) *Planner {
	o := p.outlook(t, on)
	return newPlanner(wayLore(), o, draws, fixed(o.Site, draws, usualDays))
}

func roadmapOf(t testing.TB, p *Planner, tree Tree, o RoadmapOptions) Roadmap {
	t.Helper()
	if tree.ID == "" {
		tree.ID, tree.Name = "t", "the tree"
	}
	if tree.Species == "" {
		tree.Species = maple.Name
	}
	maps, err := p.Roadmaps([]Tree{tree}, o)
	if err != nil {
		t.Fatal(err)
	}
	return maps[0]
}

// bench returns when the tree comes to the bench.
func (r *Roadmap) bench() Ahead {
	if len(r.Stages) == 0 {
		return Ahead{Reached: 1}
	}
	return r.Stages[len(r.Stages)-1].Ahead
}

func TestRoadmapTellsAllStagesInOrder(t *testing.T) {
	r := roadmapOf(t, wayPlanner(t, temperate, "2026-03-20"), Tree{Origin: Collected, Log: []Entry{did(t, "2026-03-20", "collected")}}, RoadmapOptions{Years: 15})
	if len(r.Stages) != 7 || r.Stage != StageCollected {
		t.Fatalf("at %s, %d stages to come, want 7 after collected", r.Stage, len(r.Stages))
	}
	for i, s := range r.Stages {
		if s.Stage != stages[i+1] || s.Reached < 0.9 || s.P10 == nil || s.P50 == nil {
			t.Errorf("%d: %+v", i, s)
			continue
		}
		if s.P10.Day > s.P50.Day || i > 0 && s.P50.Day < r.Stages[i-1].P50.Day {
			t.Errorf("%s comes out of order: %+v", s.Stage, s.Ahead)
		}
	}
	for _, part := range r.Course {
		sum := 0.0
		for _, share := range part.Shares {
			sum += share
		}
		if math.Abs(sum-1) > 1e-9 {
			t.Errorf("%v: shares sum to %v", part.Day, sum)
		}
	}
	if first, last := r.Course[0], r.Course[len(r.Course)-1]; first.Shares[0] != 1 || last.Shares[7] < 0.9 || last.Day > r.Until {
		t.Errorf("the course begins %v and ends %v", first, last)
	}
}

func TestRoadmapOptionsAndDaysAreChecked(t *testing.T) {
	p := wayPlanner(t, temperate, "2026-03-20")
	tree := Tree{ID: "t", Name: "old maple", Species: maple.Name, Origin: Nursery}
	show := func(on string) map[string][]ReadyBy { return map[string][]ReadyBy{"t": {{On: day(t, on)}}} }
	for _, test := range []struct {
		o    RoadmapOptions
		want string // empty: no error
	}{
		{RoadmapOptions{}, ""},
		{RoadmapOptions{Years: 16}, "16 years: want 1 to 15"},
		{RoadmapOptions{Years: -1}, "-1 years: want 1 to 15"},
		{RoadmapOptions{Draws: 3}, "3 draws: want 20 to 2000"},
		{RoadmapOptions{ReadyBy: show("2026-03-19")}, `tree "old maple": a show on 2026-03-19 lies before the day of the plan, 2026-03-20`},
		{RoadmapOptions{ReadyBy: show("2026-03-20")}, ""},
		{RoadmapOptions{ReadyBy: show("2041-03-20")}, ""},
		{RoadmapOptions{ReadyBy: show("2041-03-21")}, "too far ahead"},
		{RoadmapOptions{ReadyBy: map[string][]ReadyBy{"t": {{On: climate.NoDate}}}}, "a show without a day"},
		{RoadmapOptions{ReadyBy: map[string][]ReadyBy{"x": {{On: day(t, "2027-03-20")}}}}, `no tree of that id`},
	} {
		maps, err := p.Roadmaps([]Tree{tree}, test.o)
		if test.want == "" {
			if err != nil || len(maps) != 1 {
				t.Errorf("%+v: %v", test.o, err)
			}
			continue
		}
		if !errors.Is(err, ErrInvalid) || !strings.Contains(err.Error(), test.want) {
			t.Errorf("%+v: %v, want %q", test.o, err, test.want)
		}
	}
	if _, err := p.Roadmaps([]Tree{{ID: "x", Name: "x", Species: "Acer nullum", Origin: Nursery}}, RoadmapOptions{}); !errors.Is(err, ErrInvalid) {
		t.Errorf("an unknown species: %v", err)
	}
}

// anyTree draws a tree with a log of any works in any order, contradictions and all.
func anyTree(t *rapid.T, issue climate.Date) Tree {
	works := []string{WorkRepot, WorkRootFlare, WorkPotChange, WorkFirstStyle, WorkSecondStyle, WorkWire, WorkUnwire, WorkShow, "heavy-prune"}
	tree := Tree{ID: "t", Name: "t", Species: rapid.SampledFrom([]string{maple.Name, pine.Name}).Draw(t, "species"), Origin: rapid.SampledFrom(Origins()).Draw(t, "origin")}
	if rapid.Bool().Draw(t, "collected") {
		tree.Log = append(tree.Log, Entry{On: issue - 4001, Did: WorkCollect})
	}
	for range rapid.IntRange(0, 8).Draw(t, "entries") {
		e := Entry{On: issue - climate.Date(rapid.IntRange(0, 4000).Draw(t, "ago"))}
		if rapid.IntRange(0, 4).Draw(t, "kind") == 0 {
			e.Judged = &Judgement{Stage: rapid.SampledFrom(append(Stages(), "")).Draw(t, "stage"), Strength: rapid.SampledFrom(Strengths()).Draw(t, "strength")}
		} else {
			e.Did = rapid.SampledFrom(works).Draw(t, "did")
		}
		tree.Log = append(tree.Log, e)
	}
	return tree
}

var anyPlaces = []place{temperate, southern, tropical, icy, boreal, subarctic, polar, coast}

// Whatever the log says and wherever the tree stands, a roadmap comes to an end, says
// the same twice, and is whole.
func TestRoadmapOfAnyTreeAnywhere(t *testing.T) {
	var planners []*Planner
	for _, p := range anyPlaces {
		planners = append(planners, wayPlanner(t, p, "2026-05-10"))
	}
	rapid.Check(t, func(r *rapid.T) {
		p := planners[rapid.IntRange(0, len(planners)-1).Draw(r, "place")]
		tree := anyTree(r, p.outlook.Issue)
		o := RoadmapOptions{Years: rapid.IntRange(1, 15).Draw(r, "years"), Draws: 20}
		o.ReadyBy = map[string][]ReadyBy{"t": {{On: p.outlook.Issue + climate.Date(rapid.IntRange(0, 5000).Draw(r, "show"))}}}
		once, err := p.Roadmaps([]Tree{tree}, o)
		if err != nil {
			r.Fatal(err)
		}
		again, _ := p.Roadmaps([]Tree{tree}, o)
		if a, b := mustJSON(r, once), mustJSON(r, again); !bytes.Equal(a, b) {
			r.Fatalf("the same inputs gave\n%s\nand\n%s", a, b)
		}
		m := once[0]
		last := climate.NoDate
		for _, s := range m.Stages {
			if s.P50 != nil && s.P50.Day < last {
				r.Fatalf("%s comes before the stage before it", s.Stage)
			}
			if s.P50 != nil {
				last = s.P50.Day
			}
			if s.P10 != nil && s.P10.Day < m.On || s.Reached < 0 || s.Reached > 1 {
				r.Fatalf("%+v", s)
			}
		}
	})
}

func mustJSON(t interface{ Fatal(...any) }, v any) []byte {
	b, err := json.Marshal(v)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// More years only add to what fewer tell.
func TestMoreYearsNeverLowerTheChance(t *testing.T) {
	p := wayPlanner(t, temperate, "2026-05-10")
	rapid.Check(t, func(r *rapid.T) {
		tree := anyTree(r, p.outlook.Issue)
		few := rapid.IntRange(1, 14).Draw(r, "years")
		a := roadmapOf(t, p, tree, RoadmapOptions{Years: few, Draws: 40})
		b := roadmapOf(t, p, tree, RoadmapOptions{Years: rapid.IntRange(few+1, 15).Draw(r, "more"), Draws: 40})
		for i := range a.Stages {
			x, y := a.Stages[i], b.Stages[i]
			if y.Reached < x.Reached {
				r.Fatalf("%s: %v within fewer years and %v within more", x.Stage, x.Reached, y.Reached)
			}
			if x.P10 != nil && !reflect.DeepEqual(x.P10, y.P10) || x.P50 != nil && !reflect.DeepEqual(x.P50, y.P50) {
				r.Fatalf("%s: %+v within fewer years and %+v within more", x.Stage, x, y)
			}
		}
	})
}

// A tree that is further on never comes to the bench later, but for the noise of the
// draws.
func TestFurtherOnIsNeverLater(t *testing.T) {
	p := wayPlanner(t, temperate, "2026-05-10")
	for _, species := range []string{maple.Name, pine.Name} {
		for _, strength := range Strengths() {
			var before Roadmap
			for i, stage := range Stages() {
				left := []float64{1, 1, 1, 0.5, 0.5, 0, 0, 0}[i]
				tree := Tree{Origin: Collected, Species: species, Log: []Entry{did(t, "2016-03-20", "collected"), judged(t, "2026-05-01", stage, strength)}, FieldSoil: &left}
				r := roadmapOf(t, p, tree, RoadmapOptions{Years: 15, Draws: 400})
				if i > 0 {
					const noise = 0.05
					for k := range before.Course {
						was, is := before.Course[k].Shares[7], r.Course[k].Shares[7]
						if is < was-noise {
							t.Errorf("%s, %s: judged to be at %s, by %v on the bench in %.2f, a stage before in %.2f", species, strength, stage, r.Course[k].Day, is, was)
							break
						}
					}
				}
				before = r
			}
		}
	}
	weak := roadmapOf(t, p, Tree{Origin: Nursery, Log: []Entry{judged(t, "2026-05-01", StageBaseWork, Weak)}}, RoadmapOptions{Years: 15})
	strong := roadmapOf(t, p, Tree{Origin: Nursery, Log: []Entry{judged(t, "2026-05-01", StageBaseWork, Strong)}}, RoadmapOptions{Years: 15})
	if w, s := weak.bench(), strong.bench(); w.P50.Day <= s.P50.Day {
		t.Errorf("a weak tree comes to the bench %v, a strong one %v", w.P50.Day, s.P50.Day)
	}
}

// The south has the north's years half a year later, in seasons of the same names.
func TestSouthMirrorsNorth(t *testing.T) {
	north := wayPlanner(t, place{lat: 45, mean: 10, half: 9, members: 10, step: 0.1}, "2026-03-20")
	south := wayPlanner(t, place{lat: -45, mean: 10, half: 9, members: 10, step: 0.1}, "2026-09-18")
	o := RoadmapOptions{Years: 12, Draws: 400}
	a := roadmapOf(t, north, Tree{Origin: Collected, Log: []Entry{did(t, "2026-03-20", "collected")}}, o)
	b := roadmapOf(t, south, Tree{Origin: Collected, Log: []Entry{did(t, "2026-09-18", "collected")}}, o)
	for i := range a.Stages {
		x, y := a.Stages[i], b.Stages[i]
		if x.P50 == nil || y.P50 == nil {
			t.Errorf("%s: %+v and %+v", x.Stage, x, y)
			continue
		}
		if off := float64(y.P50.Day-x.P50.Day) - 182; math.Abs(off) > 60 {
			t.Errorf("%s: north %v, south %v: %.0f days off half a year", x.Stage, x.P50, y.P50, off)
		}
		if math.Abs(x.Reached-y.Reached) > 0.07 {
			t.Errorf("%s: reached in %.2f in the north and %.2f in the south", x.Stage, x.Reached, y.Reached)
		}
	}
	for i := range a.Steps {
		name := func(s *SeasonDay) string { f, _, _ := strings.Cut(s.Season, " "); return f }
		if x, y := a.Steps[i], b.Steps[i]; x.Step != y.Step || name(x.P50) != name(y.P50) {
			t.Errorf("north: %s in %s, south: %s in %s", x.Step, x.P50.Season, y.Step, y.P50.Season)
		}
	}
}

// Where no summer is, nothing grows and nothing is reached.
func TestNoWayWithoutWarmth(t *testing.T) {
	r := roadmapOf(t, wayPlanner(t, icy, "2026-05-10"), Tree{Origin: Collected, Log: []Entry{did(t, "2026-05-01", "collected")}}, RoadmapOptions{Years: 15})
	if a := r.bench(); a.Reached != 0 || a.P10 != nil {
		t.Errorf("reached %+v", a)
	}
	if said := r.Said(); !strings.Contains(said, "all but impossible") {
		t.Error(said)
	}
}

// Short summers earn less: the same tree takes longer where they are.
func TestShortSummersTakeLonger(t *testing.T) {
	tree := Tree{Origin: Collected, Log: []Entry{did(t, "2026-05-01", "collected")}}
	o := RoadmapOptions{Years: 15}
	warm := roadmapOf(t, wayPlanner(t, temperate, "2026-05-10"), tree, o)
	short := roadmapOf(t, wayPlanner(t, subarctic, "2026-05-10"), tree, o)
	if w, s := warm.Stages[2].P50, short.Stages[2].P50; s != nil && s.Day < w.Day+300 {
		t.Errorf("first styling %v where summers are short, %v where they are not", s, w)
	}
}

func TestDugTreeWithAnEmptyLog(t *testing.T) {
	p := wayPlanner(t, temperate, "2026-01-10")
	r := roadmapOf(t, p, Tree{Origin: Collected}, RoadmapOptions{Years: 15})
	if r.Steps[0].Step != WorkCollect || r.Steps[0].P50.Season != "spring 2026" || r.Note == "" || r.bench().Reached < 0.9 {
		t.Errorf("%q, %+v", r.Note, r.Steps)
	}
	r = roadmapOf(t, p, Tree{Origin: Nursery}, RoadmapOptions{Years: 15})
	if r.Steps[0].Step != WorkRepot || r.Note != "" || r.bench().Reached < 0.9 {
		t.Errorf("%q, %+v", r.Note, r.Steps)
	}
}

func TestRoadmapOfATreeOnTheBench(t *testing.T) {
	p := wayPlanner(t, temperate, "2026-01-10")
	r := roadmapOf(t, p, Tree{Origin: Nursery, Log: []Entry{judged(t, "2026-01-01", StageExhibition, Strong)}}, RoadmapOptions{ReadyBy: map[string][]ReadyBy{"t": {{On: day(t, "2026-02-01")}}}})
	if len(r.Stages) != 0 || r.Shows[0].Chance != 1 || r.Said() != "It has come to the bench." {
		t.Errorf("%+v", r)
	}
}
