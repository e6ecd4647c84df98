package ics

import (
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	ical "github.com/arran4/golang-ical"
	"github.com/google/go-cmp/cmp"

	"budswell/climate"
	"budswell/feeds/ics/icstest"
	"budswell/feeds/wording"
)

func tasks() *Calendar {
	return &Calendar{UID: UID("grower", "tasks", "all"), Name: "All work", Entries: Tasks(wording.English, "grower", fixture(), "https://trees.example/")}
}

func TestTasks(t *testing.T) {
	type row struct{ start, due, status, percent, priority, completed string }
	want := map[string]row{
		// Trim shoots and the hard pruning wait for something: they are no tasks.
		"Repot: ridge maple":             {"20270309", "20270328", "NEEDS-ACTION", "0", "3", ""},
		"Winter shelter: ridge maple":    {"20271217", "20271223", "NEEDS-ACTION", "0", "1", ""},
		"Feed: ridge maple":              {"", "20270312", "NEEDS-ACTION", "0", "7", ""},
		"Take the wire off: ridge maple": {"", "20270220", "COMPLETED", "100", "5", "20270220T120000Z"},
	}
	text := render(t, tasks())
	cal, err := ical.ParseCalendar(strings.NewReader(string(text)))
	if err != nil {
		t.Fatal(err)
	}
	got := map[string]row{}
	for _, c := range cal.Todos() {
		value := func(name ical.ComponentProperty) string {
			if p := c.GetProperty(name); p != nil {
				return p.Value
			}
			return ""
		}
		got[value("SUMMARY")] = row{value("DTSTART"), value("DUE"), value("STATUS"), value("PERCENT-COMPLETE"), value("PRIORITY"), value("COMPLETED")}
	}
	if diff := cmp.Diff(want, got, cmp.AllowUnexported(row{})); diff != "" {
		t.Errorf("tasks (-want +got):\n%s", diff)
	}
	events := map[string]bool{}
	for _, e := range Entries(wording.English, "grower", fixture(), "") {
		events[e.UID] = true
	}
	for _, e := range tasks().Entries {
		if events[e.UID] {
			t.Errorf("%s: a task and an event have one UID", e.Summary)
		}
	}
	file := filepath.Join("testdata", "tasks.ics")
	if *update {
		if err := os.WriteFile(file, text, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	golden, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(string(golden), string(text)); diff != "" {
		t.Errorf("%s (-want +got):\n%s", file, diff)
	}
	none := &Calendar{UID: "none@budswell", Name: "No tasks"}
	icstest.Check(t, map[string][]byte{"tasks": text, "none": render(t, none)})
}

func TestCancelled(t *testing.T) {
	bodies := map[string][]byte{}
	for _, c := range []*Calendar{feed(fixture()), tasks()} {
		for i, e := range c.Entries {
			e.Summary = strings.Repeat("long ", 31) + "name" // 159 letters: as long as a summary may be
			gone := e.Cancel(wording.English, d(3, 3))
			if over := strings.Contains(gone.Description, "its days are over"); over != (e.Last < d(3, 3)) {
				t.Errorf("%v to %v: %s", e.First, e.Last, gone.Description)
			}
			c.Entries[i] = gone
			b, err := Object(&gone, firstRevisions(c)[e.UID])
			if err != nil {
				t.Fatal(err)
			}
			unfolded := strings.ReplaceAll(string(b), "\r\n ", "")
			for _, part := range []string{"STATUS:CANCELLED\r\n", " (cancelled)\r\n", "UID:" + e.UID, "Wed 3 Mar 2027"} {
				if !strings.Contains(unfolded, part) {
					t.Errorf("%q is not in\n%s", part, unfolded)
				}
			}
			if strings.Contains(unfolded, "VALARM") || gone.Digest == e.Digest || len([]rune(gone.Summary)) > longestLine {
				t.Errorf("alarm, digest or length of\n%s", unfolded)
			}
			bodies[e.UID[:8]] = b
		}
		bodies[c.UID[:8]] = render(t, c)
	}
	icstest.Check(t, bodies)
}

// What was shown is kept as JSON: it must come back as it was.
func TestEntriesAsJSON(t *testing.T) {
	for _, e := range append(Entries(wording.English, "grower", fixture(), "https://trees.example/"), Tasks(wording.English, "grower", fixture(), "")...) {
		for _, e := range []Entry{e, e.Cancel(wording.English, climate.NewDate(2027, 3, 3))} {
			b, err := json.Marshal(e)
			if err != nil {
				t.Fatal(err)
			}
			var back Entry
			if err := json.Unmarshal(b, &back); err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(e, back); diff != "" {
				t.Errorf("as it comes back (-want +got):\n%s", diff)
			}
		}
	}
}
