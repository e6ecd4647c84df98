package climate

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

func named(t *testing.T, name string) Exposure {
	t.Helper()
	e, err := ExposureNamed(name)
	if err != nil {
		t.Fatal(err)
	}
	return e
}

func TestExposures(t *testing.T) {
	for _, c := range []struct {
		name       string
		tmin, tmax float64
		lo, hi     float64
	}{
		{name: Open, tmin: -5, tmax: 3, lo: -5, hi: 3},
		{name: "", tmin: -5, tmax: 3, lo: -5, hi: 3},
		{name: Sheltered, tmin: -5, tmax: 3, lo: -4, hi: 3.5},
		{name: Sheltered, tmin: 15, tmax: 30, lo: 16, hi: 30.5},
		{name: ColdFrame, tmin: -5, tmax: 3, lo: -3.7, hi: 7.2},
		{name: ColdFrame, tmin: 5, tmax: 12, lo: 5.65, hi: 14.1}, // half open
		{name: ColdFrame, tmin: 12, tmax: 25, lo: 12, hi: 25},    // off
		{name: Heated, tmin: -20, tmax: -15, lo: 2, hi: 2},
		{name: Heated, tmin: 0, tmax: 5, lo: 2, hi: 9.2},
	} {
		lo, hi := named(t, c.name).On(c.tmin, c.tmax)
		if math.Abs(lo-c.lo) > 1e-9 || math.Abs(hi-c.hi) > 1e-9 {
			t.Errorf("%q on a day of %v to %v: %v to %v, want %v to %v", c.name, c.tmin, c.tmax, lo, hi, c.lo, c.hi)
		}
	}
	if _, err := ExposureNamed("balcony"); err == nil {
		t.Error("took a balcony")
	}
	floor := 26.0
	for _, e := range []Exposure{{Tmin: 16}, {Tmax: math.NaN()}, {Floor: &floor}} {
		if e.Validate() == nil {
			t.Errorf("%+v was taken", e)
		}
	}
}

// A day stays a day, and where it is colder outside it is no warmer inside.
func TestExposureProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		e, err := ExposureNamed(rapid.SampledFrom(ExposureNames()).Draw(t, "name"))
		if err != nil || e.Validate() != nil {
			t.Fatal(err)
		}
		tmin := rapid.Float64Range(-60, 40).Draw(t, "tmin")
		tmax := tmin + rapid.Float64Range(0, 20).Draw(t, "range")
		colder := rapid.Float64Range(0, 5).Draw(t, "colder")
		lo, hi := e.On(tmin, tmax)
		lo2, hi2 := e.On(tmin-colder, tmax)
		if lo > hi || lo < tmin-1e-9 || hi < tmax-1e-9 || lo2 > lo+1e-9 || hi2 < tmax-1e-9 {
			t.Fatalf("%v..%v became %v..%v, and %v..%v %v colder", tmin, tmax, lo, hi, lo2, hi2, colder)
		}
	})
}

func TestUnderFollowsTheTree(t *testing.T) {
	o := &Outlook{
		First: 100, Issue: 102, Members: []Member{{Year: 7, Tmin: []float64{-5, -5, -5, -5}, Tmax: []float64{0, 0, 0, 0}}},
		Record: &Record{Source: "x", First: 100, Days: []Day{{Tmin: -5, TminOrigin: Measured}, {Tmin: -5}, {Tmin: -5}}},
	}
	if o.Under(nil) != o || o.Under([]Stay{{From: NoDate}, {From: 101}}) != o {
		t.Error("open air made another outlook")
	}
	under := o.Under([]Stay{{From: 50}, {From: 101, Exposure: named(t, Heated)}, {From: 103, Exposure: named(t, Sheltered)}})
	want := []float64{-5, 2, 2, -4}
	for k, v := range want {
		if under.Members[0].Tmin[k] != v {
			t.Errorf("day %d: %v, want %v", k, under.Members[0].Tmin[k], v)
		}
	}
	if r := under.Record; r.Days[0].Tmin != -5 || r.Days[1].Tmin != 2 || r.Days[0].TminOrigin != Measured || under.Members[0].Year != 7 {
		t.Errorf("record %+v", r)
	}
	if o.Members[0].Tmin[1] != -5 || o.Record.Days[1].Tmin != -5 {
		t.Error("the outlook itself was changed")
	}
}
