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
	id   string
	site Site
	n    Normals

	// frosts are the mean number of days with a minimum below 0 C, lowest the
	// lowest minima of thirty years, C; NaN where not reported.
	frosts, lowest [12]float64
	country        string
}

// Countries of the table of normals whose values are something else than what
// their columns say, at all their stations.
var (
	// Means of monthly extremes instead of means of daily ones: daily ranges
	// of 20 to 39 C, and months with a mean minimum of -12 C of which seven days are
	// without frost.
	notDailyMeans = map[string]bool{"Mongolia": true, "Turkmenistan": true, "Oman": true, "Niger": true}

	// Lowest minima that are higher than mean ones (Germany), or as high as those
	// of a usual year, or some of both.
	notLowest = map[string]bool{"Germany": true, "Belarus": true, "Montenegro": true, "Romania": true}

	// Frosts of all thirty years together, up to 42 in a month.
	notFrostDays = map[string]bool{"Brazil": true}
)

// worldNormals returns the stations of WMO's climatological normals, without
// those whose values are not what their columns say.
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
	frost := map[string][]string{}
	for _, row := range read("frost.csv") {
		frost[row[0]] = row
	}
	var out []stationNormals
	for _, row := range read("normals.csv") {
		s := stationNormals{
			id: row[0], country: row[2],
			site: Site{Name: row[1], Lat: num(row[3]), Lon: num(row[4]), Elevation: num(row[5])},
		}
		daily := 0.0
		more := frost[s.id]
		for m := range 12 {
			s.n.Tmin[m], s.n.Tmax[m] = num(row[6+m]), num(row[18+m])
			daily += (s.n.Tmax[m] - s.n.Tmin[m]) / 12
			s.frosts[m], s.lowest[m] = nan, nan
			if more != nil {
				if !notFrostDays[s.country] {
					s.frosts[m] = num(more[1+m])
				}
				if !notLowest[s.country] {
					s.lowest[m] = num(more[13+m])
				}
			}
		}
		const widest = 21.5 // C: no place has such a daily range all the year
		if daily < widest && !notDailyMeans[s.country] && s.n.Validate() == nil {
			s.dropSlips()
			out = append(out, s)
		}
	}
	return out
}

// dropSlips leaves out lowest minima that are above the mean, or that lie much
// farther below it than in the months before and after.
func (s *stationNormals) dropSlips() {
	const slip = 7 // C
	var below [12]float64
	for m := range below {
		below[m] = s.n.Tmin[m] - s.lowest[m]
	}
	for m, v := range below {
		if v < 0 || v-max(below[(m+11)%12], below[(m+1)%12]) > slip {
			s.lowest[m] = nan
		}
	}
}
