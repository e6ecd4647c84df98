package phenology

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// TestStudent: the closed form is the integral of the density, and has the published 95 % point of four degrees of freedom, 2.132
// (any table of t, from memory).
func TestStudent(t *testing.T) {
	const step = 1e-3
	sum := 0.5
	for x := 0.0; x < 6; x += step {
		if math.Abs(studentBelow(x)-sum) > 1e-6 || math.Abs(studentBelow(x)+studentBelow(-x)-1) > 1e-12 {
			t.Fatalf("below %.3f: %v, integrated %v", x, studentBelow(x), sum)
		}
		sum += step * studentDensity(x+step/2)
	}
	if math.Abs(studentBelow(2.132)-0.95) > 1e-4 {
		t.Errorf("below 2.132: %v", studentBelow(2.132))
	}
}

// TestDistribution: whatever was seen, a table rises from 0 to 1, a draw is above its floor and
// the later the higher, and the share below a draw is what was asked for.
func TestDistribution(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		mean := rapid.Float64Range(60, 200).Draw(t, "mean")
		scale := rapid.Float64Range(0.5, 8).Draw(t, "scale")
		var seen []glimpse
		for range rapid.IntRange(0, 4).Draw(t, "others") {
			g := glimpse{mean: mean, scale: scale, closed: mean + rapid.Float64Range(-20, 20).Draw(t, "closed"), open: math.Inf(1)}
			if rapid.Bool().Draw(t, "opened") {
				g.open = g.closed + rapid.Float64Range(0.5, 7).Draw(t, "interval")
			}
			seen = append(seen, g)
		}
		d := studentDistribution(mean, scale, shared(rapid.Float64Range(1, 40).Draw(t, "variance"), seen))
		if rapid.Bool().Draw(t, "read") {
			d.given(mean+rapid.Float64Range(-60, 60).Draw(t, "reading"), rapid.Float64Range(1, 30).Draw(t, "of"))
		}
		for i, f := range d.below {
			if math.IsNaN(f) || f < -1e-9 || f > 1+1e-9 || i > 0 && f < d.below[i-1]-1e-12 {
				t.Fatalf("below[%d] = %v after %v", i, f, d.below[max(0, i-1)])
			}
		}
		if last := d.below[len(d.below)-1]; last < 0.999 {
			t.Fatalf("it ends at %v", last)
		}
		floor := mean + rapid.Float64Range(-30, 30).Draw(t, "floor")
		before := math.Inf(-1)
		for p := 0.05; p < 1; p += 0.1 {
			x := d.above(p, floor)
			if x < floor || x < before {
				t.Fatalf("draw %v at %.2f: want above %v and %v", x, p, floor, before)
			}
			before = x
			if f := d.at(floor); f < 0.99 && math.Abs((d.at(x)-f)/(1-f)-p) > 0.02 {
				t.Fatalf("below draw %v lies %.3f of what is above the floor: want %.2f", x, (d.at(x)-f)/(1-f), p)
			}
		}
	})
}

// TestSpreadsAreFound: misses that are made with spreads are told to have them, about.
func TestSpreadsAreFound(t *testing.T) {
	const species, springs, trees = 20, 12, 4
	want := spreads{usualSpreads.tree, 1.2, 3.4, 1.5}
	var rows []standRow
	for sp := range species {
		for y := range springs {
			for tr := range trees {
				rows = append(rows, standRow{sp, sp*trees + tr, y, 100})
			}
		}
	}
	s := newStand(rows)
	normal := func(k int) float64 { return quantile((noise(k) + 1) / 2) }
	missed := make([]float64, len(s.rows))
	for i, r := range s.rows {
		missed[i] = want.spring*normal(r.spring+1) + want.speciesSpring*normal(1000+r.species*50+r.spring) + want.err*1.2*normal(9000+i)
	}
	got := s.likely(missed)
	t.Logf("made with %+v, found %+v", want, got)
	if math.Abs(got.speciesSpring-want.speciesSpring) > 0.8 || math.Abs(got.err-want.err) > 0.5 || got.spring > 2.2 {
		t.Errorf("made with %+v, found %+v", want, got)
	}
}
