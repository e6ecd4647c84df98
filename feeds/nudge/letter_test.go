package nudge

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"budswell/calendar"
	"budswell/climate"
	"budswell/climate/phenology"
)

// everyKind is a morning on which there is something of every kind to tell.
func everyKind() Day {
	m := bench()
	m.Nights = &climate.Record{Source: "a provider", First: today, Days: []climate.Day{
		{Tmin: 3, Tmax: 12, TminOrigin: climate.Predicted, TmaxOrigin: climate.Predicted},
		{Tmin: -0.4, Tmax: 33.4, TminOrigin: climate.Predicted, TmaxOrigin: climate.Predicted},
		{Tmin: 1.6, Tmax: 34, TminOrigin: climate.Predicted, TmaxOrigin: climate.Predicted},
	}}
	work := func(r *calendar.Rule, title string, opens, closes climate.Date, change ...func(*calendar.Planned)) calendar.Planned {
		w := planned(r, opens, closes)
		w.Title, w.Cautions = title, []string{"Sharp tools: eyes and hands. Look where you cut.", "Dates are forecasts: look at the tree first."}
		for _, f := range change {
			f(&w)
		}
		return w
	}
	due := func(d climate.Date) func(*calendar.Planned) { return func(w *calendar.Planned) { w.Due = d } }
	blocked := func(w *calendar.Planned) {
		w.Blocked = []calendar.Block{{Reason: "it rests after root work", Until: today + 330}}
	}
	m.add("a", maple, spread(today-6, 1), climate.NoDate, work(repot, "Repot", today-2, today+12))
	m.add("b", maple, spread(today-1, 2), climate.NoDate, work(repot, "Repot", today+2, today+20, blocked), work(frosts, "Watch for frost", today-9, today+9))
	m.add("c\r\nBcc: <b>x", maple, spread(today-2, 0), today-2, work(repot, "Repot", today-2, today+12))
	m.add("d", larch, spread(today-40, 1), climate.NoDate, work(feed, "Feed", today-1, today+60), work(unveil, "Out of the shade", today, today+9),
		work(wires, "Look at the wire", today-60, today+60, due(today-1)), work(hot, "Shade from heat", today+20, today+90))
	m.add("e", &calendar.Species{Name: "Olea europaea", Group: phenology.FrostTender}, nil, climate.NoDate,
		work(prune, "Prune hard", today-20, today+2), work(repot, "Repot", today-30, today-2),
		work(style, "First styling", today+24, today+60), work(cut, "Cut back", today+3, today+30))
	m.Plan.Trees[4].Species.RootsKilledBelow = new(float64)
	m.Nights.Days[1].Tmin = -2.4
	d := day(m)
	d.Preferences.Off = nil
	d.Preferences.WeekDay = time.Saturday // yesterday; it was missed
	d.Told = map[string]climate.Date{"opens bench e " + style.ID + "/2026/1": today + 10}
	prior := &calendar.Planned{Season: 2026, Key: prune.ID + "/2026/1"}
	d.Sent = []calendar.Nudge{{
		Decided: noon.AddDate(0, 0, -9), Subjects: []string{(&Morning{Place: "bench"}).windowSubject(WindowOpens, &m.Plan.Trees[4], prior)},
	}}
	return d
}

func sealed(t *testing.T, nudges []calendar.Nudge) []calendar.Nudge {
	t.Helper()
	n := 0
	if err := Seal(nudges, func() (string, string, error) { n++; return fmt.Sprint("secret", n), fmt.Sprint("hash", n), nil }); err != nil {
		t.Fatal(err)
	}
	return nudges
}

// The texts as people read them, in plain text and as HTML.
func TestTexts(t *testing.T) {
	nudges, days := Decide(everyKind())
	seen := map[string]bool{}
	var text, html strings.Builder
	for _, n := range sealed(t, nudges) {
		seen[n.Kind] = true
		c := calendar.Claimed{Nudge: n}
		page, err := pageHTML(c, "https://trees.example")
		if err != nil {
			t.Fatal(err)
		}
		fmt.Fprintf(&text, "######## %s\nSubject: %s\n\n%s\n%s\n", n.Kind, n.Title, n.Body, linksText(n.Links, "https://trees.example"))
		fmt.Fprintf(&html, "<!-- %s -->\n%s\n", n.Kind, page)
		if strings.Contains(page, "<b>x") {
			t.Errorf("%s holds what was typed as markup:\n%s", n.Kind, page)
		}
		for _, s := range []string{n.Body, page} {
			if strings.Contains(strings.TrimPrefix(s, "<!doctype html>"), "!") {
				t.Errorf("%s exclaims:\n%s", n.Kind, s)
			}
			if !strings.Contains(s, "look at the tree first") {
				t.Errorf("%s does not say to look at the tree first", n.Kind)
			}
		}
	}
	for _, k := range Kinds() {
		if !seen[k.ID] {
			t.Errorf("nothing of the kind %s is told", k.ID)
		}
	}
	fmt.Fprintf(&text, "######## days taken as told\n%v\n", days)
	golden(t, "texts.golden", text.String())
	golden(t, "texts.html.golden", html.String())
}

// What is beyond the cap is one message that holds the rest.
func TestTextOfSeveral(t *testing.T) {
	d := everyKind()
	d.Preferences.Cap = 1
	d.Sent = append(d.Sent, calendar.Nudge{Urgent: true, Decided: d.Now}, calendar.Nudge{Urgent: true, Decided: d.Now})
	nudges, _ := Decide(d)
	want(t, nudges, several, several)
	var text strings.Builder
	for _, n := range sealed(t, nudges) {
		fmt.Fprintf(&text, "Subject: %s\n\n%s\n%s\n", n.Title, n.Body, linksText(n.Links, "https://trees.example"))
	}
	golden(t, "several.golden", text.String())
}

func golden(t *testing.T, name, got string) {
	t.Helper()
	path := filepath.Join("testdata", name)
	if *update {
		if err := os.WriteFile(path, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if got != string(want) {
		t.Errorf("not as in %s (run with -update and look at the difference):\n%s", path, got)
	}
}
