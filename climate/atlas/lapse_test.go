package atlas

import (
	"errors"
	"testing"
)

// What is known of the seasons of lapse rates: in mountains of the middle and high
// latitudes they are least in winter, when cold air lies in valleys, and over the
// year less by night than by day (Rolland 2003, Spatial and seasonal variations of air temperature
// lapse rates in alpine regions, Journal of Climate 16, 1032-1046; from memory). On the
// equator they hardly change.
func TestLapse(t *testing.T) {
	for _, p := range []struct {
		name                string
		lat, lon, elevation float64
	}{{"Innsbruck", 47.27, 11.4, 570}, {"Davos", 46.8, 9.8, 1560}, {"Oslo", 59.9, 10.75, 20}} {
		l, err := Lapse(p.lat, p.lon, p.elevation)
		if err != nil {
			t.Fatal(err)
		}
		night, day := 0., 0.
		for m := range 12 {
			night, day = night+l.Tmin[m], day+l.Tmax[m]
		}
		if !(night < day && l.Tmax[0] < l.Tmax[5] && l.Tmin[0] < l.Tmin[5]) {
			t.Errorf("%s: january %.4f and %.4f, june %.4f and %.4f C a metre", p.name, l.Tmin[0], l.Tmax[0], l.Tmin[5], l.Tmax[5])
		}
	}
	l, err := Lapse(-0.2, -78.5, 2800) // Quito
	if err != nil {
		t.Fatal(err)
	}
	for m := range 12 {
		if lo, hi := min(l.Tmin[m], l.Tmax[m]), max(l.Tmin[m], l.Tmax[m]); lo < 0.005 || hi > 0.008 {
			t.Errorf("Quito, month %d: %.4f and %.4f C a metre", m+1, l.Tmin[m], l.Tmax[m])
		}
	}
	if _, err := Lapse(0, -30, 0); !errors.Is(err, ErrNoClimate) {
		t.Errorf("at sea: %v", err)
	}
}

// Rates agree with what the atlas says of the same place at two elevations, and stay
// within their bounds everywhere.
func TestLapseIsTheAtlass(t *testing.T) {
	low, place, high := 500., 1000., 1500.
	for lat := -50.; lat <= 70; lat += 7 {
		for lon := -175.; lon < 180; lon += 7 {
			l, err := Lapse(lat, lon, place)
			if err != nil {
				continue
			}
			for m := range 12 {
				if min(l.Tmin[m], l.Tmax[m]) < shallowest || max(l.Tmin[m], l.Tmax[m]) > steepest {
					t.Fatalf("%v, %v: %+v", lat, lon, l)
				}
			}
			a, err := At(lat, lon, &low)
			if err != nil {
				t.Fatal(err)
			}
			b, err := At(lat, lon, &high)
			if err != nil {
				continue // above the trees
			}
			for m := range 12 {
				is := (a.Normals.Tmax[m] - b.Normals.Tmax[m]) / (high - low)
				open := l.Tmax[m] > shallowest && l.Tmax[m] < steepest && a.Normals.Tmax[m]-a.Normals.Tmin[m] > 1.5 && b.Normals.Tmax[m]-b.Normals.Tmin[m] > 1.5
				if d := is - l.Tmax[m]; open && (d > 0.00015 || d < -0.00015) { // two tenths, rounded
					t.Fatalf("%v, %v, month %d: %v by the atlas, %v", lat, lon, m+1, is, l.Tmax[m])
				}
			}
		}
	}
}
