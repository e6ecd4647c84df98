package calendar_test

import (
	"strings"
	"testing"

	"budswell/calendar"
)

// A newly dug tree that by its log stands in the frost is told of all winter.
func TestNoticeOfATreeInTheFrost(t *testing.T) {
	const dug = "2026-03-15 did collected; "
	for _, s := range []struct {
		on, log string
		want    bool
	}{
		{"2026-10-01", dug, false}, // in good time
		{"2026-12-10", dug, true},
		{"2027-01-20", dug, true},
		{"2027-06-01", dug, false},
		{"2027-01-20", dug + "2026-11-05 did winter-shelter", false},
		{"2027-01-20", dug + "2026-11-05 moved frame", false},
	} {
		moved := strings.Contains(s.log, "moved")
		tree := calendar.Tree{ID: "t", Name: "t", Species: "Fagus sylvatica", Origin: calendar.Collected}
		tree.Log = entries(t, strings.ReplaceAll(s.log, "2026-11-05 moved frame", ""))
		if moved {
			tree.Log = append(tree.Log, calendar.Entry{On: d(t, "2026-11-05"), Moved: "frame"})
		}
		plan, err := planner(t, "temperate", s.on).Plan([]calendar.Tree{tree})
		if err != nil {
			t.Fatal(err)
		}
		if got := plan.Trees[0].Notice; strings.Contains(got, "not say that it is in winter shelter") != s.want {
			t.Errorf("%s, %s: %q", s.on, s.log, got)
		}
	}
	plan, err := planner(t, "temperate", "2026-11-10").Plan([]calendar.Tree{{ID: "t", Name: "t", Species: "Fagus sylvatica", Origin: calendar.Collected, Log: entries(t, dug)}})
	if err != nil {
		t.Fatal(err)
	}
	if got := plan.Trees[0].Next; !strings.Contains(got, "Bring the root ball where no frost comes, to be done by about 2026-") {
		t.Errorf("next: %q", got)
	}
}
