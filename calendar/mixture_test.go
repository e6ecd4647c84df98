package calendar

import (
	"testing"

	"pgregory.net/rapid"

	"budswell/climate"
)

// drawnWindow is a work whose window opens and closes on days drawn.
func drawnWindow(key string, opens []int, days int, chance float64) *Planned {
	w := &Planned{Key: key, Rule: &Rule{ID: "r", Why: "Roots heal."}, Why: "41 of 60", SoFar: "so far", Due: climate.NoDate, draws: &drawn{}}
	p := &Planner{draws: int(float64(len(opens)) / chance)}
	for _, o := range opens {
		d := climate.NewDate(2026, 1, 1) + climate.Date(o)
		w.draws.opens, w.draws.closes = append(w.draws.opens, d), append(w.draws.closes, d+climate.Date(days))
	}
	p.open, p.close = w.draws.opens, w.draws.closes
	w.Window, w.Open = p.summary(BestMiddle)
	return w
}

func run(from, n int) []int {
	out := make([]int, n)
	for i := range out {
		out[i] = from + i
	}
	return out
}

func TestMixtureOfTwoBands(t *testing.T) {
	low, high := drawnWindow("a", run(60, 20), 10, 1), drawnWindow("a", run(90, 40), 10, 1)
	m := mixed([]*Planned{low, high})
	day := func(n int) climate.Date { return climate.NewDate(2026, 1, 1) + climate.Date(n) }
	// Each band weighs the same, though one has twice the draws: a fifth of the low band lies
	// below 10 %, and the high band begins at the middle.
	if got, want := m.Window.Opens, (climate.Spread{P10: day(64), P50: day(90), P90: day(122)}); got != want {
		t.Errorf("opens %v, want %v", got, want)
	}
	if m.Window.Chance != 1 || m.Why != "Roots heal." || m.SoFar != "" {
		t.Errorf("%+v", m)
	}
	if on := m.Open.On(day(72)); on != low.Open.On(day(72))/2 {
		t.Errorf("open on the 72nd day: %v, of the low band %v", on, low.Open.On(day(72)))
	}
	// A band in which the work rarely comes counts for as much as it comes.
	rare := mixed([]*Planned{low, drawnWindow("a", run(90, 10), 10, 0.25)})
	if c := rare.Window.Chance; c < 0.62 || c > 0.63 {
		t.Errorf("chance %v, want 0.625", c)
	}
	if rare.Window.Opens.P50 >= day(90) {
		t.Errorf("opens %v: the rare band weighs as much as the other", rare.Window.Opens)
	}
}

// TestMixtureLiesBetween: no quantile of a mixture lies outside those of its parts, and one
// of the same with itself is the same.
func TestMixtureLiesBetween(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var works []*Planned
		for range rapid.IntRange(2, 5).Draw(t, "bands") {
			opens := rapid.SliceOfN(rapid.IntRange(0, 200), 1, 60).Draw(t, "opens")
			works = append(works, drawnWindow("a", opens, rapid.IntRange(0, 60).Draw(t, "days"), 1))
		}
		m := mixed(works).Window
		lo, hi := works[0].Window.Opens, works[0].Window.Opens
		for _, w := range works {
			o := w.Window.Opens
			lo = climate.Spread{P10: min(lo.P10, o.P10), P50: min(lo.P50, o.P50), P90: min(lo.P90, o.P90)}
			hi = climate.Spread{P10: max(hi.P10, o.P10), P50: max(hi.P50, o.P50), P90: max(hi.P90, o.P90)}
		}
		if o := m.Opens; o.P10 < lo.P10 || o.P10 > hi.P10 || o.P50 < lo.P50 || o.P50 > hi.P50 || o.P90 < lo.P90 || o.P90 > hi.P90 || o.P10 > o.P50 || o.P50 > o.P90 {
			t.Fatalf("opens %v, of parts from %v to %v", o, lo, hi)
		}
		if m.Certainty < 0 || m.Certainty > 1 || m.Chance <= 0 || m.Chance > 1.0001 {
			t.Fatalf("%+v", m)
		}
		twice := mixed([]*Planned{works[0], works[0]}).Window
		if twice.Opens != works[0].Window.Opens || twice.Closes != works[0].Window.Closes {
			t.Fatalf("with itself %v, alone %v", twice, works[0].Window)
		}
	})
}
