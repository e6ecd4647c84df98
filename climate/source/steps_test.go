package source

import (
	"math"
	"testing"
	"time"

	"budswell/climate"

	"pgregory.net/rapid"
)

func zone(t testing.TB, name string) *time.Location {
	t.Helper()
	loc, err := time.LoadLocation(name)
	if err != nil {
		t.Fatal(err)
	}
	return loc
}

// hoursFrom makes n hours whose temperature is their number and which are each
// followed by a millimetre of rain.
func hoursFrom(at time.Time, n int) []step {
	out := make([]step, n)
	for i := range out {
		out[i] = step{at.Add(time.Duration(i) * time.Hour), time.Hour, float64(i), math.NaN(), math.NaN(), 1}
	}
	return out
}

func TestDaysOfTheClock(t *testing.T) {
	for _, c := range []struct {
		zone  string
		day   climate.Date
		start string  // of the day, UTC
		hours float64 // that it has
	}{
		{"Europe/Zurich", climate.NewDate(2026, 3, 28), "2026-03-27T23:00:00Z", 24},
		{"Europe/Zurich", climate.NewDate(2026, 3, 29), "2026-03-28T23:00:00Z", 23},
		{"Europe/Zurich", climate.NewDate(2026, 10, 25), "2026-10-24T22:00:00Z", 25},
		{"America/New_York", climate.NewDate(2026, 11, 1), "2026-11-01T04:00:00Z", 25},
		{"Australia/Lord_Howe", climate.NewDate(2026, 4, 5), "2026-04-04T13:00:00Z", 24.5},
		{"Asia/Kolkata", climate.NewDate(2026, 4, 5), "2026-04-04T18:30:00Z", 24},
		{"America/Santiago", climate.NewDate(2026, 9, 6), "2026-09-06T04:00:00Z", 23}, // midnight is skipped
		{"America/Havana", climate.NewDate(2025, 11, 2), "2025-11-02T04:00:00Z", 25},  // midnight comes twice
		{"Pacific/Apia", climate.NewDate(2011, 12, 30), "2011-12-30T10:00:00Z", 0},    // a day that was not
		{"Pacific/Kiritimati", climate.NewDate(2024, 2, 29), "2024-02-28T10:00:00Z", 24},
	} {
		loc := zone(t, c.zone)
		start, next := dayStart(c.day, loc), dayStart(c.day+1, loc)
		if start.Format(time.RFC3339) != c.start || next.Sub(start).Hours() != c.hours {
			t.Errorf("%s, %v: from %v, %v h; want %s, %v", c.zone, c.day, start, next.Sub(start).Hours(), c.start, c.hours)
		}
	}
}

func TestDaily(t *testing.T) {
	loc := zone(t, "Europe/Zurich")
	// The day on which the clock is put forward has 23 hours, 0 to 23 by our numbers.
	day := climate.NewDate(2026, 3, 29)
	steps := hoursFrom(dayStart(day, loc), 23+24)
	got := daily(steps, loc, noon)
	if len(got) != 2 || got[0].On != day || got[0].Tmin != 0 || got[0].Tmax != 23 || got[0].Prcp != 23 || got[1].Prcp != 24 || got[1].Tmax != 46 || !got[1].Got.Equal(noon) {
		t.Errorf("got %+v", got)
	}
	for name, spoil := range map[string]func([]step) []step{
		"an hour less at the end":   func(s []step) []step { return s[:46] },
		"an hour less at the start": func(s []step) []step { return append(s[1:23], s[24:]...) },
		"a temperature missing":     func(s []step) []step { s[30].temp = math.NaN(); s[5].temp = math.NaN(); return s },
		"an hour missing":           func(s []step) []step { return append(append(s[:10], s[11:30]...), s[31:]...) },
	} {
		if got := daily(spoil(hoursFrom(dayStart(day, loc), 47)), loc, noon); name == "an hour less at the end" && (len(got) != 1 || got[0].On != day) ||
			name != "an hour less at the end" && len(got) != 0 {
			t.Errorf("%s: %+v", name, got)
		}
	}
	dry := hoursFrom(dayStart(day, loc), 23)
	dry[7].prcp = math.NaN()
	if got := daily(dry, loc, noon); len(got) != 1 || !math.IsNaN(got[0].Prcp) {
		t.Errorf("without an hour's rain: %+v", got)
	}
}

// Six-hour steps with their extremes make days too, those that lie over midnight
// by their middle; without extremes they do not.
func TestDailyFromSixHours(t *testing.T) {
	loc := zone(t, "Europe/Zurich") // midnight is 23:00 UTC in winter
	at := time.Date(2026, 1, 10, 18, 0, 0, 0, time.UTC)
	var steps []step
	for i := range 6 {
		steps = append(steps, step{at.Add(time.Duration(6*i) * time.Hour), 6 * time.Hour, 0, float64(-i), float64(i), 2})
	}
	got := daily(steps, loc, noon)
	// The first, 18 to 24 UTC, is 19 to 1 by the clock: of the 10th. The fifth, of the 11th.
	if len(got) != 1 || got[0].On != climate.NewDate(2026, 1, 11) || got[0].Tmin != -4 || got[0].Tmax != 4 || got[0].Prcp != 8 {
		t.Errorf("got %+v", got)
	}
	steps[2].lo = math.NaN()
	if got := daily(steps, loc, noon); len(got) != 0 {
		t.Errorf("without extremes: %+v", got)
	}
}

// Whatever the zone and the hours, days are in order, whole, and within what was given.
func TestDailyProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		loc, err := time.LoadLocation(rapid.SampledFrom([]string{
			"UTC", "Europe/Zurich", "America/St_Johns", "Australia/Lord_Howe", "Pacific/Apia", "America/Havana", "Asia/Kathmandu", "Africa/Casablanca",
		}).Draw(t, "zone"))
		if err != nil {
			t.Skip()
		}
		at := time.Date(2011, 1, 1, 0, 0, 0, 0, time.UTC).Add(time.Duration(rapid.IntRange(0, 130000).Draw(t, "hour")) * time.Hour)
		steps := hoursFrom(at, rapid.IntRange(1, 200).Draw(t, "hours"))
		end := steps[len(steps)-1].end()
		before := climate.NoDate
		got := daily(steps, loc, noon)
		for _, r := range got {
			from, to := dayStart(r.On, loc), dayStart(r.On+1, loc)
			if r.On <= before || from.Before(at) || to.After(end) {
				t.Fatalf("%+v of %v to %v", r, at, end)
			}
			if hours := to.Sub(from).Hours(); math.Abs(r.Prcp-hours) > 0.5 || r.Tmax-r.Tmin > hours || r.Tmax-r.Tmin < hours-1.5 {
				t.Fatalf("%+v of a day of %v hours", r, hours)
			}
			before = r.On
		}
		if want := len(steps)/25 - 1; len(got) < want-1 {
			t.Fatalf("%d days of %d hours", len(got), len(steps))
		}
	})
}
