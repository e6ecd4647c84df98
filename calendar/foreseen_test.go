package calendar_test

import (
	"testing"

	"budswell/calendar"
	"budswell/climate"
	"budswell/climate/phenology"
)

// What was foretold on the first day of a season knows nothing of what was seen in it.
func TestForeseen(t *testing.T) {
	known, err := loadLore()
	if err != nil {
		t.Fatal(err)
	}
	for name, season := range map[string]int{"temperate": 2026, "southern": 2026} {
		at := places[name]
		start := at.site.SeasonStart(season)
		place := &calendar.Place{Site: at.site, Weather: climate.Weather{Normals: &at.normals, Seed: 5}}
		trees := []calendar.Tree{
			{ID: "a", Name: "a", Species: "Acer campestre", Origin: calendar.Collected},
			{ID: "b", Name: "b", Species: "no such tree", Origin: calendar.Collected},
		}
		before, err := calendar.Foreseen(known, place, trees, season)
		if err != nil {
			t.Fatal(err)
		}
		swell, ok := before["a"].Phases[phenology.BudSwell].Dates.Spread()
		if !ok || swell.P10 <= start || swell.P90 >= start+180 || len(before) != 1 || before["a"].Year != season {
			t.Errorf("%s: bud swell %v of season %d, %d trees", name, swell, before["a"].Year, len(before))
		}
		trees[0].Log = []calendar.Entry{
			{On: swell.P10 - 20, Saw: phenology.BudSwell},
			{On: swell.P10 - 10, Saw: phenology.BudSwell},
			{On: swell.P10 - 500, Saw: phenology.LeafOut},
			{On: swell.P10, NotYet: phenology.LeafOut},
		}
		// A weather forecast of this very spring is of no account either.
		warm := &climate.Record{Source: "a forecast", First: swell.P10 - 30}
		for range 10 {
			warm.Days = append(warm.Days, climate.Day{Tmin: 20, Tmax: 30, TminOrigin: climate.Predicted, TmaxOrigin: climate.Predicted})
		}
		place.Weather.Forecast = warm
		again, err := calendar.Foreseen(known, place, trees, season)
		if err != nil {
			t.Fatal(err)
		}
		// The sighting of the season before may move it a little, none of this season does.
		if got, _ := again["a"].Phases[phenology.BudSwell].Dates.Spread(); got.P50 < swell.P50-6 || got.P50 > swell.P50+6 || again["a"].Phases[phenology.BudSwell].Seen.Valid() {
			t.Errorf("%s: bud swell %v after it was seen, %v before", name, got, swell)
		}
		seen := trees[0].SeenIn(at.site, season)
		if len(seen) != 1 || seen[phenology.BudSwell] != swell.P10-20 {
			t.Errorf("%s: seen %v", name, seen)
		}
		if place.Weather.Forecast != warm {
			t.Error("the place was changed")
		}
	}
	// A record that begins in the season tells nothing of its first day.
	at := places["temperate"]
	short := &climate.Record{Source: "own", First: at.site.SeasonStart(2026) + 60, Days: make([]climate.Day, 30)}
	if _, err := calendar.Foreseen(known, &calendar.Place{Site: at.site, Weather: climate.Weather{Record: short}}, nil, 2026); err == nil {
		t.Error("without any weather of the time before")
	}
	if _, err := calendar.Foreseen(known, &calendar.Place{Site: at.site, Weather: climate.Weather{Normals: &at.normals}, Benches: []calendar.Bench{{ID: "Not one"}}}, nil, 2026); err == nil {
		t.Error("with a bench that cannot be")
	}
}
