package climate

import (
	"math"
	"testing"
)

// TestShifts: of a record that warms by 0.1 C a year each season is shifted by what its time
// was colder; of a short one, none is; the target itself moves nothing.
func TestShifts(t *testing.T) {
	site := Site{Lat: 45, Zone: "UTC"}
	record := func(odd int) (*Record, []int) {
		r := &Record{First: site.SeasonStart(1970)}
		var seasons []int
		for y := 1970; y < 2010; y++ {
			if y != 2005 {
				seasons = append(seasons, y)
			}
			for d := site.SeasonStart(y); d < site.SeasonStart(y+1); d++ {
				warm := 0.1 * float64(y-1970)
				if y == odd {
					warm += 20
				}
				r.Days = append(r.Days, Day{Tmin: warm, Tmax: 10 + 2*warm, TminOrigin: Measured, TmaxOrigin: Measured})
			}
		}
		return r, seasons
	}
	r, seasons := record(0)
	shifts := r.Shifts(site, seasons, 2005)
	for i, y := range seasons {
		// Times near the ends of the record are as far as the means of 15 seasons reach.
		if y < 1977 || y > 1995 {
			continue
		}
		now := 1.0 * (2002.06 - float64(y)) * 0.1 // the mean of the fifteen nearest to 2005
		for half := range 2 {
			if s := shifts[i]; math.Abs(s.Tmin[half]-now) > 0.08 || math.Abs(s.Tmax[half]-2*now) > 0.16 {
				t.Errorf("%d, half %d: shifted by %.2f and %.2f, want %.2f and twice that", y, half, s.Tmin[half], s.Tmax[half], now)
			}
		}
	}
	odd, _ := record(2005)
	for i, s := range odd.Shifts(site, seasons, 2005) {
		if s != shifts[i] {
			t.Errorf("%d: the target's own weather moves the shift", seasons[i])
		}
	}
	for _, s := range r.Shifts(site, seasons[:24], 2005) {
		if s != (Shift{}) {
			t.Error("24 seasons tell a trend")
		}
	}
	if lo, hi := (&Shift{Tmin: [2]float64{5, 0}}).On(0, 1, 3); lo != hi || lo != 4.5 {
		t.Errorf("shifted to %v and %v: want the minimum never above the maximum", lo, hi)
	}
}
