package phenology

import (
	"math"
	"testing"

	"budswell/climate"
)

// paceRecord is a record of years whose springs are as warm as each other, but for the
// last, whose days from January to the end are warmer by so much.
func paceRecord(years int, lat, mean, half, warmer float64) *climate.Record {
	r := &climate.Record{Source: "made for tests", First: climate.NewDate(2026-years, 1, 1)}
	for d := r.First; d <= climate.NewDate(2026, 4, 10); d++ {
		warmest := 197.0
		if lat < 0 {
			warmest = 15
		}
		// Years differ by a degree and a half either way, in turn.
		shift := 1.5 * float64((d.Year()*7)%5-2) / 2
		if d.Year() == 2026 {
			shift = warmer
		}
		t := mean + half*math.Cos(2*math.Pi*(float64(d.YearDay())-warmest)/365.25) + shift
		r.Days = append(r.Days, climate.Day{Tmin: t - 5, Tmax: t + 5, TminOrigin: climate.Measured, TmaxOrigin: climate.Measured})
	}
	return r
}

func paceOf(t *testing.T, r *climate.Record, lat float64, on climate.Date, w climate.Weather) *Pace {
	t.Helper()
	w.Record = r
	o, err := w.Outlook(climate.Site{Name: "x", Lat: lat, Lon: 9, Elevation: 300, Zone: "UTC"}, on)
	if err != nil {
		t.Fatal(err)
	}
	f, err := NewForecaster(o, nil)
	if err != nil {
		t.Fatal(err)
	}
	p, err := f.Pace(Habit{Group: Deciduous, Flush: Middle})
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func TestPaceTellsWarmSpringsFromCold(t *testing.T) {
	on := climate.NewDate(2026, 4, 10)
	warm := paceOf(t, paceRecord(14, 47, 9, 10, 4), 47, on, climate.Weather{})
	plain := paceOf(t, paceRecord(14, 47, 9, 10, 0), 47, on, climate.Weather{})
	cold := paceOf(t, paceRecord(14, 47, 9, 10, -4), 47, on, climate.Weather{})
	if warm == nil || plain == nil || cold == nil {
		t.Fatalf("nothing is said: %v, %v, %v", warm, plain, cold)
	}
	if warm.Ahead[1] < 5 || warm.Before < 0.9 || warm.Later < 0.9 {
		t.Errorf("four degrees above the others: %+v", warm)
	}
	if cold.Ahead[1] > -5 || cold.Before > 0.1 || cold.Later > 0.1 {
		t.Errorf("four degrees below: %+v", cold)
	}
	if plain.Ahead[1] < -3 || plain.Ahead[1] > 3 || plain.Before < 0.2 || plain.Before > 0.8 {
		t.Errorf("as the others: %+v", plain)
	}
	for _, p := range []*Pace{warm, plain, cold} {
		if p.Ahead[0] > p.Ahead[1] || p.Ahead[1] > p.Ahead[2] || p.This.P50.Year() != 2026 || p.Usual.P50.Year() != 2026 {
			t.Errorf("%+v", p)
		}
	}
}

// TestPaceIsSilent: where nothing true can be said, nothing is.
func TestPaceIsSilent(t *testing.T) {
	on := climate.NewDate(2026, 4, 10)
	frost := climate.Weather{Frost: &climate.FrostNormal{Last: climate.MonthDay{Month: 4, Day: 25}, First: climate.MonthDay{Month: 10, Day: 15}, Mean: 9, Range: 18}}
	holes := paceRecord(14, 47, 9, 10, 4)
	for d := climate.NewDate(2026, 1, 1); d <= on; d++ {
		if d.Day()%2 == 0 {
			holes.Days[d-holes.First] = climate.Day{}
		}
	}
	for name, p := range map[string]*Pace{
		"nothing was measured":     paceOf(t, nil, 47, on, frost),
		"half was measured":        paceOf(t, holes, 47, on, climate.Weather{}),
		"the year is young":        paceOf(t, paceRecord(14, 47, 9, 10, 4).Until(climate.NewDate(2026, 1, 12)), 47, climate.NewDate(2026, 1, 12), climate.Weather{}),
		"near the equator":         paceOf(t, paceRecord(14, 3, 27, 1, 2), 3, on, climate.Weather{}),
		"the record ended a while": paceOf(t, paceRecord(14, 47, 9, 10, 4).Until(climate.NewDate(2025, 12, 20)), 47, on, climate.Weather{}),
		"growth never stops":       paceOf(t, paceRecord(14, 20, 26, 2, 2), 20, on, climate.Weather{}),
	} {
		if p != nil {
			t.Errorf("%s, and yet: %+v", name, p)
		}
	}
}

// TestPaceInTheSouth: its spring falls in September of the same season.
func TestPaceInTheSouth(t *testing.T) {
	r := paceRecord(14, -35, 13, 7, 3)
	for d := climate.NewDate(2026, 4, 11); d <= climate.NewDate(2026, 9, 1); d++ {
		same := r.At(climate.NewDate(d.Year()-1, d.Month(), d.Day()))
		same.Tmin, same.Tmax = same.Tmin+3, same.Tmax+3
		r.Days = append(r.Days, same)
	}
	p := paceOf(t, r, -35, climate.NewDate(2026, 9, 1), climate.Weather{})
	if p == nil || p.This.P50 < climate.NewDate(2026, 7, 1) || p.Ahead[1] <= 0 || p.Before < 0.5 {
		t.Errorf("a winter warmer than the others: %+v", p)
	}
}
