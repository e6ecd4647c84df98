package atlas

import (
	"encoding/csv"
	"flag"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"testing"
)

var (
	update = flag.Bool("update", false, "write what is fitted, and what tests compare with, anew")
	fit    = flag.Bool("fit", false, "fit the surface anew and measure it: two minutes")
)

const published = "WMO Climatological Normals 1991-2020, collected by NOAA NCEI, www.ncei.noaa.gov/products/wmo-climate-normals"

// openData returns a path below the folder of open data, or skips the test
// saying where the data is published.
func openData(t testing.TB, path, published string) string {
	t.Helper()
	dir := os.Getenv("BUDSWELL_DATA")
	if dir == "" {
		dir = filepath.Join("..", "..", "..", "shared", "data")
	}
	p := filepath.Join(dir, path)
	if _, err := os.Stat(p); err != nil {
		t.Skipf("%s is not here (set BUDSWELL_DATA): %s", path, published)
	}
	return p
}

func write(t testing.TB, path string, text []byte) {
	t.Helper()
	if err := os.WriteFile(path, text, 0o644); err != nil {
		t.Fatal(err)
	}
}

// station is one row of the table of normals.
type station struct {
	spot
	id, name, country string
	y                 [components]float64 // minima, then maxima
	frosts, lowest    [12]float64         // mean days below 0 C, lowest minimum of thirty years; NaN where not reported

	// Only for the fit of everything, see strict_test.go.
	odd   string  // the country, where its stations report something else than means of daily extremes
	doubt float64 // variance by which the station counts less, C2
}

// dailyRange returns the mean of the year, C.
func (s *station) dailyRange() (mean float64) {
	for m := range 12 {
		mean += (s.y[12+m] - s.y[m]) / 12
	}
	return mean
}

// stations reads the table of normals, in place.
func stations(t testing.TB) (out []*station) {
	t.Helper()
	read := func(name string) [][]string {
		f, err := os.Open(openData(t, filepath.Join("world-normals", name), published))
		if err != nil {
			t.Fatal(err)
		}
		defer f.Close()
		rows, err := csv.NewReader(f).ReadAll()
		if err != nil {
			t.Fatal(err)
		}
		return rows[1:]
	}
	num := func(s string) float64 {
		v, err := strconv.ParseFloat(s, 64)
		if err != nil {
			return math.NaN()
		}
		return v
	}
	frost := map[string][]string{}
	for _, row := range read("frost.csv") {
		frost[row[0]] = row
	}
	for _, row := range read("normals.csv") {
		// Rounded as the file of the surface keeps them.
		lat, lon := math.Round(num(row[3])/placeUnit)*placeUnit, math.Round(num(row[4])/placeUnit)*placeUnit
		s := &station{spot: spotAt(theCoast(), lat, lon, math.Round(num(row[5]))), id: row[0], name: row[1], country: row[2]}
		for m := range s.y {
			s.y[m] = num(row[6+m])
		}
		more := frost[row[0]]
		for m := range 12 {
			s.frosts[m], s.lowest[m] = math.NaN(), math.NaN()
			if more != nil {
				s.frosts[m], s.lowest[m] = num(more[1+m]), num(more[13+m])
			}
		}
		out = append(out, s)
	}
	return out
}

// widestRange is a mean daily range, C, that no place on earth has: the highest
// deserts come near 21 (from memory). A station above it does not report means of daily extremes.
const widestRange = 21.5

// notMeans reports the stations whose minima and maxima are not means of daily
// ones. All of Mongolia, Turkmenistan, Oman and Niger report means of the extremes of each
// month instead; TestNotMeans gathers what speaks for it. Where more than half of a
// country's stations do, all are taken to.
func notMeans(all []*station) map[*station]bool {
	odd := oddCountries(all)
	out := map[*station]bool{}
	for _, s := range all {
		if s.dailyRange() > widestRange || odd[s.country] {
			out[s] = true
		}
	}
	return out
}
