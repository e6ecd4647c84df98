package storetest

import (
	"context"
	"testing"
	"time"

	"budswell/calendar"
	"budswell/climate"
)

// editions are replaced as a whole, by who knows the one before only.
func editions(t *testing.T, s calendar.Store) {
	ctx := context.Background()
	_, err := s.Edition(ctx, "grower a")
	want(t, err, calendar.ErrNotFound)
	shown := func(uid, digest string, sequence int, changed int64, gone bool) calendar.Shown {
		return calendar.Shown{
			Revision: calendar.Revision{UID: uid, Digest: digest, Sequence: sequence, Modified: noon},
			State:    `{"a":"ß木"}`, Changed: changed, Gone: gone,
		}
	}
	e := calendar.Edition{
		Number: 5, Changes: 3, By: "program", Day: climate.NewDate(2026, 4, 12), Starts: noon.Add(-time.Hour), Ends: noon.Add(time.Hour),
		Shown: []calendar.Shown{shown("1", "x", 0, 5, false), shown("2", "y", 2, 5, false)},
		Bodies: []calendar.Body{
			{Name: "f/tasks", Tag: "t", Modified: noon, Plain: []byte("BEGIN\r\n\x00"), Packed: []byte{0x1f, 0x8b}},
			{Name: "f/work", Tag: "w", Plain: []byte("BEGIN\r\n"), Packed: []byte{0x1f}},
		},
	}
	want(t, s.PutEdition(ctx, "grower a", e, 0), calendar.ErrNotFound) // there is no such grower
	must(t, s.PutGrower(ctx, Grower("a")))
	want(t, s.PutEdition(ctx, "grower a", e, 4), calendar.ErrConflict)
	must(t, s.PutEdition(ctx, "grower a", e, 0))
	got, err := s.Edition(ctx, "grower a")
	must(t, err)
	equal(t, got, e)
	want(t, s.PutEdition(ctx, "grower a", e, 0), calendar.ErrConflict)
	_, err = s.EditionBody(ctx, "grower b", "f/work")
	want(t, err, calendar.ErrNotFound)
	for name, bodies := range map[string][]calendar.Body{"f/work": e.Bodies[1:], "f/other": nil} {
		head := e
		head.Shown, head.Bodies = nil, bodies
		got, err := s.EditionBody(ctx, "grower a", name)
		must(t, err)
		equal(t, got, head)
	}
	_, err = s.Edition(ctx, "region a")
	want(t, err, calendar.ErrNotFound)

	// The next day nothing shown changed.
	e.Day, e.Starts, e.Ends = e.Day+1, noon.Add(time.Hour), noon.Add(25*time.Hour)
	must(t, s.PutEdition(ctx, "grower a", e, 5))
	got, err = s.Edition(ctx, "grower a")
	must(t, err)
	equal(t, got, e)

	must(t, s.PutEdition(ctx, "region a", e, 0))
	got, err = s.Edition(ctx, "region a")
	must(t, err)
	equal(t, got, e)

	// Then one is gone, one is new, one feed is another and one is no more. What
	// did not change need not be told again.
	gone, fresh := shown("2", "y", 2, 9, true), shown("3", "z", 0, 9, false)
	work := calendar.Body{Name: "f/work", Tag: "w2", Modified: noon.Add(time.Hour), Plain: []byte("other"), Packed: []byte("o")}
	next := e
	next.Number, next.Shown, next.Bodies = 9, []calendar.Shown{gone, fresh}, []calendar.Body{work}
	must(t, s.PutEdition(ctx, "grower a", next, 5))
	got, err = s.Edition(ctx, "grower a")
	must(t, err)
	next.Shown = []calendar.Shown{e.Shown[0], gone, fresh}
	equal(t, got, next)

	for name, bad := range map[string]calendar.Edition{
		"no number":     {Day: e.Day},
		"number falls":  {Number: 8, Day: e.Day},
		"no day":        {Number: 10, Day: climate.NoDate},
		"broken text":   {Number: 10, Day: e.Day, Shown: []calendar.Shown{{State: "\xff", Changed: 10}}},
		"broken author": {Number: 10, Day: e.Day, By: "\xff"},
	} {
		if err := s.PutEdition(ctx, "grower a", bad, 9); err == nil {
			t.Errorf("%s: taken", name)
		}
	}
	got, err = s.Edition(ctx, "grower a")
	must(t, err)
	equal(t, got, next) // all or nothing
}

func passwords(t *testing.T, s calendar.Store) {
	ctx := context.Background()
	must(t, s.PutGrower(ctx, Grower("a")))
	must(t, s.PutGrower(ctx, Grower("b")))
	first := calendar.Password{ID: "1", Grower: "a", Name: "telephone", Hash: "h1", Created: noon}
	second := calendar.Password{ID: "0", Grower: "a", Hash: "h2", Created: noon.Add(time.Hour)}
	must(t, s.PutPassword(ctx, second))
	must(t, s.PutPassword(ctx, first))
	got, err := s.Passwords(ctx, "a")
	must(t, err)
	equal(t, got, []calendar.Password{first, second})
	got, err = s.Passwords(ctx, "b")
	must(t, err)
	equal(t, len(got), 0)

	want(t, s.PutPassword(ctx, first), calendar.ErrConflict)
	want(t, s.PutPassword(ctx, calendar.Password{ID: "1", Grower: "b", Hash: "h1", Created: noon}), calendar.ErrConflict)
	want(t, s.PutPassword(ctx, calendar.Password{ID: "1", Grower: "nobody", Hash: "h3", Created: noon}), calendar.ErrNotFound)
	want(t, s.PutPassword(ctx, calendar.Password{ID: "1", Grower: "b", Created: noon}), calendar.ErrInvalid)

	must(t, s.UsedPassword(ctx, "a", "1", noon.Add(2*time.Hour)))
	first.Used = noon.Add(2 * time.Hour)
	one, err := s.PasswordByHash(ctx, "h1")
	must(t, err)
	equal(t, one, first)
	_, err = s.PasswordByHash(ctx, "h9")
	want(t, err, calendar.ErrNotFound)

	want(t, s.RevokePassword(ctx, "b", "1", noon), calendar.ErrNotFound)
	want(t, s.UsedPassword(ctx, "b", "1", noon), calendar.ErrNotFound)
	must(t, s.RevokePassword(ctx, "a", "1", noon.Add(3*time.Hour)))
	must(t, s.RevokePassword(ctx, "a", "1", noon.Add(4*time.Hour)))
	first.Revoked = noon.Add(3 * time.Hour)
	one, err = s.PasswordByHash(ctx, "h1")
	want(t, err, calendar.ErrGone)
	equal(t, one, first)
}
