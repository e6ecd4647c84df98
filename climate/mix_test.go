package climate

import (
	"math"
	"testing"
)

// TestOwnRecordOutranksLookedUpNormals gives a site normals that are three
// degrees too warm, with an error of one degree, and more and more of a record.
func TestOwnRecordOutranksLookedUpNormals(t *testing.T) {
	site := north(45)
	truth, err := continental.Cycle(site)
	if err != nil {
		t.Fatal(err)
	}
	first := NewDate(2001, 1, 1)
	long := recordOf(first, truth.generate(4, first, 12*366, 1)[0])
	wrong := continental
	for m := range 12 {
		wrong.Tmin[m] += 3
		wrong.Tmax[m] += 3
	}
	wrong.Source, wrong.Error = "a map", 1
	last := -0.01
	for _, years := range []int{0, 1, 2, 3, 5, 9, 11} {
		issue := NewDate(2001+years, 1, 1)
		w := Weather{Normals: &wrong, Record: long.Until(issue - 1)}
		if years == 0 {
			w.Record = nil
		}
		o, err := w.Outlook(site, issue)
		if err != nil {
			t.Fatal(err)
		}
		c, weight, err := w.cycle(site, w.Record)
		if err != nil {
			t.Fatal(err)
		}
		warm := 0.0
		for i := range c.tmin {
			warm += (c.tmin[i] - truth.tmin[i]) / cycleDays
		}
		t.Logf("%d years: weight of the record %.2f, typical year %+.1f C off", years, weight, warm)
		if weight <= last && weight < 1 {
			t.Errorf("%d years: weight %.2f after %.2f", years, weight, last)
		}
		last = weight
		if want := 3 * (1 - weight); math.Abs(warm-want) > 1.5 {
			t.Errorf("%d years: %.1f C off, want about %.1f", years, warm, want)
		}
		switch b := o.Basis; {
		case years < 10 && (b.Normals != "a map" || b.OwnWeight != weight):
			t.Errorf("%d years: basis %+v", years, b)
		case years > 10 && (b.Normals != "" || b.OwnWeight != 0 || weight != 1):
			t.Errorf("%d years: weight %v, basis %+v", years, weight, b)
		case years == 0 && b.Source != "a map":
			t.Errorf("source %q", b.Source)
		}
	}
}

// The weights that the documentation states.
func TestWeights(t *testing.T) {
	c := &Cycle{}
	for i := range c.tminSD {
		c.tminSD[i], c.tmaxSD[i] = 4.5, 4.5
	}
	for _, tt := range []struct {
		years int
		want  float64
	}{{1, 0.20}, {3, 0.43}, {9, 0.69}} {
		if got := c.weight(365*tt.years, 1); math.Abs(got-tt.want) > 0.005 {
			t.Errorf("%d years: weight %.3f, want %.2f", tt.years, got, tt.want)
		}
	}
}
