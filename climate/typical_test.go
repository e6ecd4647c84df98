package climate

import (
	"math"
	"reflect"
	"testing"
)

func TestTypicalYear(t *testing.T) {
	year := func(n Normals, lat float64) *TypicalYear {
		t.Helper()
		y, err := n.Typical(north(lat), 0, 5)
		if err != nil {
			t.Fatal(err)
		}
		return y
	}
	cold := year(continental, 45)
	if f := cold.Frost; f.Spring.P50 == nil || f.Spring.P50.Month != 4 && f.Spring.P50.Month != 5 || f.Autumn.P50.Month != 9 && f.Autumn.P50.Month != 10 {
		t.Errorf("continental frosts %+v", f)
	}
	// Warmth by hand: months whose mean is well above 5 C count in full.
	byHand := 0.0
	for m, days := range monthOf365() {
		byHand += float64(len(days)) * max(0, (continental.Tmin[m]+continental.Tmax[m])/2-5)
	}
	if math.Abs(cold.DegreeDays/byHand-1) > 0.1 {
		t.Errorf("%.0f degree-days, by hand %.0f", cold.DegreeDays, byHand)
	}
	warm := year(tropical, 5)
	if f := warm.Frost; f.Spring.P90 != nil || f.Autumn.P10 != nil || f.Spring.Frosts != 0 {
		t.Errorf("tropical frosts %+v", f)
	}
	if f := year(southern, -38).Frost; f.Spring.Frosts > 0 && f.Spring.P90 != nil && f.Spring.P90.Month < 7 {
		t.Errorf("southern frosts %+v: want spring in the second half of the year", f)
	}
	// The error of days of frost: of years made alone, with that of the normals, and
	// where there are none.
	unsure := continental
	unsure.Error = 1
	if wide := year(unsure, 45); cold.LastError < 4 || cold.LastError > 12 || wide.LastError <= cold.LastError || wide.FirstError <= cold.FirstError {
		t.Errorf("errors of typed normals %v and %v days, of looked-up ones %v and %v", cold.LastError, cold.FirstError, wide.LastError, wide.FirstError)
	}
	if warm.LastError != 0 || warm.FirstError != 0 {
		t.Errorf("errors without frost %v and %v", warm.LastError, warm.FirstError)
	}
	if again := year(continental, 45); !reflect.DeepEqual(again, cold) {
		t.Error("another time another year")
	}
}
