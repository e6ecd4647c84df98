package calendar_test

import (
	"testing"

	"budswell/climate"
)

// spell is weather that departs from the usual by so many degrees.
type spell struct {
	from, to   string
	tmin, tmax float64
}

// Places of the stories in which the season departs from the usual: that of the
// temperate bench, with weather read up to the day of the story.
var spells = map[string][]spell{
	"after a mild winter":  {{"2026-01-10", "2026-03-25", 5, 6}},
	"in a cool spring":     {{"2026-02-15", "2026-05-10", -4, -4}},
	"after a late frost":   {{"2026-03-10", "2026-04-10", 4, 4}, {"2026-04-20", "2026-04-24", -9, -7}},
	"in a drought":         {{"2026-06-01", "2026-08-31", 4, 9}},
	"in an early winter":   {{"2026-09-20", "2026-11-30", -5, -5}},
	"after a usual winter": {{"2026-01-01", "2026-01-01", 0, 0}},
}

// storyPlaces are further places, of no station in particular either.
var storyPlaces = func() map[string]storyPlace {
	all := map[string]storyPlace{
		"mediterranean": {climate.Site{Name: "dry bench", Lat: 37.4, Lon: -6, Elevation: 20, Zone: "Europe/Madrid"}, climate.Normals{
			Tmin: [12]float64{5.7, 7, 9.2, 11.1, 14.2, 18, 20.3, 20.4, 18.2, 14.4, 10, 7.3},
			Tmax: [12]float64{16, 18.1, 21.9, 23.4, 27.2, 32.2, 36, 35.5, 31.7, 26, 20.2, 16.6},
		}},
		"warm temperate": {climate.Site{Name: "rain bench", Lat: 35.2, Lon: 137, Elevation: 50, Zone: "Asia/Tokyo"}, climate.Normals{
			Tmin: [12]float64{1.1, 1.4, 4.6, 10, 15, 19.4, 23.4, 24.3, 20.7, 14.5, 8.4, 3.4},
			Tmax: [12]float64{9.3, 10.5, 14.5, 20.1, 24.6, 27.6, 31.4, 33.2, 29, 23, 17, 11.6},
		}},
		"subtropical": {climate.Site{Name: "harbour bench", Lat: 22.3, Lon: 114.2, Elevation: 30, Zone: "Asia/Hong_Kong"}, climate.Normals{
			Tmin: [12]float64{14.6, 15.3, 17.6, 21.1, 24.5, 26.5, 26.8, 26.6, 25.8, 23.9, 20.3, 16.2},
			Tmax: [12]float64{18.7, 19.4, 21.9, 25.6, 28.8, 30.7, 31.6, 31.3, 30.5, 28.1, 24.5, 20.4},
		}},
		"southern mediterranean": {climate.Site{Name: "gulf bench", Lat: -34.9, Lon: 138.6, Elevation: 50, Zone: "Australia/Adelaide"}, climate.Normals{
			Tmin: [12]float64{17, 17.2, 15.3, 12.5, 10.3, 8.1, 7.5, 8.2, 9.8, 11.5, 14, 15.6},
			Tmax: [12]float64{29.6, 29.4, 26.3, 22.5, 18.7, 15.9, 15.3, 16.7, 19.4, 22.3, 25.3, 27.2},
		}},
		"alpine": {climate.Site{Name: "high bench", Lat: 46.8, Lon: 9.8, Elevation: 1550, Zone: "Europe/Zurich"}, climate.Normals{
			Tmin: [12]float64{-9.8, -9.9, -6.5, -2.6, 1.7, 4.8, 6.9, 6.8, 3.8, 0.7, -4.6, -8.3},
			Tmax: [12]float64{-0.4, 0.6, 4, 8, 12.7, 15.9, 18, 17.6, 13.8, 10.4, 3.9, 0.2},
		}},
	}
	for name := range spells {
		all[name] = places["temperate"]
	}
	return all
}()

// spelled returns a record of the usual days of a place, with spells, up to a day.
func spelled(t testing.TB, site climate.Site, n *climate.Normals, spells []spell, until climate.Date) *climate.Record {
	t.Helper()
	c, err := n.Cycle(site)
	if err != nil {
		t.Fatal(err)
	}
	r := &climate.Record{Source: "bench thermometer", First: until - 500}
	for day := r.First; day <= until; day++ {
		tmin, tmax := c.At(day)
		for _, s := range spells {
			if day >= d(t, s.from) && day <= d(t, s.to) {
				tmin, tmax = tmin+s.tmin, tmax+s.tmax
			}
		}
		r.Days = append(r.Days, climate.Day{Tmin: tmin, Tmax: tmax, TminOrigin: climate.Measured, TmaxOrigin: climate.Measured})
	}
	return r
}
