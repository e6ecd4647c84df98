package climate

import (
	"math"
	"testing"
)

// TestKilometres: along a meridian and the equator a degree is a 360th of the way round; over the
// date line the short way is taken.
func TestKilometres(t *testing.T) {
	degree := 2 * math.Pi * 6371 / 360
	for name, c := range map[string]struct {
		a, b Site
		want float64
	}{
		"nowhere":       {Site{Lat: 47, Lon: 8}, Site{Lat: 47, Lon: 8, Elevation: 900}, 0},
		"north":         {Site{Lat: 47, Lon: 8}, Site{Lat: 48, Lon: 8}, degree},
		"the equator":   {Site{Lon: 8}, Site{Lon: 10}, 2 * degree},
		"the date line": {Site{Lon: 179.5}, Site{Lon: -179.5}, degree},
		"the poles":     {Site{Lat: 90, Lon: 3}, Site{Lat: -90, Lon: 77}, 180 * degree},
		"sixty north":   {Site{Lat: 60, Lon: 8}, Site{Lat: 60, Lon: 8.1}, 0.05 * degree},
	} {
		if got, back := c.a.Kilometres(c.b), c.b.Kilometres(c.a); math.Abs(got-c.want) > 0.01 || got != back {
			t.Errorf("%s: %v and back %v, want %v", name, got, back, c.want)
		}
	}
}
