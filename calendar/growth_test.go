package calendar

import (
	"math"
	"testing"
)

// A cool coast, the northern rim of gardens, and a place beyond the trees.
var (
	coast     = place{lat: 55.9, mean: 9, half: 6.5, members: 1}
	boreal    = place{lat: 65, mean: 2.2, half: 13, members: 1}
	subarctic = place{lat: 69, mean: -1.5, half: 12, members: 1}
	polar     = place{lat: 78, mean: -5, half: 11, members: 1}
)

func TestGrowthCountsWarmthNotYears(t *testing.T) {
	for _, test := range []struct {
		name     string
		place    place
		from, to string
		least    float64
		most     float64
	}{
		{"spring to spring", temperate, "2024-03-20", "2025-03-20", 0.99, 1.01},
		{"over one winter", temperate, "2024-11-15", "2025-02-20", 0, 0.02},
		{"one summer", temperate, "2024-04-01", "2024-10-15", 0.9, 1},
		{"half a summer", temperate, "2024-03-01", "2024-07-10", 0.35, 0.6},
		{"south, over new year", southern, "2024-09-01", "2025-09-01", 0.99, 1.01},
		{"south, the northern summer", southern, "2024-06-01", "2024-08-15", 0, 0.15},
		{"tropics, half a year", tropical, "2024-02-01", "2024-08-01", 0.45, 0.55},
		{"leap day", temperate, "2024-02-29", "2028-02-29", 3.98, 4.02},
		{"no warmth", icy, "2004-01-01", "2024-01-01", 0, 0},
		{"cool coast, a year", coast, "2024-03-20", "2025-03-20", 0.99, 1.01},
		{"far north, a year", boreal, "2024-03-20", "2025-03-20", 0.95, 1.01},
		{"near the trees' limit, a year", subarctic, "2024-03-20", "2025-03-20", 0.4, 0.7},
		{"beyond trees, a year", polar, "2024-03-20", "2025-03-20", 0, 0.1},
		{"beyond trees, ten years", polar, "2014-03-20", "2024-03-20", 0.01, 1},
		{"back in time", temperate, "2025-03-20", "2024-03-20", -1.01, -0.99},
		{"in the outlook", temperate, "2026-03-20", "2027-03-20", 0.99, 1.01},
		{"out of the outlook", temperate, "2020-06-01", "2040-06-01", 19.95, 20.05},
	} {
		t.Run(test.name, func(t *testing.T) {
			g := NewGrowth(test.place.outlook(t, "2026-04-01"))
			got := g.Seasons(day(t, test.from), day(t, test.to))
			if got < test.least || got > test.most {
				t.Errorf("%s to %s: %.3f seasons, want %v to %v", test.from, test.to, got, test.least, test.most)
			}
		})
	}
}

// A cool summer that the outlook knows earns less than a season.
func TestGrowthOfACoolSummer(t *testing.T) {
	o := temperate.outlook(t, "2026-12-01")
	for i := range o.Members {
		for d := date(2026, 4, 1); d < date(2026, 10, 1); d++ {
			k := d - o.First
			o.Members[i].Tmin[k] -= 5
			o.Members[i].Tmax[k] -= 5
		}
	}
	g := NewGrowth(o)
	if got := g.Seasons(date(2026, 3, 1), date(2027, 3, 1)); got < 0.3 || got > 0.7 {
		t.Errorf("cool season counts %.2f, want clearly less than one", got)
	}
	if g.Passed(date(2026, 3, 1), date(2027, 3, 1), 1) {
		t.Error("a cool season passed for a whole one")
	}
	if by := g.PassedBy(date(2026, 3, 1), 1); by < date(2027, 5, 1) || by > date(2027, 8, 15) {
		t.Errorf("rest ends %v, want in the following summer", by)
	}
}

func TestPassedByIsTheFirstDay(t *testing.T) {
	for _, p := range []place{temperate, southern, tropical} {
		g := NewGrowth(p.outlook(t, "2026-04-01"))
		for from := date(2019, 1, 15); from < date(2028, 1, 1); from += 61 {
			for _, n := range []float64{0.5, 1, 2, 3} {
				by := g.PassedBy(from, n)
				if !by.Valid() || !g.Passed(from, by, n) || g.Passed(from, by-1, n) {
					t.Fatalf("lat %v: %v and %v seasons: %v is not the first day", p.lat, from, n, by)
				}
			}
		}
	}
	if by := NewGrowth(icy.outlook(t, "2026-04-01")).PassedBy(date(2020, 1, 1), 1); by.Valid() {
		t.Errorf("without warmth a season passed by %v", by)
	}
}

func TestGrowthNeverRunsBackwards(t *testing.T) {
	for _, p := range []place{temperate, southern, tropical, icy} {
		g := NewGrowth(p.outlook(t, "2026-04-01"))
		last := math.Inf(-1)
		for d := date(2020, 1, 1); d < date(2032, 1, 1); d++ {
			c := g.clock(d)
			if c < last-1e-9 {
				t.Fatalf("lat %v: clock runs back on %v, from %v to %v", p.lat, d, last, c)
			}
			last = c
		}
	}
}

// A rest of one season means one summer at 65 N too; where summers are markedly
// short it takes two.
func TestOneSeasonOfRestInTheNorth(t *testing.T) {
	for _, test := range []struct {
		name  string
		place place
		by    string // spring by which a rest that began in the spring of 2026 is over
		not   string // and by which it is not
	}{
		{"far north", boreal, "2027-04-20", "2026-06-30"},
		{"near the trees' limit", subarctic, "2028-04-20", "2027-04-20"},
	} {
		g := NewGrowth(test.place.outlook(t, "2026-04-01"))
		if by := g.PassedBy(day(t, "2026-04-20"), 1); by > day(t, test.by) || by <= day(t, test.not) {
			t.Errorf("%s: rest of one season ends %v, want after %s, by %s", test.name, by, test.not, test.by)
		}
	}
}

// Winter that is warm enough to grow in counts for trees in leaf only.
func TestGrowthCountsWhileLeavesAreOn(t *testing.T) {
	p := smallPlanner(t, place{lat: 50, mean: 13, half: 6, members: 4, step: 0.1}, "2026-04-01")
	bare, green := p.growthOf(maple), p.growthOf(pine)
	winter := func(g *Growth) float64 { return g.Seasons(date(2025, 11, 20), date(2026, 3, 20)) }
	if winter(bare) != 0 || winter(green) < 0.05 {
		t.Errorf("winter counts %.3f seasons bare and %.3f in needles, want none and some", winter(bare), winter(green))
	}
	for _, g := range []*Growth{bare, green} {
		if year := g.Seasons(date(2025, 3, 1), date(2026, 3, 1)); math.Abs(year-1) > 0.01 {
			t.Errorf("a year counts %.3f seasons, want one", year)
		}
	}
	if p.growthOf(maple) != bare {
		t.Error("the growing seasons of a species are counted anew each time")
	}
}

func TestEnoughGrowingSeasons(t *testing.T) {
	for _, test := range []struct{ seasons, enough float64 }{{0, 0}, {0.5, 0.4}, {1, 0.8}, {2, 1.8}, {3, 2.7}, {4, 3.6}} {
		if got := enough(test.seasons); math.Abs(got-test.enough) > 1e-9 {
			t.Errorf("%v seasons are passed after %v, want %v", test.seasons, got, test.enough)
		}
	}
}
