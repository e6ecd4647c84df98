package phenology

import (
	"testing"
	"time"

	"budswell/climate"
)

// place is a climate for tests: its typical year by the mean of each month and
// the range of a day, C.
type place struct {
	name  string
	lat   float64
	mean  [12]float64
	daily float64
}

// The climates are invented round numbers of kinds of climate, not of places.
var places = []place{
	{"cool maritime", 55, [12]float64{4, 4, 5.5, 8, 11, 13.5, 15, 15, 12.5, 9.5, 6.5, 4.5}, 7},
	{"continental", 45, [12]float64{-8, -6, 1, 8, 14.5, 19, 21, 20, 15, 8.5, 1.5, -5}, 10},
	{"mediterranean", 40, [12]float64{8, 9, 11.5, 14, 18, 22.5, 25.5, 25, 22, 17.5, 12.5, 9}, 9},
	{"southern temperate", -35, [12]float64{22, 22, 20, 16.5, 13, 10.5, 10, 11, 13, 15.5, 18, 20.5}, 11},
	{"boreal", 62, [12]float64{-9, -8, -3, 3, 9.5, 14.5, 17, 15, 10, 4.5, -1.5, -6}, 9},
	{"highland tropics", 1, [12]float64{14, 14, 14.3, 14.3, 14, 13.5, 13, 13.2, 13.8, 14, 13.8, 13.8}, 11},
	{"equatorial lowland", 1, [12]float64{27, 27, 27.3, 27.3, 27.5, 27.2, 27, 27, 27, 27, 26.8, 26.8}, 8},
}

func (p place) outlook(t testing.TB, issue climate.Date) *climate.Outlook {
	n := &climate.Normals{}
	for i, m := range p.mean {
		n.Tmin[i], n.Tmax[i] = m-p.daily/2, m+p.daily/2
	}
	o, err := (&climate.Weather{Normals: n, Seed: 1}).Outlook(climate.Site{Name: p.name, Lat: p.lat, Lon: 0, Zone: "UTC"}, issue)
	if err != nil {
		t.Fatal(err)
	}
	return o
}

func TestPlaces(t *testing.T) {
	for _, p := range places {
		issue := climate.NewDate(2026, time.January, 5)
		if p.lat < 0 {
			issue = climate.NewDate(2026, time.July, 5)
		}
		f, err := NewForecaster(p.outlook(t, issue), nil)
		if err != nil {
			t.Fatal(err)
		}
		for _, h := range []Habit{
			{"Sambucus racemosa", Deciduous, VeryEarly, nil}, {"", DeciduousConifer, VeryEarly, nil}, {"", Deciduous, Early, nil}, {"", Deciduous, Middle, nil}, {"Acer palmatum", Deciduous, Middle, nil},
			{"", Deciduous, Late, nil}, {"", Deciduous, VeryLate, nil}, {"Pinus sylvestris", SingleFlushPine, Middle, nil}, {"", MultiFlushPine, Middle, nil},
			{"", SpruceFir, Late, nil}, {"", JuniperCypress, "", nil}, {"", BroadleafEvergreen, "", nil}, {"", FrostTender, "", nil},
		} {
			s, err := f.Season(h, "", 2026)
			if err != nil {
				t.Fatal(err)
			}
			line := ""
			for _, ph := range h.Group.Phases() {
				if fc, ok := s.Phases[ph]; ok {
					sp, ok := fc.Dates.Spread()
					if !ok {
						line += string(ph) + " none; "
						continue
					}
					line += string(ph) + " " + sp.P50.Time().Format("02 Jan") + " (" + sp.P10.Time().Format("02.01") + "-" + sp.P90.Time().Format("02.01") + ") "
				}
			}
			t.Logf("%-18s %-18s %-12s %s", p.name, h.Group, h.Flush, line)
		}
	}
}
