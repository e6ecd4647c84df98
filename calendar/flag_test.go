package calendar_test

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"budswell/calendar"
	"budswell/climate"
	"budswell/climate/phenology"
)

// wantFlag is a flag that a log must raise: its day, work and kind, what its reason
// and its meaning say, and whether it is open.
type wantFlag struct {
	on, work      string
	kind          calendar.FlagKind
	reason, means string
	open          bool
}

var flagStories = []struct {
	name, species string
	origin        calendar.Origin
	log           string
	want          []wantFlag
}{
	{"a log in order", "Acer campestre", calendar.Collected, "2017-03-20 did collected; 2019-03-28 did repot; 2020-06-20 did first-style; 2021-07-01 did unwire", nil},
	{
		"styled before the first repot", "Acer campestre", calendar.Collected, "2017-03-20 did collected; 2020-06-20 did first-style",
		[]wantFlag{{"2020-06-20", "first-style", calendar.FlagUnrepotted, "no styling before the first repot", "roots are still unseen, so the first repot comes next; about 100 % of the root ball is still field soil: the second styling still waits until none is left", true}},
	},
	{
		"styled before the first repot, which came later", "Acer campestre", calendar.Collected, "2017-03-20 did collected; 2020-06-20 did first-style; 2022-03-28 did repot",
		[]wantFlag{{"2020-06-20", "first-style", calendar.FlagUnrepotted, "no styling before the first repot", "it was repotted on 2022-03-28 since; no field soil is left", false}},
	},
	{
		"styled a few months after it was dug", "Pinus sylvestris", calendar.Collected, "2025-04-10 did collected; 2025-10-01 did first-style",
		[]wantFlag{
			{"2025-10-01", "first-style", calendar.FlagUnrepotted, "no styling", "roots are still unseen", true},
			{"2025-10-01", "first-style", calendar.FlagStrength, "recovers from being dug, on 2025-04-10", "taken to be recovering", true},
		},
	},
	{
		"styled for the second time in field soil", "Pinus sylvestris", calendar.Collected,
		"2014-04-10 did collected; 2017-04-10 did repot; 2017-04-10 did root-flare; 2018-10-10 did first-style; 2020-10-01 did unwire; 2023-10-10 did second-style",
		[]wantFlag{{"2023-10-10", "second-style", calendar.FlagStage, "at \"building\"", "taken to be at", true}, {"2023-10-10", "second-style", calendar.FlagFieldSoil, "about 50 % of the root ball is still field soil", "the show still wait until none is left", true}},
	},
	{
		"repotted and pruned hard in one season", "Carpinus betulus", calendar.Nursery, "2022-01-01 judged building strong; 2025-04-05 did repot; 2025-06-20 did heavy-prune",
		[]wantFlag{{"2025-06-20", "heavy-prune", calendar.FlagRest, "one growing season after repot (done on 2025-04-05)", "it rests until about 2026-", true}},
	},
	{
		"the same, years ago", "Carpinus betulus", calendar.Nursery, "2015-01-01 judged building strong; 2018-04-05 did repot; 2018-06-20 did heavy-prune",
		[]wantFlag{{"2018-06-20", "heavy-prune", calendar.FlagRest, "after repot (done on 2018-04-05)", "nothing waits for it now", false}},
	},
	{
		"hard work on a weak tree", "Carpinus betulus", calendar.Nursery, "2022-01-01 judged building weak; 2025-04-05 did repot",
		[]wantFlag{{"2025-04-05", "repot", calendar.FlagStrength, "weak", "taken to be weak", true}},
	},
	{
		"fed just after a repot", "Carpinus betulus", calendar.Nursery, "2022-01-01 judged building strong; 2025-04-05 did repot; 2025-04-20 did feed",
		[]wantFlag{{"2025-04-20", "feed", calendar.FlagRest, "6 weeks after repot", "it has rested since", false}},
	},
	{
		"wired over wire", "Carpinus betulus", calendar.Nursery, "2022-01-01 judged building strong; 2025-02-20 did wire; 2026-02-20 did wire",
		[]wantFlag{{"2026-02-20", "wire", calendar.FlagWire, "wire on the tree since 2025-02-20", "the wire is counted from 2025-02-20", true}},
	},
	{
		"wire that came off without having been put on", "Acer campestre", calendar.Collected, "2017-03-20 did collected; 2019-03-28 did repot; 2020-07-01 did unwire",
		[]wantFlag{{"2020-07-01", "unwire", calendar.FlagContradiction, "the log contradicts itself: it was dug on 2017-03-20", "log the day on which it was wired", false}},
	},
	{
		"wire that came off twice", "Carpinus betulus", calendar.Nursery, "2022-01-01 judged building strong; 2024-02-01 did wire; 2024-06-20 did unwire; 2025-06-20 did unwire",
		[]wantFlag{{"2025-06-20", "unwire", calendar.FlagContradiction, "came off on 2024-06-20", "", false}},
	},
	{"wired on the days after the styling", "Carpinus betulus", calendar.Nursery, "2022-01-01 judged building strong; 2024-02-01 did wire; 2024-02-05 did wire", nil},
	{"a work for trees at an earlier stage", "Acer campestre", calendar.Nursery, "2020-01-01 judged exhibition strong; 2025-04-01 did pot-change", nil},
	{"wire that came off in two sittings", "Carpinus betulus", calendar.Nursery, "2022-01-01 judged building strong; 2024-02-01 did wire; 2024-06-20 did unwire; 2024-06-21 did unwire", nil},
	{"a stage judged back", "Carpinus betulus", calendar.Nursery, "2022-01-01 judged refining strong; 2024-02-01 judged building strong", nil},
	{"the first work of a log says nothing of the time before", "Acer campestre", calendar.Collected, "2020-06-20 did first-style", nil},
	{
		"shown two winters running", "Carpinus betulus", calendar.Nursery, "2020-01-01 judged exhibition strong; 2025-11-20 did show; 2026-02-10 did show",
		[]wantFlag{{"2026-02-10", "show", calendar.FlagRest, "after show (done on 2025-11-20)", "", false}},
	},
}

func TestFlags(t *testing.T) {
	p := planner(t, "temperate", "2026-03-01")
	for _, s := range flagStories {
		t.Run(s.name, func(t *testing.T) {
			tree := calendar.Tree{ID: "t", Name: "t", Species: s.species, Origin: s.origin, Log: entries(t, s.log)}
			slices.Reverse(tree.Log) // the order in which it was written does not matter
			flags, err := p.Flags(&tree)
			if err != nil {
				t.Fatal(err)
			}
			var got []string
			for i, f := range flags {
				got = append(got, fmt.Sprintf("%v %s %s open %v: %s. %s", f.On, f.Work.ID, f.Kind, f.Open, f.Reason, f.Means))
				if e := tree.Log[f.Entry]; e.On != f.On {
					t.Errorf("entry %d is of %v, the flag of %v", f.Entry, e.On, f.On)
				}
				if i >= len(s.want) {
					continue
				}
				w := s.want[i]
				if f.On.String() != w.on || f.Work.ID != w.work || f.Kind != w.kind || f.Open != w.open ||
					!strings.Contains(f.Reason, w.reason) || !strings.Contains(f.Means, w.means) {
					t.Errorf("want %+v", w)
				}
			}
			if len(flags) != len(s.want) || t.Failed() {
				t.Errorf("%d flags, want %d:\n%s", len(flags), len(s.want), strings.Join(got, "\n"))
			}
			plan, err := p.Plan([]calendar.Tree{tree})
			if err != nil {
				t.Fatalf("a log with flags must still be planned by: %v", err)
			}
			if len(plan.Trees[0].Flags) != len(flags) {
				t.Error("the plan shows other flags")
			}
		})
	}
}

func TestFlagsOf(t *testing.T) {
	p := planner(t, "temperate", "2026-06-25")
	tree := calendar.Tree{ID: "t", Name: "t", Species: "Acer campestre", Origin: calendar.Collected, Log: entries(t, "2022-03-20 did collected; 2023-06-20 did first-style")}
	flags, err := p.FlagsOf(&tree, calendar.Entry{On: d(t, "2026-06-20"), Did: "heavy-prune"})
	if err != nil {
		t.Fatal(err)
	}
	if len(flags) == 0 || flags[0].Kind != calendar.FlagUnrepotted || flags[0].Entry != 2 || len(tree.Log) != 2 {
		t.Errorf("%+v", flags)
	}
	for _, e := range []calendar.Entry{{On: d(t, "2026-06-20"), Saw: phenology.LeafOut}, {On: d(t, "2026-06-20"), Did: "wire-check"}} {
		if flags, err := p.FlagsOf(&tree, e); err != nil || len(flags) > 0 {
			t.Errorf("%+v: %+v, %v", e, flags, err)
		}
	}
	tree.Species = "Acer nullum"
	if _, err := p.FlagsOf(&tree, calendar.Entry{}); !errors.Is(err, calendar.ErrNotFound) {
		t.Errorf("unknown species: %v", err)
	}
}

// TestFieldSoilDoesNotComeBack: a share that grows contradicts the log.
func TestFieldSoilDoesNotComeBack(t *testing.T) {
	share := func(v float64) *float64 { return &v }
	l, err := loadLore()
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		begin       *float64
		left        []float64
		faulty      int // index of the repot that is wrong, -1 for none
		want, value string
	}{
		{nil, []float64{0.5, 0.25, 0.25, 0}, -1, "", ""},
		{nil, []float64{0.5, 0.75}, 1, "want at most the 0.5 that was left on 2020-04-01", "0.75"},
		{share(0.25), []float64{0.5}, 0, "want at most the 0.25 that was left in the beginning", "0.5"},
	} {
		tree := calendar.Tree{ID: "t", Name: "t", Species: "Pinus sylvestris", Origin: calendar.Collected, FieldSoil: c.begin}
		for i, v := range c.left {
			tree.Log = append(tree.Log, calendar.Entry{On: d(t, fmt.Sprintf("%d-04-01", 2020+2*i)), Did: "repot", FieldSoilLeft: &v})
		}
		faults := tree.Check(l, places["temperate"].site, d(t, "2030-01-01"))
		switch {
		case c.faulty < 0 && len(faults) > 0:
			t.Errorf("%v: %v", c.left, faults)
		case c.faulty >= 0 && (len(faults) != 1 || faults[0].Entry != c.faulty || faults[0].Field != "field_soil_left" || faults[0].Value != c.value || !strings.Contains(faults[0].Want, c.want)):
			t.Errorf("%v: %v", c.left, faults)
		}
	}
}

// TestFlagsHoldTogether: whatever was logged, flags come in order of days, each
// with a reason and a meaning, and none for what was only seen.
func TestFlagsHoldTogether(t *testing.T) {
	l, err := loadLore()
	if err != nil {
		t.Fatal(err)
	}
	p := planner(t, "temperate", "2026-03-01")
	rapid.Check(t, func(rt *rapid.T) {
		sp := &l.Species[rapid.IntRange(0, len(l.Species)-1).Draw(rt, "species")]
		tree := calendar.Tree{ID: "t", Name: "t", Species: sp.Name, Origin: rapid.SampledFrom(calendar.Origins()).Draw(rt, "origin")}
		for range rapid.IntRange(0, 12).Draw(rt, "entries") {
			e := calendar.Entry{On: d(t, "2016-01-01") + climate.Date(rapid.IntRange(0, 3700).Draw(rt, "day"))}
			e.Did = l.Works[rapid.IntRange(0, len(l.Works)-1).Draw(rt, "work")].ID
			tree.Log = append(tree.Log, e)
		}
		flags, err := p.Flags(&tree)
		if err != nil {
			rt.Fatal(err)
		}
		for i, f := range flags {
			if f.Reason == "" || f.Means == "" || i > 0 && f.On < flags[i-1].On || tree.Log[f.Entry].Did != f.Work.ID {
				rt.Errorf("flag %+v", f)
			}
		}
		again, _ := p.Flags(&tree)
		if fmt.Sprint(again) != fmt.Sprint(flags) {
			rt.Error("asked twice, the flags differ")
		}
	})
}
