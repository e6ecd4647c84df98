package calendar

import (
	"errors"
	"slices"
	"strings"
	"testing"

	"budswell/climate"
)

func planOne(t testing.TB, p *Planner, tree Tree) TreePlan {
	t.Helper()
	if tree.ID == "" {
		tree.ID, tree.Name = "t", "the tree"
	}
	if tree.Species == "" {
		tree.Species = maple.Name
	}
	plan, err := p.Plan([]Tree{tree})
	if err != nil {
		t.Fatal(err)
	}
	return plan.Trees[0]
}

func workOf(t testing.TB, p TreePlan, rule string, season int) *Planned {
	t.Helper()
	for i := range p.Works {
		if w := &p.Works[i]; w.Rule.ID == rule && w.Season == season {
			return w
		}
	}
	t.Fatalf("no %s in %d", rule, season)
	return nil
}

// TestBlocks checks what stands against works, and until when.
func TestBlocks(t *testing.T) {
	for _, test := range []struct {
		name   string
		tree   Tree
		rule   string
		season int
		reason string // part of the only reason; empty: nothing stands against it
		until  string // its end, "none", or empty where it is not asked
	}{
		{"free", Tree{Origin: Nursery}, "repot", 2026, "", ""},
		{"recovers", Tree{Origin: Collected, Log: []Entry{did(t, "2025-11-20", "collected")}}, "repot", 2026, "rests until about 2027-09: 2 growing seasons after collect (done on 2025-11-20)", ""},
		{"weak", Tree{Origin: Nursery, Log: []Entry{judged(t, "2026-01-10", "", Weak)}}, "repot", 2026, "judged weak and this wants a strong one", "none"},
		{"recovering is not strong", Tree{Origin: Nursery, Log: []Entry{judged(t, "2026-01-10", "", Recovering)}}, "repot", 2026, "judged recovering", "none"},
		{"rests", Tree{Origin: Nursery, Log: []Entry{did(t, "2025-04-01", WorkRepot)}}, "repot", 2026, "2 growing seasons after repot (done on 2025-04-01)", ""},
		{"rested", Tree{Origin: Nursery, Log: []Entry{judged(t, "2025-06-01", StageBuilding, ""), did(t, "2024-07-01", "heavy-prune"), did(t, "2024-04-01", WorkRepot)}}, "repot", 2026, "", ""},
		{"done before", Tree{Origin: Nursery, Log: []Entry{judged(t, "2026-01-01", StageBuilding, ""), did(t, "2025-08-10", "heavy-prune")}}, "repot", 2026, "rests until about 2026-0", ""},
		{"judged to be past its first repot", Tree{Origin: Collected, FieldSoil: new(float64), Log: []Entry{did(t, "2022-03-20", "collected"), judged(t, "2025-06-01", StageBuilding, ""), did(t, "2025-06-02", WorkPotChange)}}, "prune", 2026, "", ""},
	} {
		t.Run(test.name, func(t *testing.T) {
			w := workOf(t, planOne(t, smallPlanner(t, temperate, "2026-02-10"), test.tree), test.rule, test.season)
			switch {
			case test.reason == "" && len(w.Blocked) > 0:
				t.Errorf("blocked: %v", w.Blocked)
			case test.reason != "" && (len(w.Blocked) == 0 || !strings.Contains(w.Blocked[0].Reason, test.reason)):
				t.Errorf("blocked by %v, want %q", w.Blocked, test.reason)
			case test.until != "" && w.Blocked[0].Until.String() != test.until:
				t.Errorf("until %v, want %s", w.Blocked[0].Until, test.until)
			}
		})
	}
}

// A tree that is to be styled after a repot is told so, with the day of it.
func TestStylingWaitsForTheRepot(t *testing.T) {
	p := planOne(t, smallPlanner(t, temperate, "2026-02-10"), Tree{Origin: Collected, Log: []Entry{did(t, "2023-03-20", "collected")}})
	repot, style := workOf(t, p, "repot", 2026), workOf(t, p, "style", 2026)
	if len(repot.Blocked) > 0 {
		t.Fatalf("repot: %v", repot.Blocked)
	}
	all := ""
	for _, b := range style.Blocked {
		all += b.Reason + "\n"
	}
	for _, want := range []string{
		`comes at the stage "first-styling" or later; the tree is at "base-work"`,
		"Repot comes first (planned about " + repot.Window.Likely.String() + ")",
		"no styling before the first repot since it was dug (planned about",
		"(planned about " + repot.Window.Likely.String() + ")",
	} {
		if !strings.Contains(all, want) {
			t.Errorf("blocks do not say %q:\n%s", want, all)
		}
	}
}

// Of two hard works of a season the one gets it that is further on the way to the
// bench, or else the one on the part that has rested longer.
func TestOneHardWorkASeason(t *testing.T) {
	for _, test := range []struct {
		name        string
		log         []Entry
		gets, waits string
	}{
		{"the roots have rested longer", []Entry{judged(t, "2025-06-01", StageBuilding, ""), did(t, "2022-04-01", WorkRepot), did(t, "2024-07-01", "heavy-prune")}, "repot", "prune"},
		{"the branches have rested longer", []Entry{judged(t, "2025-06-01", StageBuilding, ""), did(t, "2021-07-01", "heavy-prune"), did(t, "2024-04-01", WorkRepot)}, "prune", "repot"},
		{"neither was done: the earlier", []Entry{judged(t, "2025-06-01", StageBuilding, "")}, "repot", "prune"},
	} {
		t.Run(test.name, func(t *testing.T) {
			pl := smallPlanner(t, temperate, "2026-02-10")
			pl.lore.Rules[2].Rest = 0.5 // over by the spring after, so that it costs the roots one season only
			p := planOne(t, pl, Tree{Origin: Nursery, Log: test.log})
			gets, waits := workOf(t, p, test.gets, 2026), workOf(t, p, test.waits, 2026)
			if len(gets.Blocked) > 0 || len(waits.Blocked) == 0 || !waits.Window.Opens.P50.Valid() {
				t.Errorf("%s: %v\n%s: %v", test.gets, gets.Blocked, test.waits, waits.Blocked)
			}
			if !strings.Contains(waits.Blocked[0].Reason, gets.Title) {
				t.Errorf("%q does not name %s", waits.Blocked[0].Reason, gets.Title)
			}
		})
	}
}

// A repot that the grower puts off comes: other hard work, which is never logged
// and so looks as if its part had rested longest, takes at most one season from it.
func TestTheRepotIsNotStarved(t *testing.T) {
	for _, test := range []struct {
		name, repotted string
		rest           float64 // after the other work
		gets           string  // in 2026
	}{
		{"due: the other work, whose part rested longer, has one season", "2024-04-01", 0.5, "prune"},
		{"due: the other work would cost it two", "2024-04-01", 1, "repot"},
		{"overdue", "2023-04-01", 0.5, "repot"},
		{"long overdue", "2018-03-20", 1, "repot"},
	} {
		t.Run(test.name, func(t *testing.T) {
			log := []Entry{judged(t, "2025-06-01", StageBuilding, ""), did(t, test.repotted, WorkRepot), did(t, "2016-07-01", "heavy-prune")}
			pl := smallPlanner(t, temperate, "2026-02-10")
			pl.lore.Rules[2].Rest = test.rest
			p := planOne(t, pl, Tree{Origin: Nursery, Log: log})
			other := map[string]string{"prune": "repot", "repot": "prune"}
			for season, rule := range map[int]string{2026: test.gets, 2027: other[test.gets]} {
				if w := workOf(t, p, rule, season); len(w.Blocked) > 0 {
					t.Errorf("%s in %d: %v", rule, season, w.Blocked)
				}
				if w := workOf(t, p, other[rule], season); len(w.Blocked) == 0 {
					t.Errorf("%s in %d is free too", w.Rule.ID, season)
				}
			}
		})
	}
}

// As long as there is field soil the repot leads, at every stage before the last.
func TestFieldSoilGoesFirst(t *testing.T) {
	half := 0.5
	for _, s := range []Stage{StageBuilding, StageSecondStyling, StageRefining} {
		p := smallPlanner(t, temperate, "2026-02-10")
		for i := range p.lore.Rules {
			p.lore.Rules[i].For.Stages = nil
		}
		log := []Entry{judged(t, "2025-06-01", s, ""), did(t, "2024-04-01", WorkRepot)}
		log[1].FieldSoilLeft = &half
		plan := planOne(t, p, Tree{Origin: Nursery, Log: log})
		if w := workOf(t, plan, "repot", 2026); len(w.Blocked) > 0 {
			t.Errorf("%s: %v", s, w.Blocked)
		}
	}
}

// One logged work shows once, by the rule that held for the tree on that day.
func TestDoneShowsOnce(t *testing.T) {
	yes, no := true, false
	p := smallPlanner(t, temperate, "2026-04-10")
	rule := p.lore.Rules[0]
	add := func(id string, change func(r *Rule)) {
		r := rule
		r.ID = id
		change(&r)
		p.lore.Rules = append(p.lore.Rules, r)
	}
	p.lore.Rules[0].For.Stages = []Stage{StageRefining}
	add("other-origin", func(r *Rule) { r.For.Origins = []Origin{Nursery} })
	add("clean", func(r *Rule) { r.Needs = []Need{{FieldSoil: &no}} })
	add("field-soil", func(r *Rule) { r.Needs = []Need{{FieldSoil: &yes}}; r.For.Stages = []Stage{StageBaseWork} })
	add("variant", func(r *Rule) { r.Variant, r.Instead = "another way", "field-soil" })
	log := []Entry{did(t, "2023-03-20", "collected"), did(t, "2026-04-02", WorkRepot)}
	plan := planOne(t, p, Tree{Origin: Collected, Log: log})
	var ids []string
	for _, w := range plan.Works {
		if w.Done.Valid() {
			ids = append(ids, w.Rule.ID+" "+w.Done.String())
		}
	}
	if want := []string{"field-soil 2026-04-02"}; !slices.Equal(ids, want) {
		t.Errorf("done %v, want %v", ids, want)
	}
}

// A hard work whose window has just closed does not stand open beside another.
func TestClosedWorkIsNotOpen(t *testing.T) {
	log := []Entry{judged(t, "2025-06-01", StageBuilding, ""), did(t, "2022-04-01", WorkRepot)}
	p := planOne(t, smallPlanner(t, temperate, "2026-04-27"), Tree{Origin: Nursery, Log: log})
	w := workOf(t, p, "repot", 2026)
	if w.Window.Closes.P50 >= day(t, "2026-04-27") {
		t.Fatalf("closes %v: the test wants a window that has closed", w.Window.Closes)
	}
	if len(w.Blocked) == 0 || !strings.Contains(w.Blocked[0].Reason, "its window most likely closed about "+w.Window.Closes.P50.String()) {
		t.Errorf("blocks %v", w.Blocked)
	}
}

// What a tree gets once in its life is planned once.
func TestOnceIsPlannedOnce(t *testing.T) {
	log := []Entry{did(t, "2022-03-20", "collected"), did(t, "2024-04-01", WorkRepot)}
	p := planOne(t, smallPlanner(t, temperate, "2026-02-10"), Tree{Origin: Collected, Log: log})
	if w := workOf(t, p, "style", 2026); len(w.Blocked) > 0 {
		t.Fatalf("styling is blocked: %v", w.Blocked)
	}
	for _, w := range p.Works {
		if w.Rule.ID == "style" && w.Season == 2027 {
			t.Errorf("a second first styling: %v", w.Key)
		}
		for _, b := range w.Blocked {
			if strings.Contains(b.Reason, "First styling, planned about 2027") {
				t.Errorf("%s waits for a second first styling", w.Key)
			}
		}
	}
	p = planOne(t, smallPlanner(t, temperate, "2026-02-10"), Tree{Origin: Collected, Log: log[:1]})
	workOf(t, p, "style", 2026) // blocked in both seasons, both are shown
	workOf(t, p, "style", 2027)
}

// The repot that takes away the field soil is planned for one season: a second
// would find none.
func TestFieldSoilIsTakenOnce(t *testing.T) {
	p := smallPlanner(t, temperate, "2026-02-10")
	yes := true
	p.lore.Rules[0].Needs = []Need{{Strength: Strong}, {FieldSoil: &yes}}
	p.lore.Rules[0].Rest = 0
	plan := planOne(t, p, Tree{Origin: FieldGrown, Log: []Entry{judged(t, "2025-06-01", StageBaseWork, Strong)}})
	if w := workOf(t, plan, "repot", 2026); len(w.Blocked) > 0 {
		t.Fatalf("the first repot is blocked: %v", w.Blocked)
	}
	for _, w := range plan.Works {
		if w.Rule.ID == "repot" && w.Season != 2026 {
			t.Errorf("a second repot out of field soil: %s", w.Key)
		}
	}
}

// Where roots are only known to stand hard frost, shelter waits for more of it.
func TestRootColdByTrait(t *testing.T) {
	hardy, known := *maple, *maple
	hardy.Traits = []Trait{FrostHardyRoots}
	known.Traits, known.RootsKilledBelow = hardy.Traits, temp(-7)
	a := Anchor{At: AtRootCold}
	for _, c := range []struct {
		s    *Species
		want float64
	}{{maple, rootsStand + rootsMargin}, {&hardy, hardyRootsStand + rootsMargin}, {&known, -7 + rootsMargin}} {
		if _, tm := resolver(t, temperate, "2026-02-10", c.s, nil); tm.level(&a) != c.want {
			t.Errorf("%v %v: level %v, want %v", c.s.Traits, c.s.RootsKilledBelow, tm.level(&a), c.want)
		}
	}
}

func TestHardWorkDoneThisSeason(t *testing.T) {
	tree := Tree{Origin: Nursery, Log: []Entry{judged(t, "2025-06-01", StageBuilding, ""), did(t, "2026-03-28", WorkRepot)}}
	p := planOne(t, smallPlanner(t, temperate, "2026-04-10"), tree)
	if w := workOf(t, p, "repot", 2026); w.Done != day(t, "2026-03-28") || len(w.Blocked) > 0 {
		t.Errorf("repot done %v, blocked %v", w.Done, w.Blocked)
	}
	prune := workOf(t, p, "prune", 2026)
	if len(prune.Blocked) != 1 || !strings.Contains(prune.Blocked[0].Reason, "Repot, done on 2026-03-28") {
		t.Errorf("heavy pruning in the season of a repot: %v", prune.Blocked)
	}
	if w := workOf(t, p, "prune", 2027); len(w.Blocked) > 0 {
		t.Errorf("heavy pruning the season after: %v", w.Blocked)
	}
}

// Protection that hardly any year calls for is not shown at all.
func TestSeldomProtectionIsNotShown(t *testing.T) {
	mild := place{lat: 40, mean: 12.5, half: 8, members: 10, step: 0.1}
	shown := map[bool]int{}
	for c := -0.05; c > -1.5; c -= 0.1 {
		p := smallPlanner(t, mild, "2026-02-10")
		r := &Rule{ID: "protect", Work: "shelter", Opens: Anchor{At: AtFirstFrost, C: temp(c)}, Closes: Anchor{At: AtMidwinter}}
		w, _ := p.window(r, &p.bench(&Tree{Origin: Nursery}, maple).timing, 2026)
		p.lore.Rules = append(p.lore.Rules, *r)
		plan := planOne(t, p, Tree{Origin: Nursery})
		is := slices.ContainsFunc(plan.Works, func(w Planned) bool { return w.Rule.ID == "protect" && w.Season == 2026 })
		if want := w.Chance >= 0.2; is != want {
			t.Errorf("at a chance of %v shown: %v", w.Chance, is)
		}
		if w.Chance > 0 {
			shown[is]++
		}
	}
	if shown[true] == 0 || shown[false] == 0 {
		t.Errorf("cases shown and not: %v; want both", shown)
	}
}

// TestRareWindows: a window that seldom comes is blocked, unless it protects.
func TestRareWindows(t *testing.T) {
	mild := place{lat: 40, mean: 12.5, half: 8, members: 10, step: 0.1} // frost in some members only
	p := smallPlanner(t, mild, "2026-02-10")
	cold := Anchor{At: AtFirstFrost, C: temp(-0.05)}
	p.lore.Rules = append(p.lore.Rules,
		Rule{ID: "rare", Work: WorkWire, Opens: cold, Closes: Anchor{At: AtMidwinter}},
		Rule{ID: "protect", Work: "shelter", Opens: cold, Closes: Anchor{At: AtMidwinter}})
	plan := planOne(t, p, Tree{Origin: Nursery})
	rare, protect := workOf(t, plan, "rare", 2026), workOf(t, plan, "protect", 2026)
	if rare.Window.Chance <= 0 || rare.Window.Chance >= 0.5 {
		t.Fatalf("chance %v: the test wants a rare window", rare.Window.Chance)
	}
	if len(rare.Blocked) != 1 || !strings.Contains(rare.Blocked[0].Reason, "rarely") || len(protect.Blocked) != 0 {
		t.Errorf("rare: %v, protection: %v", rare.Blocked, protect.Blocked)
	}
}

// TestRepeatedWork follows the day on which a repeated work is due.
func TestRepeatedWork(t *testing.T) {
	base := []Entry{judged(t, "2025-06-01", StageBuilding, "")}
	for _, test := range []struct {
		name, on string
		log      []Entry
		due, key string
		done     string
	}{
		{"ahead: when the window opens", "2026-02-10", nil, "2026-04-24", "feed/2026", "none"},
		{"the day before", "2026-04-23", nil, "2026-04-24", "feed/2026", "none"},
		{"overdue", "2026-05-01", nil, "2026-04-24", "feed/2026", "none"},
		{"overdue until due again", "2026-05-08", nil, "2026-05-08", "feed/2026", "none"},
		{"never logged all summer", "2026-07-20", nil, "2026-07-17", "feed/2026", "none"},
		{"done", "2026-05-01", []Entry{did(t, "2026-04-27", "feed")}, "2026-05-11", "feed/2026", "none"},
		{"done late, the next counts from then", "2026-06-01", []Entry{did(t, "2026-04-27", "feed"), did(t, "2026-05-30", "feed")}, "2026-06-13", "feed/2026", "none"},
		{"done for the last time", "2026-08-18", []Entry{did(t, "2026-08-15", "feed")}, "none", "feed/2026", "2026-08-15"},
		{"after root work", "2026-04-12", []Entry{did(t, "2026-04-05", WorkRepot)}, "2026-05-17", "feed/2026", "none"},
	} {
		t.Run(test.name, func(t *testing.T) {
			tree := Tree{Origin: Nursery, Log: append(append([]Entry{}, base...), test.log...)}
			if len(test.log) == 0 || test.log[0].Did != WorkRepot { // keep a repot of the plan from moving it
				tree.Log = append(tree.Log, did(t, "2025-09-01", WorkRepot))
			}
			w := workOf(t, planOne(t, smallPlanner(t, temperate, test.on), tree), "feed", 2026)
			if w.Due.String() != test.due || w.Key != test.key || w.Done.String() != test.done {
				t.Errorf("due %v, key %s, done %v; want %s, %s, %s (%v)", w.Due, w.Key, w.Done, test.due, test.key, test.done, w.Blocked)
			}
		})
	}
}

func TestPlanTellsAllTreesThatAreWrong(t *testing.T) {
	_, err := smallPlanner(t, temperate, "2026-02-10").Plan([]Tree{
		{ID: "a", Name: "a", Species: "no such tree", Origin: Nursery},
		{ID: "b", Name: "b", Species: maple.Name, Origin: Nursery, Log: []Entry{{On: day(t, "2026-01-01"), Did: "polish"}}},
		{ID: "c", Name: "c", Species: maple.Name, Origin: Nursery},
	})
	if !errors.Is(err, ErrInvalid) {
		t.Fatalf("error %v", err)
	}
	for _, want := range []string{`tree "a": species: "no such tree"`, `tree "b": log entry 1: did: "polish"`} {
		if !strings.Contains(err.Error(), want) {
			t.Errorf("error does not say %s:\n%v", want, err)
		}
	}
}

// A place that a tree never saw warm is answered, not crashed on.
func TestPlanWithoutWarmth(t *testing.T) {
	tree := Tree{Origin: Collected, Log: []Entry{did(t, "2020-06-20", "collected")}}
	for _, pl := range []place{icy, tropical} {
		p := planOne(t, smallPlanner(t, pl, "2026-02-10"), tree)
		if p.Next == "" {
			t.Errorf("lat %v: no next", pl.lat)
		}
		for _, w := range p.Works {
			if w.Work.Hard != "" && pl == icy && len(w.Blocked) == 0 {
				t.Errorf("%s is free on a tree that never recovered", w.Key)
			}
			for _, b := range w.Blocked {
				if pl == icy && b.Until > climate.NewDate(2100, 1, 1) {
					t.Errorf("%s: until %v", w.Key, b.Until)
				}
			}
		}
	}
}
