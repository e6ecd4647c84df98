package storetest

import (
	"context"
	"testing"
	"time"

	"budswell/calendar"
)

// locale: the default where none was set, the same back, a change that feeds hear of,
// and none where what is put cannot be.
func locale(t *testing.T, s calendar.Store) {
	ctx := context.Background()
	must(t, s.PutGrower(ctx, Grower("a")))
	must(t, s.PutGrower(ctx, Grower("b")))
	is := func(grower string, want calendar.Locale) {
		t.Helper()
		got, err := s.Locale(ctx, grower)
		must(t, err)
		equal(t, got, want)
	}
	changes := func() int {
		t.Helper()
		n, err := s.Changes(ctx, "a")
		must(t, err)
		return n
	}
	is("a", calendar.DefaultLocale())
	before := changes()
	sunday := calendar.Locale{Language: "de-CH", Temperature: calendar.Fahrenheit, Volume: calendar.InQuarts, Dates: calendar.DatesISO, WeekStart: time.Sunday}
	must(t, s.PutLocale(ctx, "a", sunday))
	is("a", sunday)
	is("b", calendar.DefaultLocale())
	equal(t, changes(), before+1)
	for _, bad := range []calendar.Locale{
		{Language: "de_CH"}, {Language: "a very long name that no language has, ever"}, {Temperature: "K"}, {Volume: "cups"}, {Dates: "roman"}, {WeekStart: time.Tuesday}, {WeekStart: -1},
	} {
		want(t, s.PutLocale(ctx, "a", bad), calendar.ErrInvalid)
	}
	want(t, s.PutLocale(ctx, "nobody", sunday), calendar.ErrNotFound)
	is("a", sunday)
	equal(t, changes(), before+1)
	must(t, s.PutLocale(ctx, "a", calendar.DefaultLocale()))
	is("a", calendar.DefaultLocale())
}
