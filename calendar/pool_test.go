package calendar

import (
	"math"
	"slices"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"budswell/climate"
	"budswell/climate/phenology"
)

// toldOf is a sighting of a beech in the spring of 2026.
func toldOf(grower string, late, elevation float64) PooledEntry {
	return PooledEntry{Pooled: phenology.Pooled{
		Grower: grower, Species: "Fagus sylvatica", Phase: phenology.BudBreak, On: climate.NewDate(2026, time.April, 20) + climate.Date(late),
		Year: 2026, Late: late, Variance: 0.5, Lat: 47.1, Lon: 8.9, Elevation: elevation,
	}}
}

func TestOddOnes(t *testing.T) {
	aside := toldOf("c", 40, 500)
	aside.Aside = true
	other := toldOf("d", 1, 500)
	other.Year = 2025
	far := toldOf("d", -22, 500)
	far.Year = 2024
	for name, c := range map[string]struct {
		pool []PooledEntry
		want []float64
	}{
		"nothing":                        {nil, nil},
		"all alike":                      {[]PooledEntry{toldOf("a", 1, 500), toldOf("b", -3, 500), toldOf("c", 5, 500)}, nil},
		"one far from two":               {[]PooledEntry{toldOf("a", 1, 500), toldOf("b", 3, 500), toldOf("c", 18, 500)}, []float64{16}},
		"of two nobody can say who":      {[]PooledEntry{toldOf("a", -10, 500), toldOf("b", 10, 500)}, []float64{-20, 20}},
		"alone, within what may be":      {[]PooledEntry{toldOf("a", 20, 500)}, nil},
		"alone, beyond":                  {[]PooledEntry{far}, []float64{-22}},
		"another spring is no witness":   {[]PooledEntry{toldOf("a", 18, 500), other}, nil},
		"what is set aside has no voice": {[]PooledEntry{toldOf("a", 18, 500), aside}, []float64{22}}, // and stays on the list
	} {
		t.Run(name, func(t *testing.T) {
			var got []float64
			for _, o := range OddOnes(c.pool) {
				got = append(got, o.Off)
			}
			if d := cmp.Diff(c.want, got); d != "" {
				t.Errorf("(-want +got)\n%s", d)
			}
		})
	}
	// A thousand sightings of one are one voice: they do not make the others odd.
	pool := []PooledEntry{toldOf("a", 0, 500), toldOf("b", 1, 500), toldOf("c", 2, 500)}
	for range 1000 {
		pool = append(pool, toldOf("bad", 50, 500))
	}
	for _, o := range OddOnes(pool) {
		if o.Grower != "bad" {
			t.Errorf("%s is odd, by %v days", o.Grower, o.Off)
		}
	}
}

func TestBands(t *testing.T) {
	aside := toldOf("c", 30, 700)
	aside.Aside = true
	old := toldOf("a", 2, -150)
	old.Year = 2025
	got := Bands([]PooledEntry{toldOf("a", 1, 600), toldOf("a", 1, 700), toldOf("a", 1, 750), toldOf("b", 5, 799), toldOf("b", 4, 800), aside, old})
	day := climate.NewDate(2026, time.April, 20)
	want := []PoolBand{
		{"Fagus sylvatica", 600, 800, 2026, 2, 4, 3, day + 1, day + 5}, // each grower with one voice
		{"Fagus sylvatica", 800, 1000, 2026, 1, 1, 4, day + 4, day + 4},
		{"Fagus sylvatica", -200, 0, 2025, 1, 1, 2, day + 2, day + 2},
	}
	if d := cmp.Diff(want, got); d != "" {
		t.Errorf("(-want +got)\n%s", d)
	}
}

// TestTellRounds: wherever a tree stands, others hear no more of it than was said, and all
// that is told is allowed.
func TestTellRounds(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		site := climate.Site{
			Lat: rapid.Float64Range(-90, 90).Draw(t, "lat"), Lon: rapid.Float64Range(-180, 180).Draw(t, "lon"),
			Elevation: rapid.Float64Range(-430, 6000).Draw(t, "elevation"), Name: "secret",
		}
		seen := []phenology.Told{{Tree: "x", Species: "Fagus sylvatica", Phase: phenology.BudBreak, On: climate.NewDate(2026, 4, 20), Year: 2026, Late: 3, Variance: 1}}
		k := Tell("a", site, seen)[0]
		if err := k.Check(); err != nil {
			t.Fatal(err)
		}
		for _, v := range []struct{ told, is, step float64 }{{k.Lat, site.Lat, 0.1}, {k.Lon, site.Lon, 0.1}, {k.Elevation, site.Elevation, 50}} {
			if math.Abs(v.told-v.is) > v.step/2+1e-9 || math.Abs(v.told/v.step-math.Round(v.told/v.step)) > 1e-9 {
				t.Fatalf("%v is told as %v", v.is, v.told)
			}
		}
	})
}

func TestRolesMay(t *testing.T) {
	for _, r := range append(Roles(), "", "owner") {
		for _, asked := range append(Roles(), "", "owner") {
			i, k := slices.Index(Roles(), r), slices.Index(Roles(), asked)
			if want := i >= 0 && k >= 0 && i <= k; r.May(asked) != want {
				t.Errorf("%q may what %q may: %v", r, asked, !want)
			}
		}
	}
}
