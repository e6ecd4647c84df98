package climate

import (
	"math"
	"strings"
	"testing"
)

func TestRegions(t *testing.T) {
	lines := strings.Split(strings.TrimSuffix(string(spreadRegions), "\n"), "\n")
	if len(lines) != regionsHigh {
		t.Fatalf("%d lines: want %d", len(lines), regionsHigh)
	}
	for i, l := range lines {
		if len(l) != regionsWide || strings.Trim(l, "abcdefghijklmnopqrstuvwxyz") != "" {
			t.Errorf("line %d, %q: want %d small letters", i+1, l, regionsWide)
		}
	}
	m := strings.Repeat("m", regionsWide)
	rows := make([]string, regionsHigh)
	for i := range rows {
		rows[i] = m
	}
	rows[0] = strings.Repeat("n", regionsWide)             // 87.5 N
	rows[8] = "o" + m[1:regionsWide-1] + "q"               // 47.5 N, on both sides of the date line
	rows[regionsHigh-1] = strings.Repeat("l", regionsWide) // 87.5 S
	r := regions(strings.Join(rows, "\n") + "\n")
	for _, tt := range []struct {
		lat, lon, units float64
	}{
		{47.5, -177.5, 2},
		{47.5, 177.5, 4},
		{47.5, 180, 3},
		{47.5, -180, 3},
		{50, 180, 1.5},
		{47.5, -175, 1},
		{47.5, 0, 0},
		{0, 0, 0},
		{90, 12, 1},
		{85, 12, 0.5},
		{-90, 180, -1},
		{-90, -180, -1},
	} {
		if got := r.at(Site{Lat: tt.lat, Lon: tt.lon}) / regionUnit; math.Abs(got-tt.units) > 1e-9 {
			t.Errorf("%v, %v: %v letters from m, want %v", tt.lat, tt.lon, got, tt.units)
		}
	}
}
