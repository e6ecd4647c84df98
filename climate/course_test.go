package climate

import (
	"math"
	"testing"
	"time"

	"pgregory.net/rapid"
)

var nan = math.NaN()

// A cool maritime, a continental, a southern and a tropical year, and one
// without thaw; invented.
var (
	maritime = Normals{
		Tmin: [12]float64{1.4, 1.3, 2.3, 3.7, 6.3, 9.2, 11.1, 10.9, 9.0, 6.4, 3.6, 1.6},
		Tmax: [12]float64{6.8, 7.4, 9.2, 11.9, 15.1, 17.5, 19.3, 18.9, 16.5, 13.0, 9.4, 7.0},
	}
	continental = Normals{
		Tmin: [12]float64{-16.2, -13.5, -6.4, 1.3, 7.8, 13.4, 15.8, 14.5, 9.1, 2.4, -4.9, -12.6},
		Tmax: [12]float64{-5.8, -2.7, 4.6, 13.9, 20.6, 25.7, 28.1, 26.8, 22.1, 14.5, 5.1, -3.0},
	}
	southern = Normals{
		Tmin: [12]float64{17.9, 17.5, 15.5, 12.1, 9.1, 6.5, 5.8, 7.1, 9.3, 12.0, 14.2, 16.5},
		Tmax: [12]float64{30.1, 29.0, 26.9, 23.1, 19.2, 16.0, 15.4, 17.9, 20.2, 23.0, 25.9, 28.7},
	}
	tropical = Normals{
		Tmin: [12]float64{24, 24.1, 24.5, 24.9, 25.1, 24.8, 24.4, 24.4, 24.3, 24.2, 24, 23.9},
		Tmax: [12]float64{30.1, 31, 31.5, 31.8, 31.6, 31.3, 31, 30.9, 30.9, 31, 30.8, 30},
	}
	frozen = Normals{
		Tmin: [12]float64{-46, -48, -47, -42, -28, -18, -14, -18, -28, -37, -42, -45},
		Tmax: [12]float64{-37, -39, -37, -30, -18, -9, -6, -9, -18, -27, -33, -36},
	}
)

func north(lat float64) Site { return Site{Name: "bench", Lat: lat, Zone: "Etc/UTC"} }

func TestDailyCourseKeepsMonthlyMeans(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var n Normals
		for m := range 12 {
			n.Tmin[m] = rapid.Float64Range(-40, 30).Draw(t, "tmin")
		}
		got := dailyCourse(&n.Tmin)
		for m, days := range monthOf365() {
			sum := 0.0
			for _, i := range days {
				sum += got[i]
			}
			if mean := sum / float64(len(days)); math.Abs(mean-n.Tmin[m]) > 1e-9 {
				t.Fatalf("%v: mean of the daily course %v, want %v", time.Month(m+1), mean, n.Tmin[m])
			}
		}
	})
}

func TestNormalsOfRecord(t *testing.T) {
	// Without gaps they are the plain means of the months, whatever the cycle.
	site := north(45)
	c, err := continental.Cycle(site)
	if err != nil {
		t.Fatal(err)
	}
	first := NewDate(2001, 1, 1)
	m := c.generate(3, first, 365*4+1, 1)[0]
	r := recordOf(first, m)
	n, err := r.Normals()
	if err != nil {
		t.Fatal(err)
	}
	var sum, days [12]float64
	for i, d := range r.Days {
		k := (first + Date(i)).Month() - 1
		sum[k] += d.Tmin
		days[k]++
	}
	for k := range sum {
		if k == 1 {
			continue // its 29th counts in the plain mean alone
		}
		if plain := sum[k] / days[k]; math.Abs(n.Tmin[k]-plain) > 1e-9 {
			t.Errorf("%v: mean minimum %v, want %v", time.Month(k+1), n.Tmin[k], plain)
		}
	}
	if err := n.Validate(); err != nil {
		t.Error(err)
	}
}

func TestCycleWantsAYear(t *testing.T) {
	r := &Record{Source: "young.csv", First: NewDate(2025, 3, 1), Days: make([]Day, 300)}
	for i := range r.Days {
		r.Days[i] = Day{Tmin: 1, Tmax: 5, TminOrigin: Measured, TmaxOrigin: Measured}
	}
	if _, err := r.Cycle(); err == nil {
		t.Error("a record without January and February gave a typical year")
	} else if want := `record "young.csv": 0 days of January measured: too short for a typical year: want 20 or more of every month`; err.Error() != want {
		t.Errorf("error %q, want %q", err, want)
	}
}

// recordOf makes a record of measured days of m.
func recordOf(first Date, m Member) *Record {
	r := &Record{Source: "test", First: first}
	for k := range m.Tmin {
		r.Days = append(r.Days, Day{Tmin: m.Tmin[k], Tmax: m.Tmax[k], TminOrigin: Measured, TmaxOrigin: Measured})
	}
	return r
}
