package ics

import (
	"strings"
	"testing"
	"time"

	"budswell/calendar"
	"budswell/climate"
	"budswell/feeds/wording"
)

func season(year int, m time.Month, day int, name string) *calendar.SeasonDay {
	return &calendar.SeasonDay{Day: climate.NewDate(year, m, day), Season: name}
}

// ahead is a roadmap made by hand: a stage that comes, one that comes in six of ten
// draws, and one that hardly comes in the years looked at.
func ahead() *calendar.Years {
	return &calendar.Years{
		On: on, Until: climate.NewDate(2035, time.March, 1), Site: climate.Site{Lat: 50.1}, Basis: fixture().Basis,
		Trees: []calendar.Roadmap{{
			Tree: "ridge-maple", Name: "ridge maple", Species: "Acer campestre", Stage: calendar.StageBaseWork,
			Stages: []calendar.StageAhead{
				{Stage: calendar.StageFirstStyling, Ahead: calendar.Ahead{P10: season(2028, 6, 3, "summer 2028"), P50: season(2028, 6, 20, "summer 2028"), P90: season(2029, 4, 2, "spring 2029"), Reached: 1}},
				{Stage: calendar.StageBuilding, Ahead: calendar.Ahead{P10: season(2030, 1, 9, "winter 2029/30"), P50: season(2031, 2, 2, "winter 2030/31"), Reached: 0.6}},
				{Stage: calendar.StageExhibition, Ahead: calendar.Ahead{Reached: 0.02}},
			},
			Steps: []calendar.StepAhead{
				{Step: "repot", Title: "Repot", Ahead: calendar.Ahead{P50: season(2027, 4, 10, "spring 2027"), Reached: 1}},
				{Step: "first-style", Title: "First styling", Ahead: calendar.Ahead{P50: season(2029, 1, 10, "winter 2028/29"), Reached: 0.9}},
			},
		}},
	}
}

func TestYears(t *testing.T) {
	got := Years(wording.English, "grower ada", ahead(), func(tree string) string { return "https://trees.example/trees/" + tree })
	if len(got) != 2 {
		t.Fatalf("%d events, want those of the two stages that are as likely as not: %+v", len(got), got)
	}
	for i, want := range []struct {
		day     climate.Date
		summary string
		says    []string
	}{
		{climate.NewDate(2028, 6, 1), "ridge maple: first styling, about summer 2028", []string{
			"In 8 of 10 drawn lives: summer 2028 to spring 2029", "What lies before it: Repot about spring 2027", "look at the tree first",
		}},
		{climate.NewDate(2030, 12, 1), "ridge maple: building, about winter 2030/31", []string{
			"winter 2029/30 to later than the years looked at", "(60 %)", "What lies before it: First styling about winter 2028/29",
		}},
	} {
		e := got[i]
		if e.First != want.day || e.Last != want.day || e.Summary != want.summary || !e.Tentative || !e.Quiet {
			t.Errorf("event %d: got %v %q tentative %v quiet %v, want %v %q, tentative and quiet", i, e.First, e.Summary, e.Tentative, e.Quiet, want.day, want.summary)
		}
		for _, s := range want.says {
			if !strings.Contains(strings.ReplaceAll(e.Description, "\n", " "), s) {
				t.Errorf("event %d does not say %q: %q", i, s, e.Description)
			}
		}
	}
}

// Seasons of the year begin on the first of a month, the winter in December.
func TestSeasonStart(t *testing.T) {
	for d, want := range map[climate.Date]climate.Date{
		climate.NewDate(2027, 1, 15):  climate.NewDate(2026, 12, 1),
		climate.NewDate(2028, 2, 29):  climate.NewDate(2027, 12, 1),
		climate.NewDate(2027, 3, 1):   climate.NewDate(2027, 3, 1),
		climate.NewDate(2027, 5, 31):  climate.NewDate(2027, 3, 1),
		climate.NewDate(2027, 8, 31):  climate.NewDate(2027, 6, 1),
		climate.NewDate(2027, 11, 30): climate.NewDate(2027, 9, 1),
		climate.NewDate(2027, 12, 31): climate.NewDate(2027, 12, 1),
	} {
		if got := seasonStart(d); got != want {
			t.Errorf("%v: got %v, want %v", d, got, want)
		}
	}
}

// years is a feed of roadmaps.
func years() *Calendar {
	return &Calendar{UID: "years@budswell", Name: "The years to the bench", Entries: Years(wording.English, "grower ada", ahead(), func(string) string { return "" })}
}
