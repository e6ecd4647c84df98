package phenology

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"

	"budswell/climate"
)

var (
	pooledMaple = Habit{Species: "Acer campestre", Group: Deciduous, Flush: Middle}
	pooledIssue = climate.NewDate(2026, time.April, 10)
)

// toldBy returns what a grower near a site saw of a maple in the springs 2023 to
// 2025: so many clock days late.
func toldBy(grower string, here climate.Site, late float64) []Pooled {
	var out []Pooled
	for _, year := range []int{2023, 2024, 2025} {
		out = append(out, Pooled{
			Grower: grower, Species: pooledMaple.Species, Phase: BudBreak, On: climate.NewDate(year, time.April, 20), Year: year,
			Late: late, Variance: 0.5, Lat: here.Lat + 0.05, Lon: here.Lon, Elevation: here.Elevation,
		})
	}
	return out
}

// fatal is a test, or a property of one.
type fatal interface {
	Helper()
	Fatal(args ...any)
}

// clockAt is the mean of the clock at bud break of a maple of which nothing was seen.
func clockAt(t fatal, o *climate.Outlook, seen []Sighting, pool []Pooled) float64 {
	t.Helper()
	f, err := NewPooledForecaster(o, seen, pool)
	if err != nil {
		t.Fatal(err)
	}
	d, ok, err := f.budBreak(pooledMaple, "", 2026)
	if err != nil || !ok {
		t.Fatal(ok, err)
	}
	mean, before := 0.0, 0.0
	for i, p := range d.below {
		mean += (p - before) * (d.from + (float64(i)-0.5)*d.step)
		before = p
	}
	return mean
}

// TestPoolTeaches: what others saw moves a forecast the way it was seen, the more
// the more of them saw it and the more alike their places are, and no further than
// it was seen.
func TestPoolTeaches(t *testing.T) {
	o := knownWeather(t, places["continental"], pooledIssue)
	alone := clockAt(t, o, nil, nil)
	moved := func(growers int, late float64, change func(*Pooled)) float64 {
		var pool []Pooled
		for i := range growers {
			pool = append(pool, toldBy(fmt.Sprint(i), o.Site, late)...)
		}
		for i := range pool {
			change(&pool[i])
		}
		return clockAt(t, o, nil, pool) - alone
	}
	as := func(*Pooled) {}
	one, five := moved(1, 6, as), moved(5, 6, as)
	if !(0.5 < one && one <= dayEach+0.01 && one < five && five < 6) {
		t.Errorf("six days late: one grower moves it by %.2f, five by %.2f days", one, five)
	}
	if early := moved(5, -6, as); math.Abs(early+five) > 1 {
		t.Errorf("six days early by five growers moves it by %.2f, late by %.2f", early, five)
	}
	high := moved(5, 6, func(s *Pooled) { s.Elevation += 900 })
	far := moved(5, 6, func(s *Pooled) { s.Lon += 20 })
	if !(0 < far && far < high && high < five) {
		t.Errorf("near %.2f, 900 m up %.2f, 20 degrees away %.2f", five, high, far)
	}
	if got := moved(5, 6, func(s *Pooled) { s.On = pooledIssue + 1 }); got != 0 {
		t.Errorf("what is seen later moves it by %v", got)
	}
	if got := moved(5, unbelievable+1, as); got != 0 {
		t.Errorf("what nobody can believe moves it by %v", got)
	}
	now := func(s *Pooled) { s.Year, s.On = 2026, pooledIssue-1 } // three sightings of one spring
	if news := moved(3, 6, now); !(0.5 < news && news < 6) {
		t.Errorf("this spring's news moves it by %.2f", news)
	}
	t.Logf("measured: six days late: one grower moves it by %.2f days, five by %.2f, five 900 m up by %.2f, five 20 degrees away by %.2f", one, five, high, far)
}

// TestPoolHostile: a grower who makes things up counts for one tree, whatever they
// send, and a fifth of all growers moves hardly anything.
func TestPoolHostile(t *testing.T) {
	o := knownWeather(t, places["continental"], pooledIssue)
	flood := func(grower string, late float64) []Pooled {
		var out []Pooled
		for range 334 {
			out = append(out, toldBy(grower, o.Site, late)...)
		}
		return out
	}
	alone := clockAt(t, o, nil, nil)
	honest := func(n int) (out []Pooled) {
		for i := range n {
			out = append(out, toldBy(fmt.Sprint("honest ", i), o.Site, float64(i%5)-1)...)
		}
		return out
	}
	most, worst := 0.0, 0.0
	for _, late := range []float64{-60, -40, -25, -15, -10, -6, 6, 10, 15, 25, 40, 60} {
		if many, few := clockAt(t, o, nil, flood("bad", late)), clockAt(t, o, nil, toldBy("bad", o.Site, late)); many != few {
			t.Errorf("%v days late: a thousand sightings tell %v, three tell %v", late, many, few)
		}
		moved := math.Abs(clockAt(t, o, nil, flood("bad", late)) - alone)
		if most = max(most, moved); moved > dayEach+0.01 {
			t.Errorf("%v days late: alone one grower moves it by %.2f days", late, moved)
		}
		pool := honest(8)
		among := clockAt(t, o, nil, pool)
		for i := range 2 {
			pool = append(pool, flood(fmt.Sprint("bad ", i), late)...)
		}
		moved = math.Abs(clockAt(t, o, nil, pool) - among)
		if worst = max(worst, moved); moved > 1.5 {
			t.Errorf("%v days late: two of ten growers move it by %.2f days", late, moved)
		}
	}
	t.Logf("measured: at any lateness, a thousand sightings of one grower alone move a forecast by %.2f days at most, of two among ten by %.2f", most, worst)
}

// TestPoolBound: no pool whatever moves a forecast by more than it may, and its order
// is of no matter.
func TestPoolBound(t *testing.T) {
	o := knownWeather(t, places["continental"], pooledIssue)
	species := []string{pooledMaple.Species, "Fagus sylvatica"}
	alone := clockAt(t, o, nil, nil)
	rapid.Check(t, func(t *rapid.T) {
		growers := map[string]bool{}
		var pool []Pooled
		for range rapid.IntRange(1, 40).Draw(t, "rows") {
			year := rapid.IntRange(2020, 2026).Draw(t, "year")
			s := Pooled{
				Grower: fmt.Sprint(rapid.IntRange(0, 5).Draw(t, "grower")), Species: rapid.SampledFrom(species).Draw(t, "species"),
				Phase: rapid.SampledFrom(springPhases).Draw(t, "phase"), Year: year, On: climate.NewDate(year, time.April, 1),
				Late: rapid.Float64Range(-400, 400).Draw(t, "late"), Variance: rapid.Float64Range(0, 100).Draw(t, "variance"),
				Lat: rapid.Float64Range(-90, 90).Draw(t, "lat"), Lon: rapid.Float64Range(-180, 180).Draw(t, "lon"),
				Elevation: rapid.Float64Range(-500, 9000).Draw(t, "elevation"),
			}
			growers[s.Grower] = true
			pool = append(pool, s)
		}
		f, err := NewPooledForecaster(o, nil, pool)
		if err != nil {
			t.Fatal(err)
		}
		season, err := f.Season(pooledMaple, "", 2026)
		if err != nil {
			t.Fatal(err)
		}
		check(t, f, season)
		moved := clockAt(t, o, nil, pool) - alone
		if math.Abs(moved) > min(float64(dayEach*len(growers)), daysAll)+0.05 { // a table's step
			t.Fatalf("%d growers move it by %v days", len(growers), moved)
		}
		slices.Reverse(pool)
		if again := clockAt(t, o, nil, pool) - alone; again != moved {
			t.Fatalf("moved by %v, and by %v in the other order", moved, again)
		}
	})
}

// TestTell: what is told elsewhere is how far a tree was from what was to be expected.
func TestTell(t *testing.T) {
	o := knownWeather(t, places["continental"], pooledIssue)
	f, err := NewForecaster(o, nil)
	if err != nil {
		t.Fatal(err)
	}
	g, _ := f.pastClock(2025)
	usual, _, _ := f.normal(f.priors.of(Habit{Species: pooledMaple.Species}).Day)
	day, _ := g.reach(usual + 5)
	on := o.Site.SeasonStart(2025) + climate.Date(math.Round(day))
	f, err = NewForecaster(o, []Sighting{
		{"x", pooledMaple.Species, BudBreak, on, climate.NoDate},
		{"y", "", BudBreak, on, climate.NoDate},
		{"x", pooledMaple.Species, AutumnColour, on + 160, climate.NoDate},
		{"x", pooledMaple.Species, BudBreak, climate.NoDate, pooledIssue - 1},
	})
	if err != nil {
		t.Fatal(err)
	}
	got := f.Tell()
	if len(got) != 1 || got[0].Tree != "x" || got[0].On != on || got[0].Year != 2025 || math.Abs(got[0].Late-5) > 1.5 || got[0].Variance > 2 {
		t.Errorf("told %+v, want five days late", got)
	}
	for name, bad := range map[string]func(*Pooled){
		"grower": func(s *Pooled) { s.Grower = "" }, "phase": func(s *Pooled) { s.Phase = LeafFall }, "late": func(s *Pooled) { s.Late = math.NaN() },
		"variance": func(s *Pooled) { s.Variance = -1 }, "lat": func(s *Pooled) { s.Lat = 91 }, "day": func(s *Pooled) { s.On = climate.NoDate },
	} {
		pool := toldBy("a", o.Site, 3)
		bad(&pool[1])
		if _, err := NewPooledForecaster(o, nil, pool); err == nil {
			t.Errorf("%s: taken", name)
		}
	}
}

// TestPoolOfHarvard measures what a grower of three trees gains from others. The
// plants of Harvard Forest are dealt to growers: three, of the species that are
// well seen, to one, the others to five. On three days of each of nine springs the one
// forecasts from the springs before, alone and with what the others told up to then.
func TestPoolOfHarvard(t *testing.T) {
	skipApart(t)
	h := readHarvard(t)
	p := withoutSpecies(t)
	all := h.trial().Sightings
	var trees []string
	for _, s := range all {
		if !slices.Contains(trees, s.Tree) {
			trees = append(trees, s.Tree)
		}
	}
	slices.Sort(trees)
	random := rand.New(rand.NewPCG(1, 1))
	const deals = 4
	type score struct{ squares, crps, n float64 }
	days := []climate.MonthDay{{Month: time.March, Day: 15}, {Month: time.April, Day: 15}, {Month: time.May, Day: 1}}
	scores := make([][2]score, len(days))
	for range deals {
		random.Shuffle(len(trees), func(i, k int) { trees[i], trees[k] = trees[k], trees[i] })
		owner := map[string]int{}
		for i, tree := range trees {
			if owner[tree] = 0; i >= 3 {
				owner[tree] = 1 + i%5
			}
		}
		for _, year := range []int{1992, 1994, 1996, 1998, 2000, 2002} {
			for at, day := range days {
				issue := day.In(year)
				o, err := (&climate.Weather{Record: h.raw}).Outlook(h.site, issue)
				if err != nil {
					t.Fatal(err)
				}
				pool := dealt(t, h, p, o, all, owner)
				var seen, targets []Sighting
				for _, s := range all {
					if owner[s.Tree] != 0 {
						continue
					}
					if s.On <= issue {
						seen = append(seen, s)
					} else if h.site.Season(s.On) == year {
						targets = append(targets, s)
					}
				}
				for k, pooled := range [][]Pooled{nil, pool} {
					f, err := newForecaster(o, seen, pooled, p)
					if err != nil {
						t.Fatal(err)
					}
					for _, s := range targets {
						season, err := f.Season(Habit{Species: s.Species, Group: Deciduous}, s.Tree, year)
						if err != nil {
							t.Fatal(err)
						}
						dates := season.Phases[BudBreak].Dates
						spread, ok := dates.Spread()
						if !ok {
							t.Fatalf("%d: no bud break of %s", year, s.Tree)
						}
						c := &scores[at][k]
						c.squares += math.Pow(float64(spread.P50-s.On), 2)
						c.crps += sampleCRPS(dates, s.On)
						c.n++
					}
				}
			}
		}
	}
	for at, day := range days {
		alone, with := scores[at][0], scores[at][1]
		t.Logf("measured: issued %v, %.0f plant-springs: RMSE %.2f days alone, %.2f with the pool; CRPS %.2f, %.2f", day, alone.n,
			math.Sqrt(alone.squares/alone.n), math.Sqrt(with.squares/with.n), alone.crps/alone.n, with.crps/with.n)
		if with.crps > alone.crps {
			t.Errorf("issued %v: the pool makes forecasts worse: CRPS %.2f, alone %.2f", day, with.crps/with.n, alone.crps/alone.n)
		}
	}
}

// dealt is what the growers from 1 on tell of their trees, each from what they saw.
func dealt(t testing.TB, h *harvard, p *priors, o *climate.Outlook, all []Sighting, owner map[string]int) (out []Pooled) {
	t.Helper()
	for g := 1; g <= 5; g++ {
		var seen []Sighting
		for _, s := range all {
			if owner[s.Tree] == g && s.On <= o.Issue {
				seen = append(seen, s)
			}
		}
		f, err := newForecaster(o, seen, nil, p)
		if err != nil {
			t.Fatal(err)
		}
		for _, s := range f.Tell() {
			out = append(out, Pooled{
				Grower: fmt.Sprint(g), Species: s.Species, Phase: s.Phase, On: s.On, Year: s.Year, Late: s.Late, Variance: s.Variance,
				Lat: math.Round(10*h.site.Lat) / 10, Lon: math.Round(10*h.site.Lon) / 10, Elevation: 350,
			})
		}
	}
	return out
}

// sampleCRPS is the continuous ranked probability score of draws.
// Source: Gneiting and Raftery 2007, JASA 102:359, from memory.
func sampleCRPS(dates climate.Sample, on climate.Date) float64 {
	var days []float64
	for _, d := range dates {
		if d.Valid() {
			days = append(days, float64(d))
		}
	}
	slices.Sort(days)
	miss, between, n := 0.0, 0.0, float64(len(days))
	for i, d := range days {
		miss += math.Abs(d - float64(on))
		between += d * (2*float64(i) + 1 - n)
	}
	return miss/n - between/(n*n)
}
