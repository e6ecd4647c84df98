package climate

import (
	"encoding/csv"
	"os"
	"path/filepath"
	"strconv"
	"testing"
)

// openData returns a path below the folder of open data, or skips the test
// saying where the data is published.
func openData(t testing.TB, path, published string) string {
	t.Helper()
	dir := os.Getenv("BUDSWELL_DATA")
	if dir == "" {
		dir = filepath.Join("..", "..", "shared", "data")
	}
	p := filepath.Join(dir, path)
	if _, err := os.Stat(p); err != nil {
		t.Skipf("%s is not here (set BUDSWELL_DATA): %s", path, published)
	}
	return p
}

// harvard returns the daily weather of Harvard Forest 1964-2002.
func harvard(t testing.TB) (Site, *Record) {
	t.Helper()
	f, err := os.Open(openData(t, "harvard-forest/daily.csv",
		"Boose E., Gould E., Shaler Meteorological Station at Harvard Forest 1964-2002, Harvard Forest Data Archive HF000"))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	r := &Record{Source: "Harvard Forest"}
	for i, row := range rows[1:] {
		d, err := ParseDate(row[0])
		if err != nil {
			t.Fatal(err)
		}
		if i == 0 {
			r.First = d
		}
		var day Day
		if v, err := strconv.ParseFloat(row[1], 64); err == nil {
			day.Tmin, day.TminOrigin = v, Measured
		}
		if v, err := strconv.ParseFloat(row[2], 64); err == nil {
			day.Tmax, day.TmaxOrigin = v, Measured
		}
		if v, err := strconv.ParseFloat(row[3], 64); err == nil {
			day.Prcp, day.PrcpOrigin = v, Measured
		}
		r.Days = append(r.Days, day)
	}
	return Site{Name: "Harvard Forest", Lat: 42.54, Lon: -72.18, Elevation: 340, Zone: "America/New_York"}, r
}

// stationNormals is one station of the table of world climate normals.
type stationNormals struct {
	id     string
	site   Site
	n      Normals
	frosts *[12]float64 // mean number of days with a minimum below 0 C, NaN where not reported
}

// worldNormals returns the stations of WMO's climatological normals.
func worldNormals(t testing.TB) []stationNormals {
	t.Helper()
	const published = "WMO Climatological Normals 1991-2020, collected by NOAA NCEI, www.ncei.noaa.gov/products/wmo-climate-normals"
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
			return nan
		}
		return v
	}
	frosts := map[string]*[12]float64{}
	for _, row := range read("frost.csv") {
		f := new([12]float64)
		for m := range f {
			f[m] = num(row[1+m])
		}
		frosts[row[0]] = f
	}
	var out []stationNormals
	for _, row := range read("normals.csv") {
		s := stationNormals{id: row[0], site: Site{Name: row[1], Lat: num(row[3]), Lon: num(row[4])}, frosts: frosts[row[0]]}
		for m := range 12 {
			s.n.Tmin[m], s.n.Tmax[m] = num(row[6+m]), num(row[18+m])
		}
		out = append(out, s)
	}
	return out
}
