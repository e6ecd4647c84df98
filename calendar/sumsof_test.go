package calendar_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"budswell/calendar"
	"budswell/climate"
)

// sumsAt plans one tree at a place of the stories and returns its sums.
func sumsAt(t *testing.T, place, on, species string, c calendar.Container, log string) (calendar.Sums, *calendar.Plan) {
	t.Helper()
	tree := calendar.Tree{ID: "t", Name: "the tree", Species: species, Origin: calendar.Nursery, Container: c, Log: entries(t, log)}
	plan, err := planner(t, place, on).Plan([]calendar.Tree{tree})
	if err != nil {
		t.Fatal(err)
	}
	return plan.Trees[0].Sums, plan
}

// Worked by hand: wire of a third of a branch's thickness marks once the branch is a
// fifth of that thicker, 1/15 of its own thickness; a strong maple that is being built thickens
// by 0.30 in a season, so that takes 0.222 of one; half as much, refined, twice as long. The
// days are those on which the growth of the site has come so far.
func TestWireMarks(t *testing.T) {
	building, plan := sumsAt(t, "temperate", "2026-03-01", "Acer campestre", calendar.Container{}, "2025-01-01 judged building strong; 2026-02-20 did wire")
	refined, _ := sumsAt(t, "temperate", "2026-03-01", "Acer campestre", calendar.Container{}, "2025-01-01 judged refining strong; 2026-02-20 did wire")
	weak, _ := sumsAt(t, "temperate", "2026-03-01", "Acer campestre", calendar.Container{}, "2025-01-01 judged building weak; 2026-02-20 did wire")
	pine, _ := sumsAt(t, "temperate", "2026-03-01", "Pinus sylvestris", calendar.Container{}, "2025-01-01 judged building strong; 2026-02-20 did wire")
	g := plan.Trees[0].Growth()
	for what, c := range map[string]struct {
		sum     *calendar.WireSum
		seasons float64
	}{"building": {building.Wire, 1 / 15.0 / 0.30}, "refined": {refined.Wire, 1 / 15.0 / 0.15}} {
		if c.sum == nil {
			t.Fatalf("%s: nothing said of its wire", what)
		}
		if got := g.Seasons(c.sum.Since, c.sum.Marks.P50); math.Abs(got-c.seasons) > 0.06 {
			t.Errorf("%s: marks about %v, after %.3f growing seasons, want %.3f", what, c.sum.Marks.P50, got, c.seasons)
		}
	}
	// Common practice: on a deciduous tree within weeks of the flush, on a pine after
	// most of a season; weak trees last.
	if m := building.Wire.Marks; m.P50 < d(t, "2026-05-15") || m.P50 > d(t, "2026-07-15") || m.P10 < d(t, "2026-04-25") {
		t.Errorf("maple marks %v", m)
	}
	if building.Wire.Marks.P50 >= pine.Wire.Marks.P50 || building.Wire.Marks.P50 >= weak.Wire.Marks.P50 || building.Wire.ByNow != 0 {
		t.Errorf("maple %v, pine %v, weak maple %v", building.Wire, pine.Wire, weak.Wire)
	}
	old, _ := sumsAt(t, "temperate", "2026-06-01", "Acer campestre", calendar.Container{}, "2020-01-01 judged building strong; 2021-02-20 did wire")
	if m := old.Wire.Marks.P50; m < d(t, "2021-05-15") || m > d(t, "2021-07-31") || old.Wire.ByNow != 1 || !strings.Contains(old.Wire.String(), "Look today") {
		t.Errorf("wire of 2021: %v", old.Wire)
	}
}

func TestNoSumsWhereNothingApplies(t *testing.T) {
	s, _ := sumsAt(t, "temperate", "2026-03-01", "Acer campestre", calendar.Container{}, "2025-01-01 judged building strong")
	if s != (calendar.Sums{}) {
		t.Errorf("no wire, no pot, no root work, and yet %+v", s)
	}
	if lines := s.Lines(); lines != nil {
		t.Errorf("got %q", lines)
	}
}

func TestShadeUntil(t *testing.T) {
	s, plan := sumsAt(t, "temperate", "2026-04-05", "Acer campestre", calendar.Container{}, "2025-01-01 judged building strong; 2026-04-02 did repot")
	ends := works(&plan.Trees[0], "shade-end", "", "9")
	if s.Shade == nil || len(ends) == 0 || s.Shade.Until != ends[0].Window.Opens || s.Shade.Until.P50 < d(t, "2026-04-16") || s.Shade.Until.P50 > d(t, "2026-04-30") {
		t.Fatalf("shade %v, work %v", s.Shade, ends)
	}
	if out, _ := sumsAt(t, "temperate", "2026-06-20", "Acer campestre", calendar.Container{}, "2025-01-01 judged building strong; 2026-04-02 did repot"); out.Shade != nil {
		t.Errorf("in June still %v", out.Shade)
	}
}

// In hard winters the root zone of a small pot follows the air, that of a large one lags
// behind it; in summer nobody asks.
func TestRootsTonight(t *testing.T) {
	small, _ := sumsAt(t, "continental", "2027-01-10", "Acer palmatum", calendar.Container{Kind: calendar.FinalPot, Litres: 1.5}, "2025-01-01 judged building strong")
	large, _ := sumsAt(t, "continental", "2027-01-10", "Acer palmatum", calendar.Container{Kind: calendar.Box, Litres: 120}, "2025-01-01 judged building strong")
	if small.Roots == nil || large.Roots == nil {
		t.Fatal("nothing said of roots in January")
	}
	if small.Roots.Stand != -10 || !small.Roots.Known || small.Roots.Below < 0.7 || len(small.Roots.Nights) != 7 {
		t.Errorf("small pot: %+v", small.Roots)
	}
	if !(large.Roots.Lowest.P50 > small.Roots.Lowest.P50) || large.Roots.Below > small.Roots.Below {
		t.Errorf("large pot %+v, small pot %+v", large.Roots.Lowest, small.Roots.Lowest)
	}
	summer, _ := sumsAt(t, "continental", "2026-07-10", "Acer palmatum", calendar.Container{Litres: 1.5}, "2025-01-01 judged building strong")
	if summer.Roots != nil {
		t.Errorf("in July: %+v", summer.Roots)
	}
	guess, _ := sumsAt(t, "continental", "2027-01-10", "Acer campestre", calendar.Container{Litres: 1.5}, "2025-01-01 judged building strong")
	if guess.Roots == nil || guess.Roots.Known || !strings.Contains(guess.Roots.String(), "a cautious guess") {
		t.Errorf("of a species of which it is not known: %v", guess.Roots)
	}
}

// Worked by the calendar: from a cut on 1 July to the first frost of the temperate bench,
// in the second half of October, are some 110 days.
func TestSeasonLeft(t *testing.T) {
	s, _ := sumsAt(t, "temperate", "2026-07-10", "Pinus thunbergii", calendar.Container{}, "2025-01-01 judged refining strong; 2025-04-15 did pot-change; 2026-07-01 did candle-cut")
	if s.Season == nil || s.Season.From != d(t, "2026-07-01") || s.Season.Work != "candle-cut" {
		t.Fatalf("got %+v", s.Season)
	}
	if n := s.Season.Days; n.P50 != float64(s.Season.Frost.P50-s.Season.From) || n.P50 < 95 || n.P50 > 125 || n.P10 >= n.P90 {
		t.Errorf("%+v", s.Season)
	}
	// Some 15 C a day above the base in summer, fewer in autumn.
	if dd := s.Season.DegreeDays; dd.P50 < 900 || dd.P50 > 1500 {
		t.Errorf("%+v", dd)
	}
	if none, _ := sumsAt(t, "temperate", "2026-11-20", "Pinus thunbergii", calendar.Container{}, "2025-01-01 judged refining strong; 2025-04-15 did pot-change"); none.Season != nil {
		t.Errorf("in November: %v", none.Season)
	}
}

func TestDryFirst(t *testing.T) {
	pot := func(litres float64) calendar.Container {
		return calendar.Container{Kind: calendar.TrainingPot, Litres: litres}
	}
	trees := []calendar.Tree{
		{ID: "large", Name: "large", Species: "Acer palmatum", Origin: calendar.Nursery, Container: pot(40)},
		{ID: "small", Name: "small", Species: "Acer palmatum", Origin: calendar.Nursery, Container: pot(1)},
		{ID: "measured", Name: "measured", Species: "Acer palmatum", Origin: calendar.Nursery, Container: calendar.Container{Shape: "oval", Length: 40, Width: 30, Depth: 8, Mix: "2 pumice, 1 lava"}},
		{ID: "unknown", Name: "unknown", Species: "Acer palmatum", Origin: calendar.Nursery},
	}
	plan, err := planner(t, "temperate", "2026-07-10").Plan(trees)
	if err != nil {
		t.Fatal(err)
	}
	var order []string
	for _, p := range plan.Thirst() {
		order = append(order, p.Tree.Name)
	}
	if got := strings.Join(order, " "); got != "small measured large" {
		t.Errorf("dry in this order: %s", got)
	}
	if w := plan.Trees[2].Sums.Water; fmt.Sprint(w.Guessed) != "[a crown half as wide again as the pot is long]" || w.On != d(t, "2026-07-11") {
		t.Errorf("guessed %q", w.Guessed)
	}
	if w := plan.Trees[3].Sums.Water; w != nil {
		t.Errorf("of a pot that is not known: %+v", w)
	}
	// A bare tree in winter loses little: days, not hours.
	bare, _ := sumsAt(t, "temperate", "2027-01-10", "Acer palmatum", pot(8), "2025-01-01 judged building strong")
	if bare.Water == nil || bare.Water.Hours.P50 < 72 {
		t.Errorf("in January: %+v", bare.Water)
	}
	var text strings.Builder
	if err := plan.WriteText(&text); err != nil || !strings.Contains(text.String(), "Dry first tomorrow") {
		t.Errorf("%v: %s", err, text.String())
	}
}

func TestContainers(t *testing.T) {
	l, err := loadLore()
	if err != nil {
		t.Fatal(err)
	}
	tree := func(c calendar.Container) *calendar.Tree {
		return &calendar.Tree{ID: "t", Name: "t", Species: "Acer campestre", Origin: calendar.Nursery, Container: c}
	}
	for want, c := range map[string]calendar.Container{
		"container.length": {Length: 40, Width: 50, Depth: 8},
		"container.shape":  {Shape: "star", Litres: 3},
		"container.mix":    {Litres: 3, Mix: "2 gravel of nowhere"},
	} {
		faults := tree(c).Check(l, climate.Site{Zone: "UTC"}, climate.NoDate)
		if len(faults) != 1 || faults[0].Field != want {
			t.Errorf("%+v: %v, want a fault of %s", c, faults, want)
		}
	}
	for _, kind := range []string{"", calendar.Box, calendar.TrainingPot, calendar.FinalPot} {
		c := calendar.Container{Kind: kind, Litres: 8}
		if v, ok := c.Vessel(); !ok || math.Abs(v.Litres()-8) > 1e-9 {
			t.Errorf("%s: %+v", kind, v)
		}
	}
}

// A little below nought is told as nought, not as minus nought.
func TestAmountsHaveNoNegativeNought(t *testing.T) {
	s := calendar.RootSum{Lowest: calendar.Amount{P10: -0.4, P50: -0.1, P90: 1.6}}
	if got := s.String(); !strings.Contains(got, "about 0 °C (10-90 %: 0 to 2)") {
		t.Error(got)
	}
}
