package phenology

import (
	"strings"
	"testing"
	"time"

	"budswell/climate"
)

// TestWhy: the reason has the numbers, and says how little is known far ahead.
func TestWhy(t *testing.T) {
	p := places["continental"]
	h := Habit{Species: "Acer rubrum", Group: Deciduous}
	f, err := NewForecaster(knownWeather(t, p, climate.NewDate(2026, time.April, 20)), []Sighting{
		{"own", "Acer rubrum", BudBreak, climate.NewDate(2025, time.May, 1), climate.NoDate},
	})
	if err != nil {
		t.Fatal(err)
	}
	near := season(t, f, h, "own", 2026).Phases[BudBreak]
	if !strings.Contains(near.SoFar, "of the 100 parts of warmth") || strings.Contains(near.Why, "parts of warmth") {
		t.Errorf("so far %q, why %q", near.SoFar, near.Why)
	}
	for _, want := range []string{"8 of 10", "5 trees of the species over 13 springs", "1 of this tree"} {
		if !strings.Contains(near.Why, want) {
			t.Errorf("why %q: want %q in it", near.Why, want)
		}
	}
	if !near.Fitted {
		t.Error("bud break of a fitted species is not marked fitted")
	}
	far := season(t, f, h, "own", 2027)
	if why := far.Phases[BudBreak].Why; !strings.Contains(why, "no forecast beats the usual date") {
		t.Errorf("why %q: want it to say that nothing beats the usual date", why)
	}
	if far.Phases[LeafFall].Fitted || far.Phases[BudSwell].Fitted {
		t.Error("phases of common practice are marked fitted")
	}
}

// TestSoFar: how far the season has come is told only where it was measured, and
// only until the phase has come.
func TestSoFar(t *testing.T) {
	p := places["continental"]
	h := Habit{Species: "Acer rubrum", Group: Deciduous}
	tell := func(o *climate.Outlook, ph Phase) string {
		f, err := NewForecaster(o, nil)
		if err != nil {
			t.Fatal(err)
		}
		return season(t, f, h, "", 2026).Phases[ph].SoFar
	}
	day := func(m time.Month, d int) climate.Date { return climate.NewDate(2026, m, d) }
	for _, c := range []struct {
		on    climate.Date
		phase Phase
		tells bool
	}{
		{day(time.January, 20), BudBreak, true},
		{day(time.April, 20), BudBreak, true},
		{day(time.July, 15), BudBreak, false},
		{day(time.July, 15), LeavesHardened, false},
		{day(time.October, 1), LeafFall, true},
		{day(time.December, 20), LeafFall, false},
	} {
		o := knownWeather(t, p, c.on)
		if got := tell(o, c.phase); (got != "") != c.tells || strings.Contains(got, "100 of the") {
			t.Errorf("%v, %s: so far %q", c.on, c.phase, got)
		}
		if got := tell(p.outlook(t, c.on), c.phase); got != "" {
			t.Errorf("%v, %s, normals alone: so far %q", c.on, c.phase, got)
		}
		ended := o.Record.Until(day(time.January, 9))
		old, err := (&climate.Weather{Record: ended, Normals: p.normals(), Seed: 1}).Outlook(p.site(), c.on)
		if err != nil {
			t.Fatal(err)
		}
		if got := tell(old, c.phase); got != "" && c.on > day(time.February, 1) {
			t.Errorf("%v, %s, a record that ended in January: so far %q", c.on, c.phase, got)
		}
	}
}
