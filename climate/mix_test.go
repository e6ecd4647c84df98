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
		c, weight, correction, err := w.cycle(site, w.Record)
		if err != nil {
			t.Fatal(err)
		}
		warm := 0.0
		for i := range c.tmin {
			warm += (c.tmin[i] - truth.tmin[i]) / cycleDays
		}
		t.Logf("%d years: weight of the record %.2f, correction %+v, typical year %+.1f C off", years, weight, correction, warm)
		if weight <= last && weight < 1 {
			t.Errorf("%d years: weight %.2f after %.2f", years, weight, last)
		}
		last = weight
		// What the record's own year leaves is moved toward its readings too.
		if want := 3 * (1 - weight) * (1 - correction.Weight); math.Abs(warm-want) > 1.2 {
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

// TestShortRecordCorrectsNormals gives a site normals that are two degrees too warm,
// with an error of one degree, and less than a year of a record.
func TestShortRecordCorrectsNormals(t *testing.T) {
	site := north(45)
	truth, err := continental.Cycle(site)
	if err != nil {
		t.Fatal(err)
	}
	wrong := continental
	for m := range 12 {
		wrong.Tmin[m] += 2
		wrong.Tmax[m] += 2
	}
	wrong.Source, wrong.Error = "a map", 1
	first := NewDate(2001, 3, 1)
	const years = 200
	lots := truth.generate(4, first, 366, years)
	last := 0.0
	for _, tt := range []struct {
		days   int
		weight float64 // that the documentation states
	}{{0, 0}, {13, 0}, {14, 0.08}, {91, 0.28}, {365, 0.53}} {
		var warm, weight, worst float64
		for i := range lots {
			w := Weather{Normals: &wrong}
			if tt.days > 0 {
				w.Record = recordOf(first, lots[i]).Until(first + Date(tt.days) - 1)
			}
			c, own, correction, err := w.cycle(site, w.Record)
			if err != nil || tt.days < 300 && own != 0 {
				t.Fatal(own, err)
			}
			off := 0.0
			for k := range c.tmin {
				off += (c.tmin[k] - truth.tmin[k]) / cycleDays
			}
			warm += off / years
			weight = correction.Weight
			worst = max(worst, math.Abs(off-2))
			if correction.Weight > 0 && correction.Days != tt.days {
				t.Fatalf("%d days: %+v", tt.days, correction)
			}
		}
		t.Logf("%d days: correction with weight %.2f, typical year %+.2f C off, moved by %.2f at most", tt.days, weight, warm, worst)
		if math.Abs(weight-tt.weight) > 0.02 {
			t.Errorf("%d days: weight %.2f, want %.2f", tt.days, weight, tt.weight)
		}
		if tt.days < 300 && math.Abs(warm-2*(1-weight)) > 0.15 {
			t.Errorf("%d days: %.2f C off, want %.2f", tt.days, warm, 2*(1-weight))
		}
		if weight < last || (tt.days < shiftDays) != (worst < 1e-9) {
			t.Errorf("%d days: weight %.2f after %.2f, moved by up to %v", tt.days, weight, last, worst)
		}
		last = weight
	}
	// Typed normals, which state no error, stay as they were typed.
	wrong.Error = 0
	w := Weather{Normals: &wrong, Record: recordOf(first, lots[0]).Until(first + 90)}
	o, err := w.Outlook(site, first+90)
	if err != nil || o.Basis.Correction != (Correction{}) {
		t.Errorf("typed normals: %+v, %v", o.Basis.Correction, err)
	}
	wrong.Error = 1
	if o, err = w.Outlook(site, first+90); err != nil || o.Basis.Correction.Days != 91 || o.Basis.Correction.Weight <= 0 {
		t.Errorf("normals of a map: %+v, %v", o.Basis.Correction, err)
	}
}
