package climate

import (
	"math"
	"reflect"
	"testing"
	"time"

	"pgregory.net/rapid"
)

func TestGeneratorKeepsNormals(t *testing.T) {
	for _, tt := range []struct {
		name string
		site Site
		n    Normals
	}{
		{"maritime", north(55), maritime},
		{"continental", north(45), continental},
		{"southern", north(-35), southern},
		{"tropical", north(5), tropical},
		{"frozen", north(78), frozen},
	} {
		t.Run(tt.name, func(t *testing.T) {
			c, err := tt.n.Cycle(tt.site)
			if err != nil {
				t.Fatal(err)
			}
			const years = 200
			first := NewDate(2001, 1, 1)
			var lo, hi, days, sq [12]float64
			z, pairs := 0.0, 0.0 // products of neighbouring days, squares
			for _, m := range c.generate(1, first, 365, years) {
				last := nan
				for k := range m.Tmin {
					d := first + Date(k)
					if m.Tmin[k] > m.Tmax[k] {
						t.Fatalf("%v: minimum %v above maximum %v", d, m.Tmin[k], m.Tmax[k])
					}
					i := d.Month() - 1
					lo[i] += m.Tmin[k]
					hi[i] += m.Tmax[k]
					days[i]++
					dep := m.Tmin[k] - c.tmin[cycleDay(d)]
					sq[i] += dep * dep
					now := dep / c.tminSD[cycleDay(d)]
					if k > 0 {
						z += now * last
						pairs += now * now
					}
					last = now
				}
			}
			for i := range lo {
				month := time.Month(i + 1)
				if mean := lo[i] / days[i]; math.Abs(mean-tt.n.Tmin[i]) > 0.3 {
					t.Errorf("%v: mean minimum %.2f, typed %.2f", month, mean, tt.n.Tmin[i])
				}
				if mean := hi[i] / days[i]; math.Abs(mean-tt.n.Tmax[i]) > 0.3 {
					t.Errorf("%v: mean maximum %.2f, typed %.2f", month, mean, tt.n.Tmax[i])
				}
				k := cycleDay(NewDate(2001, month, 15))
				if sd := math.Sqrt(sq[i] / days[i]); math.Abs(sd/c.tminSD[k]-1) > 0.15 {
					t.Errorf("%v: standard deviation of minima %.2f, want %.2f", month, sd, c.tminSD[k])
				}
			}
			if lag1 := z / pairs; math.Abs(lag1-defaultLag1) > 0.05 {
				t.Errorf("correlation of neighbouring days %.2f, want %.2f", lag1, defaultLag1)
			}
		})
	}
}

func TestGeneratorIsDeterministic(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		seed := rapid.Uint64().Draw(t, "seed")
		c, err := maritime.Cycle(north(55))
		if err != nil {
			t.Fatal(err)
		}
		first := NewDate(2025, 9, 1)
		many, few := c.generate(seed, first, 60, 6), c.generate(seed, first, 60, 3)
		if !reflect.DeepEqual(many[:3], few) {
			t.Fatal("fewer members are not the first of more")
		}
		if other := c.generate(seed+1, first, 60, 3); reflect.DeepEqual(other, few) {
			t.Fatal("another seed gave the same years")
		}
	})
}

// TestGeneratorStaysOnEarth draws any normals that Validate lets through.
func TestGeneratorStaysOnEarth(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var n Normals
		sd := &[12]float64{}
		for m := range 12 {
			n.Tmin[m] = rapid.Float64Range(-70, 45).Draw(t, "tmin")
			n.Tmax[m] = rapid.Float64Range(max(n.Tmin[m], -60), 55).Draw(t, "tmax")
			sd[m] = rapid.Float64Range(0.1, 20).Draw(t, "sd")
		}
		if rapid.Bool().Draw(t, "sd known") {
			n.TminSD, n.TmaxSD = sd, sd
		}
		c, err := n.Cycle(north(rapid.Float64Range(-90, 90).Draw(t, "lat")))
		if err != nil {
			t.Fatal(err)
		}
		for _, m := range c.generate(rapid.Uint64().Draw(t, "seed"), NewDate(2023, 9, 1), 400, 2) {
			for k := range m.Tmin {
				if !(lowest <= m.Tmin[k] && m.Tmin[k] <= m.Tmax[k] && m.Tmax[k] <= highest) {
					t.Fatalf("day %d: %v to %v", k, m.Tmin[k], m.Tmax[k])
				}
			}
		}
	})
}

// TestGeneratorAgainstHarvardForest compares years made from the normals of a
// real record with the record's own frosts. It reads whole degrees, so that a
// frost read is one of half a degree more.
func TestGeneratorAgainstHarvardForest(t *testing.T) {
	site, r := harvard(t)
	for _, tt := range []struct {
		name string
		own  bool // standard deviations are the record's
		most Date // days that a quantile may be off
	}{{"own spread", true, 7}, {"estimated spread", false, 12}} {
		n, err := r.Normals()
		if err != nil {
			t.Fatal(err)
		}
		if !tt.own {
			n.TminSD, n.TmaxSD = nil, nil
		}
		c, err := n.Cycle(site)
		if err != nil {
			t.Fatal(err)
		}
		const season = 2001
		first := site.SeasonStart(season)
		o := &Outlook{Site: site, First: first, Members: c.generate(5, first, 365, 400)}
		for _, level := range FrostLevels {
			read, made := r.Frost(site, level), o.Frost(season, level+0.5)
			for _, x := range [][2]*MonthDay{
				{read.Spring.P10, made.Spring.P10},
				{read.Spring.P50, made.Spring.P50},
				{read.Spring.P90, made.Spring.P90},
				{read.Autumn.P10, made.Autumn.P10},
				{read.Autumn.P50, made.Autumn.P50},
				{read.Autumn.P90, made.Autumn.P90},
			} {
				d := x[1].In(season) - x[0].In(season)
				t.Logf("%s, %v C: read %v, made %v", tt.name, level, x[0], x[1])
				if d > tt.most || d < -tt.most {
					t.Errorf("%s, %v C: read %v, made %v, %d days off", tt.name, level, x[0], x[1], d)
				}
			}
		}
	}
}
