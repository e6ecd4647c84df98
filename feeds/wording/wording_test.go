package wording

import (
	"math"
	"testing"
	"time"

	"budswell/calendar"
	"budswell/climate"
)

func TestHowSure(t *testing.T) {
	for p, want := range map[float64]string{
		0: "very unlikely (under 5 %)", 0.02: "very unlikely (under 5 %)", 0.1: "very unlikely (10 %)", 0.2: "unlikely (20 %)",
		0.5: "as likely as not (50 %)", 0.66: "likely (65 %)", 0.78: "likely (80 %)", 0.9: "very likely (90 %)", 0.98: "very likely (over 95 %)", 1: "very likely (over 95 %)",
	} {
		if got := HowSure(p); got != want {
			t.Errorf("%v: %q, want %q", p, got, want)
		}
	}
}

func TestSpread(t *testing.T) {
	d := climate.NewDate(2027, time.March, 9)
	for want, s := range map[string]climate.Spread{
		"5 March 2027 (10 %), 9 March 2027 (50 %), 20 March 2027 (90 %)": {P10: d - 4, P50: d, P90: d + 11},
		"9 March 2027 (10, 50 and 90 % on the same day)":                 {P10: d, P50: d, P90: d},
		"no day": {P10: climate.NoDate, P50: climate.NoDate, P90: climate.NoDate},
	} {
		if got := Spread(s); got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
}

func TestRests(t *testing.T) {
	for want, b := range map[string]climate.Basis{
		"A station: 12 seasons of measured weather.":                                                                       {Source: "A station", Years: 12, Measured: 365},
		"A station: 1 season of measured weather and 29 generated seasons.":                                                {Source: "A station.", Years: 1, Generated: 29, Measured: 340, Typical: 25},
		"Normals as typed: 40 generated seasons; nothing was measured this year.":                                          {Source: "Normals as typed", Generated: 40, Typical: 365},
		"A station: 5 seasons of measured weather; parts of the past year were not measured, and typical values stand in.": {Source: "A station", Years: 5, Measured: 200, Typical: 165},
		"no seasons to compare with; nothing was measured this year.":                                                      {},
	} {
		if got := Rests(b); got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
}

func TestSentencesAndEffort(t *testing.T) {
	for in, want := range map[string]string{"": "", " a\n b ": "a b.", "Done!": "Done!", "so…": "so…", "ä": "ä."} {
		if got := Sentence(in); got != want {
			t.Errorf("Sentence(%q) = %q, want %q", in, got, want)
		}
	}
	for in, want := range map[int]string{1: "1 minute", 45: "45 minutes", 90: "1 h 30 min", 120: "2 hours"} {
		if got := Effort(in); got != want {
			t.Errorf("Effort(%d) = %q, want %q", in, got, want)
		}
	}
	got := Cautions([]string{"The date is a forecast. Look at the tree first, and let it decide.", "Sharp tools. Cut away", ""})
	if len(got) != 1 || got[0] != "Sharp tools. Cut away." || First(got[0]) != "Sharp tools." {
		t.Errorf("Cautions: %q", got)
	}
}

func TestOpenIsThePlansFigure(t *testing.T) {
	d := climate.NewDate(2027, time.March, 1)
	spread := func(p50 climate.Date) climate.Spread { return climate.Spread{P10: p50 - 4, P50: p50, P90: p50 + 4} }
	w := &calendar.Planned{Window: calendar.Window{Opens: spread(d), Closes: spread(d + 20), Chance: 0.5}}
	for day, want := range map[climate.Date]float64{-5: 0, 0: 0.25, 10: 0.5, 40: 0} {
		if got := Open(w, d+day); math.Abs(got-want) > 0.01 {
			t.Errorf("read off the window, day %d: %v, want %v", day, got, want)
		}
	}
	w.Open = calendar.Curve{First: d, Chance: []float64{0.1, 0.4}}
	for day, want := range map[climate.Date]float64{-1: 0, 0: 0.1, 1: 0.4, 2: 0} {
		if got := Open(w, d+day); got != want {
			t.Errorf("of the plan, day %d: %v, want %v", day, got, want)
		}
	}
}
