package atlas

import (
	"errors"
	"math"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func metres(v float64) *float64 { return &v }

// The ranges are common knowledge of such places, from memory: mean minimum of
// January and mean maximum of July, a few degrees either way.
func TestClimateOfKnownPlaces(t *testing.T) {
	for _, tt := range []struct {
		name          string
		lat, lon, h   float64
		january, july float64
	}{
		{"Zurich", 47.38, 8.57, 556, -1.5, 25},
		{"Edinburgh", 55.95, -3.19, 60, 1.5, 19},
		{"Boston", 42.36, -71.01, 6, -5, 28},
		{"Singapore", 1.37, 103.98, 16, 24, 31.5},
		{"Sapporo", 43.06, 141.33, 17, -6, 25},
		{"Yakutsk", 62.02, 129.72, 101, -41, 26},
		{"Melbourne", -37.83, 144.98, 8, 15.5, 14.5},
		{"Ulaanbaatar, whose own station is not fitted", 47.92, 106.85, 1303, -26, 24},
	} {
		c, err := At(tt.lat, tt.lon, &tt.h)
		if err != nil {
			t.Errorf("%s: %v", tt.name, err)
			continue
		}
		n := c.Normals
		most := 3 + c.Error
		if math.Abs(n.Tmin[0]-tt.january) > most || math.Abs(n.Tmax[6]-tt.july) > most {
			t.Errorf("%s: January %.1f, July %.1f, error %.1f; want near %v and %v", tt.name, n.Tmin[0], n.Tmax[6], c.Error, tt.january, tt.july)
		}
		if c.Error < 0.5 || c.Error > 5 || c.Assumed {
			t.Errorf("%s: error %v, assumed %v", tt.name, c.Error, c.Assumed)
		}
	}
}

func TestElevationAssumed(t *testing.T) {
	given, err := At(47.38, 8.57, metres(556))
	if err != nil {
		t.Fatal(err)
	}
	assumed, err := At(47.38, 8.57, nil)
	if err != nil {
		t.Fatal(err)
	}
	if !assumed.Assumed || assumed.Elevation < 300 || assumed.Elevation > 900 || assumed.Error <= given.Error {
		t.Errorf("assumed %v m with error %v; with 556 m given %v", assumed.Elevation, assumed.Error, given.Error)
	}
	high, err := At(47.38, 8.57, metres(1556))
	if err != nil {
		t.Fatal(err)
	}
	if d := given.Normals.Tmax[6] - high.Normals.Tmax[6]; d < 4 || d > 9 {
		t.Errorf("a kilometre up July is %v C cooler: want 4 to 9", d)
	}
	if high.Error < given.Error {
		t.Errorf("far above all stations the error is %v, beside them %v", high.Error, given.Error)
	}
}

func TestNoClimate(t *testing.T) {
	for _, tt := range []struct {
		name     string
		lat, lon float64
		h        *float64
		want     string
	}{
		{"Atlantic", 30, -45, nil, "open water"},
		{"Pacific at the date line", 0, 180, nil, "open water"},
		{"Mediterranean", 34, 18.5, nil, "open water"},
		{"North Pole", 90, 0, nil, "open water"},
		{"South Pole", -90, 0, metres(2800), "ice cap"},
		{"Antarctic coast", -66.3, 110.5, metres(40), "ice cap"},
		{"Greenland's ice", 72, -40, nil, "ice cap"},
		{"summit in the Karakoram", 35.9, 76.5, metres(6000), "no month above freezing"},
	} {
		c, err := At(tt.lat, tt.lon, tt.h)
		if !errors.Is(err, ErrNoClimate) || !strings.Contains(err.Error(), tt.want) {
			t.Errorf("%s: %+v, %v: want %q", tt.name, c, err, tt.want)
		}
	}
	for _, tt := range []struct {
		name     string
		lat, lon float64
	}{
		{"Bermuda", 32.3, -64.78},
		{"Nuuk", 64.18, -51.72},
		{"Narsarsuaq, up a fjord", 61.16, -45.43},
		{"Reykjavik", 64.13, -21.9},
		{"Stanley", -51.7, -57.85},
		{"Ushuaia", -54.8, -68.3},
		{"Suva, by the date line", -18.14, 178.44},
		{"Venice", 45.44, 12.33},
		{"Astrakhan, below the sea", 46.35, 48.03},
	} {
		if _, err := At(tt.lat, tt.lon, nil); err != nil {
			t.Errorf("%s: %v", tt.name, err)
		}
	}
}

func TestPlaceRanges(t *testing.T) {
	for _, tt := range []struct {
		lat, lon float64
		h        *float64
		want     string
	}{
		{91, 0, nil, "lat 91"},
		{math.NaN(), 0, nil, "lat NaN"},
		{0, -181, nil, "lon -181"},
		{0, 0, metres(7000), "elevation 7000"},
		{0, 0, metres(math.NaN()), "elevation NaN"},
	} {
		if _, err := At(tt.lat, tt.lon, tt.h); err == nil || !strings.Contains(err.Error(), tt.want) {
			t.Errorf("%v, %v: %v: want %q", tt.lat, tt.lon, err, tt.want)
		}
	}
}

// TestClimateOfEverywhere looks up any place: what comes is a year that can be, or
// none.
func TestClimateOfEverywhere(t *testing.T) {
	n := 0
	rapid.Check(t, func(t *rapid.T) {
		lat, lon := rapid.Float64Range(-90, 90).Draw(t, "lat"), rapid.Float64Range(-180, 180).Draw(t, "lon")
		var h *float64
		if rapid.Bool().Draw(t, "elevation given") {
			h = metres(rapid.Float64Range(lowest, highest).Draw(t, "elevation"))
		}
		c, err := At(lat, lon, h)
		if errors.Is(err, ErrNoClimate) {
			return
		}
		if err != nil {
			t.Fatal(err)
		}
		n++
		if err := c.Normals.Validate(); err != nil {
			t.Fatal(err)
		}
		if !(c.Error > 0.3 && c.Error < 15) {
			t.Fatalf("error %v", c.Error)
		}
	})
	if n == 0 {
		t.Error("no land found")
	}
}

// TestCoast checks distances to the sea that any atlas shows, to a fifth.
func TestCoast(t *testing.T) {
	for _, tt := range []struct {
		name         string
		lat, lon, km float64
	}{
		{"Alice Springs", -23.7, 133.88, 900},
		{"Johannesburg", -26.2, 28.05, 450},
		{"Verkhoyansk", 67.55, 133.38, 430},
		{"Denver", 39.74, -104.99, 1200},
		{"Munich", 48.14, 11.58, 290},
		{"Brasilia", -15.8, -47.9, 880},
		{"Chita", 52.03, 113.5, 1250},
	} {
		if km := theCoast().at(tt.lat, tt.lon); math.Abs(km/tt.km-1) > 0.2 {
			t.Errorf("%s: %.0f km from the sea, want %v", tt.name, km, tt.km)
		}
	}
}

// TestSurfaceIsSmooth walks over the date line, the equator and the grid's seams.
func TestSurfaceIsSmooth(t *testing.T) {
	s := theSurface()
	for _, tt := range [][4]float64{
		{66, 179.9999, 66, -179.9999},
		{66.0, -180, 66.0, 180},
		{0.00001, 35, -0.00001, 35},
		{47.49999, 8, 47.50001, 8},
		{52, 12.49999, 52, 12.50001},
	} {
		a, b := spotAt(theCoast(), tt[0], tt[1], 200), spotAt(theCoast(), tt[2], tt[3], 200)
		x, ok1 := s.months(&a)
		y, ok2 := s.months(&b)
		for m := range x {
			if math.Abs(x[m]-y[m]) > 0.01 || !ok1 || !ok2 {
				t.Fatalf("%v: month %d %v and %v", tt, m, x[m], y[m])
			}
		}
	}
}

// TestSurfaceAtStations compares the embedded surface with the table it was
// fitted to: closer than where it must do without, but no copy of it.
func TestSurfaceAtStations(t *testing.T) {
	all := stations(t)
	bad := notMeans(all)
	var off []float64
	for _, s := range all {
		months, ok := theSurface().months(&s.spot)
		if !ok {
			t.Fatalf("%s: outside the grid", s.name)
		}
		if bad[s] {
			continue
		}
		for m, v := range months {
			off = append(off, math.Abs(s.y[m]-v))
		}
	}
	if got := median(off); got < 0.2 || got > 0.5 {
		t.Errorf("median distance from the stations %.2f C: want 0.2 to 0.5", got)
	}
}

func median(v []float64) float64 {
	slices.Sort(v)
	return v[len(v)/2]
}

func BenchmarkAt(b *testing.B) {
	places := [][3]float64{{47.38, 8.57, 556}, {52.5, 13.4, 40}, {59.3, 18, 20}, {-37.8, 145, 30}, {28.6, 77.2, 216}, {40, -100, 800}}
	theSurface()
	b.ResetTimer()
	for i := range b.N {
		p := places[i%len(places)]
		if _, err := At(p[0], p[1], &p[2]); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkOpen(b *testing.B) {
	for range b.N {
		c, err := readCoast(coastFile)
		if err != nil {
			b.Fatal(err)
		}
		if _, err := readSurface(surfaceFile, c); err != nil {
			b.Fatal(err)
		}
	}
}
