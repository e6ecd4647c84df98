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
