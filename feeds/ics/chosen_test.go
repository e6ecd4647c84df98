package ics

import (
	"strings"
	"testing"

	"budswell/calendar"
	"budswell/climate"
	"budswell/feeds/wording"
)

// withHours is the fixture of a grower who told their hours: the repot has its
// Saturday, feeding several days, and the trimming waits.
func withHours() *calendar.Plan {
	p := fixture()
	t := &p.Trees[0]
	work := func(key string) *calendar.Planned {
		for i := range t.Works {
			if t.Works[i].Key == key {
				return &t.Works[i]
			}
		}
		return nil
	}
	day := func(key string, on climate.Date, chance float64, best climate.Date, bestChance float64) calendar.AgendaDay {
		return calendar.AgendaDay{Day: on, Works: []calendar.Chosen{{
			Tree: t, Work: work(key), Day: on, Chance: chance, Best: best, BestChance: bestChance, Promised: climate.NoDate,
		}}}
	}
	trim := work("shape/2027")
	p.Agenda = &calendar.Agenda{
		On: on,
		Days: []calendar.AgendaDay{
			day("feed/2027/3", d(3, 13), 1, d(3, 13), 1), day("repot-deciduous/2027", d(3, 20), 0.62, d(3, 14), 0.78), day("feed/2027/3", d(3, 27), 1, d(3, 27), 1),
		},
		Waiting: []calendar.Waiting{{
			Tree: t, Work: trim, From: d(5, 15), To: d(6, 8), Reason: "there are no hours on any of its days", Chance: 0.9, Cost: 30, Best: d(5, 20), Promised: climate.NoDate,
		}},
	}
	return p
}

// With hours a work stands on the day chosen for it, under the UID that it has
// without, and says what its window is; what waits stands on its window, and says so.
func TestChosenDays(t *testing.T) {
	without := map[string]Entry{}
	for _, e := range Entries(wording.English, "grower", fixture(), "https://trees.example/") {
		without[e.UID] = e
	}
	found := map[string]Entry{}
	for _, e := range Entries(wording.English, "grower", withHours(), "https://trees.example/") {
		if without[e.UID].UID == "" {
			t.Errorf("%s has another UID than without hours", e.Summary)
		}
		found[e.Work+" "+e.Summary] = e
	}
	says := func(e Entry, words ...string) {
		t.Helper()
		for _, w := range words {
			if !strings.Contains(e.Description, w) {
				t.Errorf("%s does not say %q:\n%s", e.Summary, w, e.Description)
			}
		}
	}
	repot := found["repot Repot: ridge maple"]
	if repot.First != d(3, 20) || repot.Last != d(3, 20) {
		t.Errorf("repot stands on %v to %v, want its Saturday, 20 March", repot.First, repot.Last)
	}
	says(repot, "Chosen for you: Sat 20 Mar 2027; the window is open that day: as likely as not (60 %)", "The best day would be Sun 14 Mar 2027",
		"Opens: 5 March 2027 (10 %), 9 March 2027 (50 %)", "Caution: Sharp tools", "Dates are forecasts")
	if feeding := found["feed Feed: ridge maple"]; feeding.First != d(3, 13) || feeding.Last != d(3, 13) {
		t.Errorf("feeding stands on %v, want the first of its days", feeding.First)
	}
	trim := found["prune Trim shoots: ridge maple (no day for it yet)"]
	if trim.First != d(5, 15) || trim.Last != d(6, 8) {
		t.Errorf("what waits stands on %v to %v, want its window", trim.First, trim.Last)
	}
	says(trim, "No day was found for it: there are no hours on any of its days.", "Not to do it risks about 4 weeks of its road.")
	shelter := found["shelter Winter shelter: ridge maple"]
	if was := without[shelter.UID]; shelter.Digest != was.Digest {
		t.Error("a work of which the agenda says nothing is revised")
	}
	for _, e := range Tasks(wording.English, "grower", withHours(), "") {
		if e.Work == "repot" && (e.First != d(3, 20) || e.Last != d(3, 20) || e.Summary != "Repot: ridge maple") {
			t.Errorf("the task is %q on %v to %v, want it due on the day chosen", e.Summary, e.First, e.Last)
		}
	}
}
