package phenology

import (
	"fmt"
	"testing"
	"time"

	"budswell/climate"
)

func BenchmarkNewForecaster(b *testing.B) {
	o := places["continental"].outlook(b, climate.NewDate(2026, time.April, 10))
	for _, n := range []int{0, 100, 1000} {
		var seen []Sighting
		for i := range n {
			seen = append(seen, Sighting{
				Tree: fmt.Sprint("tree ", i%(1+n/5)), Species: fmt.Sprint("Species ", i%20), Phase: BudBreak,
				On: climate.NewDate(2020+i/(1+n/5), time.April, 20), NotYet: climate.NoDate,
			})
		}
		b.Run(fmt.Sprintf("sightings=%d", n), func(b *testing.B) {
			for b.Loop() {
				if _, err := NewForecaster(o, seen); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

func BenchmarkSums(b *testing.B) {
	f, err := NewForecaster(places["continental"].outlook(b, climate.NewDate(2026, time.April, 10)), nil)
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		f.build(2026, f.weathers(2026))
	}
}

func BenchmarkSeason(b *testing.B) {
	f, err := NewForecaster(places["continental"].outlook(b, climate.NewDate(2026, time.April, 10)), nil)
	if err != nil {
		b.Fatal(err)
	}
	for _, g := range Groups() {
		b.Run(string(g), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, err := f.Season(Habit{Group: g, Flush: Middle}, "", 2026); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
