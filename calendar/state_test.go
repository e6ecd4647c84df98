package calendar

import (
	"math/rand/v2"
	"testing"

	"budswell/climate/phenology"

	"github.com/google/go-cmp/cmp"
)

// TestStages follows trees along the table of stages: what must be true to enter
// each (common practice, no published source).
func TestStages(t *testing.T) {
	d := func(on, work string) Entry { return did(t, on, work) }
	for _, test := range []struct {
		name     string
		tree     Tree
		species  *Species
		on       string
		stage    Stage
		strength Strength
	}{
		{"in the ground", Tree{Origin: Collected}, maple, "2026-04-01", StageCollected, Recovering},
		{"in the ground, seen last year", Tree{Origin: Collected, Log: []Entry{saw(t, "2024-05-01", phenology.LeafOut)}}, maple, "2026-04-01", StageCollected, Recovering},
		{"just dug", Tree{Origin: Collected, Log: []Entry{d("2026-03-20", "collected")}}, maple, "2026-04-01", StageCollected, Recovering},
		{"leaves seen", Tree{Origin: Collected, Log: []Entry{d("2026-03-20", "collected"), saw(t, "2026-05-02", phenology.LeafOut)}}, maple, "2026-05-03", StageRecovering, Recovering},
		{"swelling buds prove nothing", Tree{Origin: Collected, Log: []Entry{d("2026-03-20", "collected"), saw(t, "2026-04-12", phenology.BudSwell)}}, maple, "2026-04-20", StageCollected, Recovering},
		{"leaves seen before it was dug", Tree{Origin: Collected, Log: []Entry{saw(t, "2025-05-02", phenology.LeafOut), d("2026-03-20", "collected")}}, maple, "2026-04-20", StageCollected, Recovering},
		{"must have grown by midsummer", Tree{Origin: Collected, Log: []Entry{d("2026-03-20", "collected")}}, maple, "2026-07-15", StageRecovering, Recovering},
		{"first winter", Tree{Origin: Collected, Log: []Entry{d("2026-03-20", "collected")}}, maple, "2026-12-20", StageRecovering, Recovering},
		{"a season later", Tree{Origin: Collected, Log: []Entry{d("2026-03-20", "collected")}}, maple, "2027-03-20", StageBaseWork, Strong},
		{"a pine, a season later", Tree{Origin: Collected, Log: []Entry{d("2026-03-20", "collected")}}, pine, "2027-03-20", StageRecovering, Recovering},
		{"a pine, two seasons later", Tree{Origin: Collected, Log: []Entry{d("2026-03-20", "collected")}}, pine, "2028-03-20", StageBaseWork, Strong},
		{"a field-grown pine, a season later", Tree{Origin: FieldGrown, Log: []Entry{d("2026-03-20", "collected")}}, pine, "2027-03-20", StageBaseWork, Strong},
		{"repotted to bare roots", Tree{Origin: Collected, Log: []Entry{d("2024-03-20", "collected"), d("2026-04-01", WorkRepot)}}, maple, "2026-04-02", StageFirstStyling, Strong},
		{"a pine's half repot shows no flare", Tree{Origin: Collected, Log: []Entry{d("2022-03-20", "collected"), d("2026-04-01", WorkRepot)}}, pine, "2026-04-02", StageBaseWork, Strong},
		{"its flare seen", Tree{Origin: Collected, Log: []Entry{d("2022-03-20", "collected"), d("2026-04-01", WorkRepot), d("2026-04-01", WorkRootFlare)}}, pine, "2026-04-02", StageFirstStyling, Strong},
		{"styled", Tree{Origin: Collected, Log: []Entry{d("2022-03-20", "collected"), d("2024-04-01", WorkRepot), d("2025-06-10", WorkFirstStyle)}}, maple, "2026-04-02", StageBuilding, Strong},
		{"styled before its time", Tree{Origin: Collected, Log: []Entry{d("2024-03-20", "collected"), d("2025-06-10", WorkFirstStyle)}}, maple, "2026-04-02", StageBuilding, Strong},
		{"three seasons built", Tree{Origin: Collected, Log: []Entry{d("2018-03-20", "collected"), d("2020-04-01", WorkRepot), d("2022-06-10", WorkFirstStyle)}}, maple, "2026-04-02", StageSecondStyling, Strong},
		{"three seasons built, field soil left", Tree{Origin: Collected, Log: []Entry{d("2014-03-20", "collected"), d("2018-04-01", WorkRepot), d("2018-04-01", WorkRootFlare), d("2020-09-10", WorkFirstStyle)}}, pine, "2026-04-02", StageBuilding, Strong},
		{"just repotted, not rooted", Tree{Origin: Collected, Log: []Entry{d("2018-03-20", "collected"), d("2020-04-01", WorkRepot), d("2022-06-10", WorkFirstStyle), d("2026-03-25", WorkRepot)}}, maple, "2026-04-02", StageBuilding, Strong},
		{"second styling, wire on", Tree{Origin: Nursery, Log: []Entry{d("2018-04-01", WorkRepot), d("2020-06-10", WorkFirstStyle), d("2024-06-10", WorkSecondStyle)}}, maple, "2026-04-02", StageSecondStyling, Strong},
		{"second styling, wire off", Tree{Origin: Nursery, Log: []Entry{d("2018-04-01", WorkRepot), d("2020-06-10", WorkFirstStyle), d("2024-06-10", WorkSecondStyle), d("2025-06-01", WorkUnwire)}}, maple, "2026-04-02", StageRefining, Strong},
		{"in its last pot", Tree{Origin: Nursery, Container: Container{Kind: FinalPot}, Log: []Entry{d("2018-04-01", WorkRepot), d("2020-06-10", WorkFirstStyle), d("2023-06-10", WorkSecondStyle), d("2024-06-01", WorkUnwire)}}, maple, "2026-04-02", StageExhibition, Strong},
		{"a conifer may be shown in a little wire", Tree{Origin: Nursery, Container: Container{Kind: FinalPot}, Log: []Entry{d("2018-04-01", WorkRepot), d("2020-09-10", WorkFirstStyle), d("2022-09-10", WorkSecondStyle), d("2023-09-01", WorkUnwire), d("2024-09-20", WorkWire)}}, pine, "2026-04-02", StageExhibition, Strong},
		{"a maple may not", Tree{Origin: Nursery, Container: Container{Kind: FinalPot}, Log: []Entry{d("2018-04-01", WorkRepot), d("2020-06-10", WorkFirstStyle), d("2022-09-10", WorkSecondStyle), d("2023-09-01", WorkUnwire), d("2024-09-20", WorkWire)}}, maple, "2026-04-02", StageRefining, Strong},
		{"a nursery tree", Tree{Origin: Nursery}, maple, "2026-04-01", StageBaseWork, Strong},
		{"judged", Tree{Origin: Nursery, Log: []Entry{judged(t, "2026-01-10", StageRefining, "")}}, maple, "2026-04-01", StageRefining, Strong},
		{"judged, the day before", Tree{Origin: Nursery, Log: []Entry{judged(t, "2026-04-02", StageRefining, "")}}, maple, "2026-04-01", StageBaseWork, Strong},
		{"judged back after styling", Tree{Origin: Nursery, Log: []Entry{d("2020-06-10", WorkFirstStyle), judged(t, "2026-01-10", StageBaseWork, "")}}, maple, "2026-04-01", StageBaseWork, Strong},
		{"styled after judgement", Tree{Origin: Nursery, Log: []Entry{judged(t, "2024-01-10", StageFirstStyling, ""), d("2025-06-10", WorkFirstStyle)}}, maple, "2026-04-01", StageBuilding, Strong},
		{"judged weak", Tree{Origin: Nursery, Log: []Entry{judged(t, "2025-01-10", "", Weak)}}, maple, "2026-04-01", StageBaseWork, Weak},
		{"judged strong at once", Tree{Origin: Collected, Log: []Entry{d("2025-03-20", "collected"), judged(t, "2025-09-10", "", Strong)}}, maple, "2025-10-01", StageBaseWork, Strong},
		{"a lapsed judgement", Tree{Origin: Nursery, Log: []Entry{judged(t, "2024-01-10", "", Weak), judged(t, "2026-01-10", "", Strong)}}, maple, "2026-04-01", StageBaseWork, Strong},
		{"what lies ahead does not count", Tree{Origin: Collected, Log: []Entry{d("2022-03-20", "collected"), d("2026-04-01", WorkRepot)}}, maple, "2026-03-31", StageBaseWork, Strong},
	} {
		t.Run(test.name, func(t *testing.T) {
			o := temperate.outlook(t, test.on)
			s := test.tree.StateOn(o.Issue, smallLore(), test.species, NewGrowth(o))
			if s.Stage != test.stage || s.Strength != test.strength {
				t.Errorf("%s, %s; want %s, %s", s.Stage, s.Strength, test.stage, test.strength)
			}
		})
	}
}

func TestStateOfSoilWireAndRest(t *testing.T) {
	third := 0.3
	tree := Tree{Origin: Collected, Log: []Entry{
		did(t, "2018-03-20", "collected"),
		did(t, "2021-04-01", WorkRepot),
		{On: day(t, "2024-04-01"), Did: WorkRepot, FieldSoilLeft: &third},
		did(t, "2025-09-20", WorkWire),
		did(t, "2026-03-01", WorkWire),
	}}
	on := day(t, "2026-04-10")
	growth := NewGrowth(temperate.outlook(t, "2026-04-10"))
	s := tree.StateOn(on, smallLore(), pine, growth)
	if s.FieldSoil != third || s.FlareSeen || s.WireSince != day(t, "2025-09-20") || s.Had != day(t, "2018-03-20") {
		t.Errorf("state %+v", s)
	}
	if s.RestAfter != "" || s.RestUntil.Valid() {
		t.Errorf("rests after %q until %v two years after the repot", s.RestAfter, s.RestUntil)
	}
	if s.Last[WorkRepot] != day(t, "2024-04-01") || s.Last[WorkWire] != day(t, "2026-03-01") {
		t.Errorf("last works %v", s.Last)
	}
	half := tree.StateOn(day(t, "2022-04-10"), smallLore(), pine, growth)
	if half.FieldSoil != 0.5 {
		t.Errorf("a repot of a pine leaves %v of the field soil, want half", half.FieldSoil)
	}
	bare := tree.StateOn(day(t, "2022-04-10"), smallLore(), maple, growth)
	if bare.FieldSoil != 0 || !bare.FlareSeen {
		t.Errorf("a repot of a maple leaves %v field soil, flare seen %v", bare.FieldSoil, bare.FlareSeen)
	}
	resting := tree.StateOn(day(t, "2021-05-01"), smallLore(), pine, growth)
	if resting.RestAfter != WorkRepot || resting.RestUntil < day(t, "2021-09-01") || resting.RestUntil > day(t, "2022-05-01") {
		t.Errorf("rests after %q until %v, want after the repot for a season", resting.RestAfter, resting.RestUntil)
	}
	tree.Log = append(tree.Log, did(t, "2026-04-09", WorkUnwire))
	if s := tree.StateOn(on, smallLore(), pine, growth); s.WireSince.Valid() {
		t.Errorf("wire since %v after it was taken off", s.WireSince)
	}
	if s := tree.StateOn(on, smallLore(), pine, NewGrowth(icy.outlook(t, "2026-04-10"))); s.RestUntil.Valid() || s.RestAfter == "" {
		t.Errorf("without warmth rest ends %v", s.RestUntil)
	}
}

// The order in which a log is written does not matter.
func TestStateDoesNotHangOnTheOrderOfTheLog(t *testing.T) {
	tree := Tree{Origin: Collected, Log: []Entry{
		did(t, "2018-03-20", "collected"), saw(t, "2018-05-20", phenology.LeafOut), did(t, "2021-04-01", WorkRepot),
		did(t, "2022-06-10", WorkFirstStyle), did(t, "2023-06-10", WorkUnwire), judged(t, "2024-01-01", "", Recovering),
		judged(t, "2025-01-01", StageBuilding, Strong), did(t, "2026-04-01", WorkRepot),
	}}
	growth := NewGrowth(temperate.outlook(t, "2026-04-10"))
	rng := rand.New(rand.NewPCG(1, 2))
	for _, on := range []string{"2018-04-01", "2019-01-01", "2021-06-01", "2022-07-01", "2024-06-01", "2026-04-10"} {
		want := tree.StateOn(day(t, on), smallLore(), maple, growth)
		for range 20 {
			mixed := tree
			mixed.Log = append([]Entry(nil), tree.Log...)
			rng.Shuffle(len(mixed.Log), func(i, j int) { mixed.Log[i], mixed.Log[j] = mixed.Log[j], mixed.Log[i] })
			if diff := cmp.Diff(want, mixed.StateOn(day(t, on), smallLore(), maple, growth)); diff != "" {
				t.Fatalf("on %s: %s", on, diff)
			}
		}
	}
}
