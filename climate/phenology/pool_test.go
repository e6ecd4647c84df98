package phenology

import (
	"fmt"
	"math"
	"math/rand/v2"
	"reflect"
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
	return f.clockAt(t)
}

func (f *Forecaster) clockAt(t fatal) float64 {
	t.Helper()
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
	var own []Sighting
	for _, tree := range []string{"x", "y", "z"} {
		for _, year := range []int{2023, 2024, 2025} {
			own = append(own, Sighting{tree, pooledMaple.Species, BudBreak, climate.NewDate(year, time.April, 20), climate.NoDate})
		}
	}
	most, worst, settled := 0.0, 0.0, 0.0
	for _, late := range []float64{-60, -25, -10, -6, 6, 10, 25, 60} {
		if many, few := clockAt(t, o, nil, flood("bad", late)), clockAt(t, o, nil, toldBy("bad", o.Site, late)); many != few {
			t.Errorf("%v days late: a thousand sightings tell %v, three tell %v", late, many, few)
		}
		moved := math.Abs(clockAt(t, o, nil, flood("bad", late)) - alone)
		if most = max(most, moved); moved > dayEach+0.01 {
			t.Errorf("%v days late: alone one grower moves it by %.2f days", late, moved)
		}
		moved = math.Abs(clockAt(t, o, own, flood("bad", late)) - clockAt(t, o, own, nil))
		if settled = max(settled, moved); moved > 1.5 {
			t.Errorf("%v days late: one grower moves by %.2f days what three springs of three trees tell", late, moved)
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
	t.Logf("measured: at any lateness, a thousand sightings of one grower alone move a forecast by %.2f days at most, by %.2f where three trees were seen for three springs, of two among ten growers by %.2f", most, settled, worst)
}

// TestPoolBound: no pool whatever moves a forecast by more than it may, and its order
// is of no matter.
func TestPoolBound(t *testing.T) {
	o := knownWeather(t, places["continental"], pooledIssue)
	species := []string{pooledMaple.Species, "Fagus sylvatica"}
	f, err := NewForecaster(o, nil)
	if err != nil {
		t.Fatal(err)
	}
	alone := f.clockAt(t)
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
		moved := func() float64 {
			var err error
			if f.others, err = f.newOthers(pool); err != nil {
				t.Fatal(err)
			}
			f.taught = map[lesson]func() (*learned, error){}
			return f.clockAt(t) - alone
		}
		first := moved()
		if math.Abs(first) > min(float64(dayEach*len(growers)), daysAll)+0.05 { // a table's step
			t.Fatalf("%d growers move it by %v days", len(growers), first)
		}
		slices.Reverse(pool)
		if again := moved(); again != first {
			t.Fatalf("moved by %v, and by %v in the other order", first, again)
		}
		season, err := f.Season(pooledMaple, "", 2026)
		if err != nil {
			t.Fatal(err)
		}
		check(t, f, season)
	})
}

// TestPoolOfMany: of a crowd those are heard whose places are most alike, whatever the order.
func TestPoolOfMany(t *testing.T) {
	o := knownWeather(t, places["continental"], pooledIssue)
	f, err := NewForecaster(o, nil)
	if err != nil {
		t.Fatal(err)
	}
	var pool []Pooled
	for g := range mostVoices + 50 {
		s := toldBy(fmt.Sprintf("%03d", g), o.Site, 1)
		for i := range s {
			s[i].Elevation += float64((7 * g) % (mostVoices + 50)) // each at another elevation
		}
		pool = append(pool, s...)
	}
	want, err := f.newOthers(pool)
	if err != nil || len(want.growers) != 2 || want.growers[""] != mostVoices || want.growers[pooledMaple.Species] != mostVoices {
		t.Fatalf("heard: %v, %v", want.growers, err)
	}
	for g := range mostVoices + 50 {
		name := fmt.Sprintf("%03d", g)
		if _, heard := want.sites[name]; heard != ((7*g)%(mostVoices+50) < mostVoices) {
			t.Errorf("grower %s heard: %v", name, heard)
		}
	}
	slices.Reverse(pool)
	again, err := f.newOthers(pool)
	if err != nil || !reflect.DeepEqual(again, want) {
		t.Errorf("in the other order others are heard: %v", err)
	}
	// A flood by one who names many species drowns nobody.
	var flood []Pooled
	for i := range 2 * mostVoices {
		s := toldBy("flood", o.Site, 9)[0]
		s.Species = fmt.Sprint("Species ", i)
		s.Lat = o.Site.Lat // the nearest of all
		flood = append(flood, s)
	}
	few, err := f.newOthers(append(flood, toldBy("honest", o.Site, 1)...))
	if err != nil || few.growers[pooledMaple.Species] != 1 {
		t.Errorf("the flood drowns others: %v, %v", few, err)
	}
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

// harvardScore is how good forecasts of bud break were.
type harvardScore struct{ squares, crps, n float64 }

func (c *harvardScore) add(t testing.TB, f *Forecaster, targets []Sighting, year int) {
	t.Helper()
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
		c.squares += math.Pow(float64(spread.P50-s.On), 2)
		c.crps += sampleCRPS(dates, s.On)
		c.n++
	}
}

func (c *harvardScore) String() string {
	return fmt.Sprintf("RMSE %.2f, CRPS %.2f days", math.Sqrt(c.squares/c.n), c.crps/c.n)
}

// TestPoolOfHarvard measures what a grower of three trees gains from five others. The
// plants of Harvard Forest are dealt to six growers; each in turn keeps three only, and
// has seen two springs of them or all since 1990, and is told by the others what they saw of all
// of theirs up to the day. Nothing fitted to the species is known to anybody.
func TestPoolOfHarvard(t *testing.T) {
	skipApart(t)
	h := readHarvard(t)
	p := withoutSpecies(t)
	all := h.trial().Sightings
	const growers, few = 6, 3
	owner, kept := map[string]int{}, map[string]bool{}
	var trees []string
	for _, s := range all {
		if !slices.Contains(trees, s.Tree) {
			trees = append(trees, s.Tree)
		}
	}
	slices.Sort(trees)
	rand.New(rand.NewPCG(1, 1)).Shuffle(len(trees), func(i, k int) { trees[i], trees[k] = trees[k], trees[i] })
	for i, tree := range trees {
		owner[tree], kept[tree] = i%growers, i < few*growers
	}
	for _, day := range []climate.MonthDay{{Month: time.April, Day: 1}, {Month: time.May, Day: 1}} {
		var short, shortPooled, long, longPooled harvardScore
		for _, year := range []int{1994, 1996, 1998, 2000, 2002} {
			issue := day.In(year)
			o, err := (&climate.Weather{Record: h.raw}).Outlook(h.site, issue)
			if err != nil {
				t.Fatal(err)
			}
			pool := dealt(t, h, p, o, all, owner, growers)
			for g := range growers {
				others := slices.DeleteFunc(slices.Clone(pool), func(s Pooled) bool { return s.Grower == fmt.Sprint(g) })
				for _, springs := range []int{2, 100} {
					var seen, targets []Sighting
					for _, s := range all {
						season := h.site.Season(s.On)
						switch {
						case owner[s.Tree] != g || !kept[s.Tree] || season < year-springs || season > year:
						case s.On <= issue:
							seen = append(seen, s)
						case season == year: // and the grower has looked
							targets = append(targets, s)
							seen = append(seen, Sighting{s.Tree, s.Species, BudBreak, climate.NoDate, issue})
						}
					}
					f, err := newForecaster(o, seen, others, p)
					if err != nil {
						t.Fatal(err)
					}
					with, alone := &shortPooled, &short
					if springs > 2 {
						with, alone = &longPooled, &long
					}
					with.add(t, f, targets, year)
					f.others = nil
					alone.add(t, f, targets, year)
				}
			}
		}
		for _, c := range []struct {
			who         string
			alone, with *harvardScore
		}{{"two springs of three trees", &short, &shortPooled}, {"all springs of three trees", &long, &longPooled}} {
			t.Logf("measured: issued %v, %s (%.0f plant-springs): alone %v; with five others %v", day, c.who, c.alone.n, c.alone, c.with)
			if c.with.crps > 1.02*c.alone.crps {
				t.Errorf("issued %v, %s: the pool makes it worse", day, c.who)
			}
		}
		if shortPooled.crps > 0.95*short.crps {
			t.Errorf("issued %v: who has seen two springs gains less than one part in twenty", day)
		}
	}
}

// dealt is what each of the growers tells of their trees, from what they saw.
func dealt(t testing.TB, h *harvard, p *priors, o *climate.Outlook, all []Sighting, owner map[string]int, growers int) (out []Pooled) {
	t.Helper()
	for g := range growers {
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
