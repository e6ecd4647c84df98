package storetest

import (
	"context"
	"testing"
	"time"

	"budswell/calendar"
	"budswell/climate"
)

// wishes: shows, hours and promises come back as they were put; shows and hours are
// a change of the grower's plan, a promise is none.
func wishes(t *testing.T, s calendar.Store) {
	ctx := context.Background()
	must(t, s.PutGrower(ctx, Grower("a")))
	must(t, s.PutGrower(ctx, Grower("b")))
	changed := func(want int, do func()) {
		t.Helper()
		before, err := s.Changes(ctx, "a")
		must(t, err)
		do()
		after, err := s.Changes(ctx, "a")
		must(t, err)
		equal(t, after-before, want)
	}
	is := func(shows []calendar.Show, hours *calendar.Hours, promise calendar.Promise) {
		t.Helper()
		gotShows, err := s.Shows(ctx, "a")
		must(t, err)
		gotHours, err := s.Hours(ctx, "a")
		must(t, err)
		gotPromise, err := s.Promise(ctx, "a")
		must(t, err)
		equal(t, gotShows, shows)
		equal(t, gotHours, hours)
		equal(t, gotPromise, promise)
	}
	is(nil, nil, nil)

	day := climate.NewDate(2027, 4, 10)
	shows := []calendar.Show{
		{Name: "winter show", On: day + 300, Look: calendar.WinterSilhouette, Trees: []string{"x", "y"}},
		{Name: "’ß木", On: day - 900, Look: calendar.Evergreen, Trees: []string{"z"}},
	}
	hours := &calendar.Hours{
		Weekdays: [7]int{150, 0, 0, 0, 0, 30, 1440},
		Away:     []calendar.Absence{{From: day, To: day + 9}},
		Extra:    []calendar.ExtraDay{{On: day + 20, Minutes: 90}},
		Helpers:  []calendar.Helper{{On: day + 30, Minutes: 360, Hard: true}, {On: climate.NoDate, Weekday: time.Sunday, Minutes: 60}},
		Minutes:  calendar.WorkMinutes{"repot": 75},
		SetUp:    calendar.WorkMinutes{"repot": 30, "wire": 10},
	}
	promise := calendar.Promise{{Tree: "x", Key: "repot/2027", Day: day + 7, Chance: 0.812345678901234}}
	changed(1, func() { must(t, s.PutShows(ctx, "a", shows)) })
	changed(1, func() { must(t, s.PutHours(ctx, "a", hours)) })
	changed(0, func() { must(t, s.PutPromise(ctx, "a", promise)) })
	is(shows, hours, promise)
	other, err := s.Hours(ctx, "b")
	must(t, err)
	if other != nil {
		t.Errorf("b has hours of a: %+v", other)
	}

	for _, bad := range [][]calendar.Show{
		{{Name: "", On: day, Look: calendar.InLeaf, Trees: []string{"x"}}},
		{{Name: "n", On: climate.NoDate, Look: calendar.InLeaf, Trees: []string{"x"}}},
		{{Name: "n", On: day, Look: "upside-down", Trees: []string{"x"}}},
		{{Name: "n", On: day, Look: calendar.InLeaf}},
		{shows[0], {Name: "Winter Show", On: day, Look: calendar.InLeaf, Trees: []string{"x"}}},
	} {
		changed(0, func() { want(t, s.PutShows(ctx, "a", bad), calendar.ErrInvalid) })
	}
	for _, bad := range []calendar.Hours{
		{Weekdays: [7]int{1441}},
		{Weekdays: [7]int{-1}},
		{Away: []calendar.Absence{{From: day, To: day - 1}}},
		{Extra: []calendar.ExtraDay{{On: day, Minutes: 0}}},
		{Helpers: []calendar.Helper{{On: day, Minutes: 0}}},
		{Minutes: calendar.WorkMinutes{"repot": 961}},
		{SetUp: calendar.WorkMinutes{"": 5}},
	} {
		changed(0, func() { want(t, s.PutHours(ctx, "a", &bad), calendar.ErrInvalid) })
	}
	is(shows, hours, promise)
	want(t, s.PutShows(ctx, "nobody", shows), calendar.ErrNotFound)
	want(t, s.PutHours(ctx, "nobody", hours), calendar.ErrNotFound)
	want(t, s.PutPromise(ctx, "nobody", promise), calendar.ErrNotFound)

	changed(1, func() { must(t, s.PutShows(ctx, "a", nil)) })
	changed(1, func() { must(t, s.PutHours(ctx, "a", nil)) }) // and what was promised by them
	is(nil, nil, nil)

	must(t, s.PutShows(ctx, "a", shows))
	must(t, s.PutHours(ctx, "a", hours))
	must(t, s.PutPromise(ctx, "a", promise))
	must(t, s.DeleteGrower(ctx, "a", noon))
	must(t, s.PutGrower(ctx, Grower("a")))
	is(nil, nil, nil)
}
