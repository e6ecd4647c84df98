package nudge

import (
	"fmt"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"budswell/calendar"
	"budswell/climate"
	"budswell/feeds/wording"
)

// drawn makes a work whose window is drawn: open for so many days from each of the opening days on.
func drawn(opens []climate.Date, days climate.Date) calendar.Planned {
	w := planned(repot, today, today+days)
	lo, hi := opens[0], opens[0]
	closes := make(climate.Sample, len(opens))
	for i, o := range opens {
		lo, hi = min(lo, o), max(hi, o+days-1)
		closes[i] = o + days - 1
	}
	w.Open = calendar.Curve{First: lo, Chance: make([]float64, hi-lo+1)}
	for i, o := range opens {
		for d := o; d <= closes[i]; d++ {
			w.Open.Chance[d-lo] += 1 / float64(len(opens))
		}
	}
	w.Window.Opens, _ = climate.Sample(opens).Spread()
	w.Window.Closes, _ = closes.Spread()
	w.Window.Certainty = 0
	for d := w.Window.Opens.P50; d <= w.Window.Closes.P50; d++ {
		if c := w.Open.On(d); c > w.Window.Certainty {
			w.Window.Likely, w.Window.Certainty = d, c
		}
	}
	return w
}

// TestOneFigureForTheTime draws windows, short and long, sure and not, and goes through their mornings: each is told once;
// that now is the time is said only where the figure in the same message agrees.
func TestOneFigureForTheTime(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		opens := make([]climate.Date, 20)
		width := rapid.IntRange(1, 40).Draw(t, "width")
		for i := range opens {
			opens[i] = today + 10 + climate.Date(rapid.IntRange(0, width).Draw(t, "opens"))
		}
		w := drawn(opens, climate.Date(rapid.IntRange(1, 40).Draw(t, "days")))
		m := bench()
		m.add("1", maple, nil, climate.NoDate, w)
		var sent []calendar.Nudge
		times := 0
		for m.Plan.On = today; m.Plan.On <= w.Window.Closes.P90; m.Plan.On++ {
			got := tell(m, sent...)
			sent = append(sent, got...)
			for _, n := range got {
				if n.Kind != WindowOpens {
					continue
				}
				times++
				open := wording.Open(&w, m.Plan.On)
				figure := wording.HowSure(open)
				if m.Plan.On != w.Window.Likely && !strings.Contains(n.Body, "pen today: "+figure) || m.Plan.On == w.Window.Likely && !strings.Contains(n.Body, figure) {
					t.Fatalf("%s is not in\n%s", figure, n.Body)
				}
				now, perhaps := strings.HasPrefix(n.Title, "Now is the time"), strings.HasPrefix(n.Title, "Perhaps the time")
				if now == perhaps || now != (open >= likely) || now && strings.Contains(n.Body, "oday: unlikely") {
					t.Fatalf("%q, and it is open today: %s", n.Title, figure)
				}
			}
		}
		if times != 1 {
			t.Fatalf("told %d times; open at best %.2f", times, w.Window.Certainty)
		}
	})
}

// A window as wide as this was told on its 50 % day, with "now is the time" and "unlikely (30 %)".
func TestTimeThatIsNotSure(t *testing.T) {
	var opens []climate.Date
	for i := range 20 {
		opens = append(opens, today-10+climate.Date(i))
	}
	w := drawn(opens, 6)
	m := bench()
	m.add("1", maple, nil, climate.NoDate, w)
	got := tell(m)
	want(t, got, WindowOpens)
	if !strings.HasPrefix(got[0].Title, "Perhaps the time at ") || !strings.Contains(got[0].Body, "No day is sure for this") || !strings.Contains(got[0].Body, "unlikely (30 %)") {
		t.Errorf("%s\n%s", got[0].Title, got[0].Body)
	}
	sure := drawn([]climate.Date{today - 1, today - 1, today}, 30)
	sure.Key, sure.Rule = "other/2026", &calendar.Rule{ID: "other"}
	m.add("2", maple, nil, climate.NoDate, sure)
	got = tell(m)
	want(t, got, WindowOpens)
	if !strings.HasPrefix(got[0].Title, "Now is the time at ") || !strings.Contains(got[0].Body, "Where it is not, no day is surer than today.") {
		t.Errorf("%s\n%s", got[0].Title, got[0].Body)
	}
}

func TestWeekOfWhatMayBeOpen(t *testing.T) {
	var opens []climate.Date
	for i := range 20 {
		opens = append(opens, today-10+climate.Date(i))
	}
	m := bench()
	m.add("1", maple, nil, climate.NoDate, drawn(opens, 6))
	d := day(m)
	d.Preferences.Off = []string{WindowOpens}
	got, _ := Decide(d)
	want(t, got, WeekAhead)
	if s := fmt.Sprint(got[0].Body); !strings.Contains(s, "Perhaps open\n- Do repot") || !strings.Contains(s, "Open today: unlikely (30 %)") || strings.Contains(s, "Open now") {
		t.Error(s)
	}
}
