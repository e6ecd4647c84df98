package phenology

import (
	"fmt"
	"testing"
	"time"

	"budswell/climate"
)

// seenOf makes sightings of so many trees of twenty species in so many springs.
func seenOf(trees, years int) []Sighting {
	var out []Sighting
	for tree := range trees {
		for y := range years {
			out = append(out, Sighting{
				Tree: fmt.Sprint("tree ", tree), Species: fmt.Sprint("Species ", tree%20), Phase: BudBreak,
				On: climate.NewDate(2025-y, time.April, 20+(tree+3*y)%10), NotYet: climate.NoDate,
			})
		}
	}
	return out
}

// BenchmarkNewForecaster prepares a place: all curves are weighed by its springs
// where the weather of two of them at least is known.
func BenchmarkNewForecaster(b *testing.B) {
	p := places["continental"]
	record := recordOf(b, p, 2016, 10)
	o, err := (&climate.Weather{Record: record}).Outlook(p.site(), climate.NewDate(2026, time.January, 20))
	if err != nil {
		b.Fatal(err)
	}
	for _, n := range [][2]int{{0, 0}, {20, 2}, {20, 4}, {20, 8}, {200, 4}} {
		seen := seenOf(n[0], n[1])
		b.Run(fmt.Sprintf("trees=%d/years=%d", n[0], n[1]), func(b *testing.B) {
			for b.Loop() {
				if _, err := NewForecaster(o, seen); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

// BenchmarkPooledForecaster prepares a place where ten trees were seen in four springs,
// with what other growers tell of ten species in ten springs each.
func BenchmarkPooledForecaster(b *testing.B) {
	p := places["continental"]
	o, err := (&climate.Weather{Record: recordOf(b, p, 2016, 10)}).Outlook(p.site(), climate.NewDate(2026, time.January, 20))
	if err != nil {
		b.Fatal(err)
	}
	for _, growers := range []int{0, 5, 20, 50} {
		var pool []Pooled
		for g := range growers {
			for s := range 10 {
				for y := range 10 {
					pool = append(pool, Pooled{
						Grower: fmt.Sprint(g), Species: fmt.Sprint("Species ", (g+s)%20), Phase: BudBreak, On: climate.NewDate(2025-y, time.April, 20),
						Year: 2025 - y, Late: float64((g+3*s+7*y)%9) - 4, Variance: 0.5, Lat: p.lat, Elevation: 100,
					})
				}
			}
		}
		b.Run(fmt.Sprintf("growers=%d", growers), func(b *testing.B) {
			for b.Loop() {
				if _, err := NewPooledForecaster(o, seenOf(10, 4), pool); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

// BenchmarkSums builds what all trees share of a season.
func BenchmarkSums(b *testing.B) {
	f, err := NewForecaster(places["continental"].outlook(b, climate.NewDate(2026, time.April, 10)), nil)
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		f.build(2026, f.weathers(2026))
	}
}

// BenchmarkForecast is one tree's season after the shared sums are built; the
// first line is 500 draws from 30 years of weather, the rest shows how it grows.
func BenchmarkForecast(b *testing.B) {
	for _, c := range []struct{ draws, years, trees int }{
		{500, 30, 1}, {1000, 30, 1}, {2000, 30, 1}, {500, 10, 1}, {500, 40, 1}, {500, 30, 10}, {500, 30, 100},
	} {
		o := *places["continental"].outlook(b, climate.NewDate(2026, time.April, 10))
		o.Members = o.Members[:c.years]
		f, err := NewForecaster(&o, nil)
		if err != nil {
			b.Fatal(err)
		}
		f.chances = drawChances(c.years, (c.draws+c.years-1)/c.years)
		if f.sums(2026) == nil {
			b.Fatal("no season")
		}
		b.Run(fmt.Sprintf("draws=%d/years=%d/trees=%d", c.draws, c.years, c.trees), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				for range c.trees {
					if _, err := f.Season(Habit{Species: "Acer rubrum", Group: Deciduous}, "", 2026); err != nil {
						b.Fatal(err)
					}
				}
			}
		})
	}
}

// BenchmarkDraw is the loop over the draws alone.
func BenchmarkDraw(b *testing.B) {
	f, err := NewForecaster(places["continental"].outlook(b, climate.NewDate(2026, time.April, 10)), nil)
	if err != nil {
		b.Fatal(err)
	}
	for _, g := range Groups() {
		d := &drawing{f: f, s: f.sums(2026), habit: Habit{Group: g, Flush: Middle}}
		if err := d.set(g.Phases()); err != nil {
			b.Fatal(err)
		}
		b.Run(string(g), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				for i := range f.chances {
					d.draw(i)
				}
			}
		})
	}
}

// BenchmarkDates is one phase of one tree on 500 points of its distribution in
// each of 30 years, 15,000 dates.
func BenchmarkDates(b *testing.B) {
	o := *places["continental"].outlook(b, climate.NewDate(2026, time.April, 10))
	o.Members = o.Members[:30]
	f, err := NewForecaster(&o, nil)
	if err != nil {
		b.Fatal(err)
	}
	d := &drawing{f: f, s: f.sums(2026), habit: Habit{Species: "Acer rubrum", Group: Deciduous}}
	if err := d.set(Deciduous.Phases()); err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	sum := 0.0
	for b.Loop() {
		for i := range 500 {
			v := d.bud.above((float64(i)+0.5)/500, 100)
			for _, g := range d.gauges {
				day, _ := g.reach(v)
				sum += day
			}
		}
	}
	if sum == 0 {
		b.Fatal("no dates")
	}
}
