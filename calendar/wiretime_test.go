package calendar_test

import (
	"testing"

	"budswell/calendar"
)

// The wire that a styling puts on stays on for its time, as wire put on by itself does.
func TestWireOfAStylingStaysOn(t *testing.T) {
	for _, s := range []story{
		{
			"a maple styled days ago", "temperate", "2026-06-25", "Acer campestre", calendar.Collected,
			"2019-03-15 did collected; 2022-04-05 did repot; 2026-06-20 did first-style",
			[]expectation{
				never("unwire", "", "2026-12-31"),
				blocked("unwire", "2026-06-01", "2026-12-31", "6 weeks after first styling (done on 2026-06-20)"),
				comes("wire-check", "2026-07-04", "2026-07-04"),
			},
		},
		{
			"a pine styled last autumn", "temperate", "2027-07-01", "Pinus sylvestris", calendar.Collected,
			"2014-04-10 did collected; 2017-04-10 did repot; 2020-04-10 did repot; 2026-10-20 did first-style",
			[]expectation{blocked("unwire", "2027-07-01", "2027-12-31", "one growing season after first styling (done on 2026-10-20)")},
		},
		{
			"wire put on by itself", "temperate", "2026-06-25", "Acer campestre", calendar.Nursery,
			"2022-01-01 judged building strong; 2026-06-20 did wire",
			[]expectation{blocked("unwire", "2026-06-01", "2026-12-31", "6 weeks after wire (done on 2026-06-20)")},
		},
	} {
		t.Run(s.name, func(t *testing.T) {
			tree := calendar.Tree{ID: "t", Name: "the tree", Species: s.species, Origin: s.origin, Log: entries(t, s.log)}
			plan, err := planner(t, s.place, s.on).Plan([]calendar.Tree{tree})
			if err != nil {
				t.Fatal(err)
			}
			for _, f := range s.expect {
				if wrong := f(&plan.Trees[0]); wrong != "" {
					t.Error(wrong)
				}
			}
		})
	}
}

// What goes before all else is said: that a tree rests, or that nothing is known of it.
func TestNotice(t *testing.T) {
	for _, s := range []struct {
		name, log, want string
		origin          calendar.Origin
	}{
		{"rests from a repot", "2022-01-01 judged building strong; 2026-04-05 did repot", "It rests until about 2026-09 after repot (done on 2026-04-05): no hard work before.", calendar.Nursery},
		{"has rested", "2022-01-01 judged building strong; 2023-04-05 did repot", "", calendar.Nursery},
		{"dug and without a log", "", "Nothing is known of when it was dug: log that, or judge the tree. Until then it is planned for as newly dug, if it is out of the ground at all.", calendar.Collected},
		{"wire of years ago", "2022-01-01 judged building strong; 2024-06-20 did wire", "There is wire on it since 2024-06-20: look at it now, and take off what marks, whatever the season.", calendar.Nursery},
		{"wire of this spring", "2022-01-01 judged building strong; 2026-03-05 did wire", "", calendar.Nursery},
		{"bought and without a log", "", "", calendar.Nursery},
	} {
		t.Run(s.name, func(t *testing.T) {
			plan, err := planner(t, "temperate", "2026-06-25").Plan([]calendar.Tree{{ID: "t", Name: "t", Species: "Acer campestre", Origin: s.origin, Log: entries(t, s.log)}})
			if err != nil {
				t.Fatal(err)
			}
			if got := plan.Trees[0].Notice; got != s.want {
				t.Errorf("%q, want %q", got, s.want)
			}
		})
	}
}
