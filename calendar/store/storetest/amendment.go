package storetest

import (
	"context"
	"fmt"
	"strings"
	"testing"
	"time"

	"budswell/calendar"
)

// Amendment returns the first version of a rule of a grower's own.
func Amendment(grower, subject string) calendar.Amendment {
	return calendar.Amendment{Whose: calendar.Whose{Grower: grower}, Subject: subject, At: noon, Who: grower, Why: "why ß木", Text: "text of " + subject}
}

// amend adds a version and returns it as it is kept.
func amend(t *testing.T, s calendar.Store, a calendar.Amendment, after int) calendar.Amendment {
	t.Helper()
	n, err := s.Amend(context.Background(), a, after)
	must(t, err)
	a.Number = n
	return a
}

// rules: versions are only added, the newest of each subject stands, and one who saw an
// older one is told so.
func rules(t *testing.T, s calendar.Store) {
	ctx := context.Background()
	must(t, s.PutGrower(ctx, Grower("a")))
	must(t, s.PutGrower(ctx, Grower("b")))
	of := calendar.Whose{Grower: "a"}
	stands := func(want ...calendar.Amendment) {
		t.Helper()
		got, err := s.Amendments(ctx, of)
		must(t, err)
		equal(t, got, want)
	}
	changes := func() int {
		n, err := s.Changes(ctx, "a")
		must(t, err)
		return n
	}
	stands()
	before := changes()
	x := amend(t, s, Amendment("a", "rule x"), 0)
	y := amend(t, s, Amendment("a", "species Acer campestre"), 0)
	equal(t, []int{x.Number, y.Number, changes() - before}, []int{1, 2, 2})
	stands(x, y)

	x2 := x
	x2.Text, x2.At, x2.Why = "newer", noon.Add(time.Hour), ""
	_, err := s.Amend(ctx, x2, 0)
	want(t, err, calendar.ErrConflict)
	_, err = s.Amend(ctx, x2, 2)
	want(t, err, calendar.ErrConflict)
	x2 = amend(t, s, x2, 1)
	stands(y, x2)

	gone := calendar.Amendment{Whose: of, Subject: "rule x", At: noon, Who: "a", Withdrawn: true}
	gone = amend(t, s, gone, x2.Number)
	stands(y)
	_, err = s.Amend(ctx, gone, gone.Number)
	want(t, err, calendar.ErrNotFound) // nothing stands that could be withdrawn
	back := amend(t, s, x, gone.Number)
	stands(y, back)
	all, err := s.Versions(ctx, of)
	must(t, err)
	equal(t, all, []calendar.Amendment{x, y, x2, gone, back})

	b, err := s.Amendments(ctx, calendar.Whose{Grower: "b"})
	must(t, err)
	equal(t, b, []calendar.Amendment(nil))
	other := amend(t, s, Amendment("b", "rule x"), 0)
	equal(t, other.Number, 1)

	before = changes()
	good := Amendment("a", "rule z")
	for name, bad := range map[string]func(*calendar.Amendment){
		"nobody's":       func(a *calendar.Amendment) { a.Grower = "" },
		"of two":         func(a *calendar.Amendment) { a.Club = "c" },
		"no subject":     func(a *calendar.Amendment) { a.Subject = "" },
		"no name":        func(a *calendar.Amendment) { a.Subject = "rule" },
		"lines":          func(a *calendar.Amendment) { a.Subject = "rule a\nb" },
		"never":          func(a *calendar.Amendment) { a.At = time.Time{} },
		"no text":        func(a *calendar.Amendment) { a.Text = "" },
		"both":           func(a *calendar.Amendment) { a.Withdrawn = true },
		"too long":       func(a *calendar.Amendment) { a.Text = strings.Repeat("x", calendar.MostAmendmentText+1) },
		"a long story":   func(a *calendar.Amendment) { a.Why = strings.Repeat("x", calendar.MostWhy+1) },
		"no text at all": func(a *calendar.Amendment) { a.Text = "\xff" },
	} {
		a := good
		bad(&a)
		if _, err := s.Amend(ctx, a, 0); err == nil {
			t.Errorf("%s: taken", name)
		} else {
			want(t, err, calendar.ErrInvalid)
		}
	}
	_, err = s.Amend(ctx, Amendment("nobody", "rule x"), 0)
	want(t, err, calendar.ErrNotFound)
	equal(t, changes(), before)
	stands(y, back)

	must(t, s.DeleteGrower(ctx, "a", noon))
	must(t, s.PutGrower(ctx, Grower("a")))
	stands()
	equal(t, amend(t, s, Amendment("a", "rule x"), 0).Number, 1)
}

// rulesOfClubs: what a club writes is a change of its members and regions; members choose
// to follow, and what one who left wrote stays.
func rulesOfClubs(t *testing.T, s calendar.Store) {
	ctx := context.Background()
	for _, id := range []string{"a", "b", "c"} {
		must(t, s.PutGrower(ctx, Grower(id)))
	}
	must(t, s.PutClub(ctx, Club("hills")))
	must(t, s.PutClub(ctx, Club("moor")))
	must(t, s.PutMember(ctx, Member("hills", "a", calendar.Keeper)))
	must(t, s.PutMember(ctx, Member("hills", "b", calendar.Plain)))
	must(t, s.PutMember(ctx, Member("moor", "c", calendar.Keeper)))
	must(t, s.PutRegion(ctx, calendar.Region{ID: "r", Name: "R", Bands: Bands(0), Club: "hills"}))
	counts := func() (out []int) {
		for _, id := range []string{"a", "b", "c"} {
			n, err := s.Changes(ctx, id)
			must(t, err)
			out = append(out, n)
		}
		n, err := s.RegionChanges(ctx, "r")
		must(t, err)
		return append(out, n)
	}
	before := counts()
	x := calendar.Amendment{Whose: calendar.Whose{Club: "hills"}, Subject: "rule x", At: noon, Who: "b", Why: "why", Text: "text"}
	x = amend(t, s, x, 0)
	after := counts()
	for i, n := range []int{1, 1, 0, 1} {
		equal(t, after[i]-before[i], n)
	}
	mine, err := s.Amendments(ctx, calendar.Whose{Grower: "b"})
	must(t, err)
	equal(t, len(mine), 0)

	follows := func(grower string, want ...string) {
		t.Helper()
		got, err := s.Followed(ctx, grower)
		must(t, err)
		equal(t, got, want)
	}
	follows("b")
	must(t, s.Follow(ctx, "b", "hills", true))
	must(t, s.Follow(ctx, "b", "hills", true))
	equal(t, counts()[1]-after[1], 2)
	follows("b", "hills")
	want(t, s.Follow(ctx, "b", "moor", true), calendar.ErrNotFound)
	want(t, s.Follow(ctx, "b", "nowhere", true), calendar.ErrNotFound)
	must(t, s.EndMember(ctx, "hills", "b"))
	follows("b")
	want(t, s.Follow(ctx, "b", "hills", false), calendar.ErrNotFound)
	must(t, s.PutMember(ctx, Member("hills", "b", calendar.Editor)))
	follows("b") // who comes back chooses anew
	must(t, s.Follow(ctx, "b", "hills", true))
	must(t, s.Follow(ctx, "b", "hills", false))
	follows("b")

	must(t, s.DeleteGrower(ctx, "b", noon))
	left, err := s.Versions(ctx, calendar.Whose{Club: "hills"})
	must(t, err)
	x.Who = ""
	equal(t, left, []calendar.Amendment{x})
	x.Club = "nowhere"
	_, err = s.Amend(ctx, x, 0)
	want(t, err, calendar.ErrNotFound)
}

// tooManyRules: there is an end to what an owner keeps, and always room to take back.
func tooManyRules(t *testing.T, s calendar.Store) {
	ctx := context.Background()
	must(t, s.PutGrower(ctx, Grower("a")))
	for i := range calendar.MostAmendments {
		amend(t, s, Amendment("a", fmt.Sprintf("rule x%d", i)), 0)
	}
	_, err := s.Amend(ctx, Amendment("a", "rule more"), 0)
	want(t, err, calendar.ErrInvalid)
	amend(t, s, Amendment("a", "rule x7"), 8)
	amend(t, s, calendar.Amendment{Whose: calendar.Whose{Grower: "a"}, Subject: "rule x8", At: noon, Who: "a", Withdrawn: true}, 9)
	amend(t, s, Amendment("a", "rule more"), 0)

	must(t, s.PutGrower(ctx, Grower("b")))
	long := Amendment("b", "rule y")
	long.Text = strings.Repeat("x", calendar.MostAmendmentText)
	for i := range calendar.MostAmendedText / calendar.MostAmendmentText {
		long.Subject = fmt.Sprintf("rule y%d", i)
		amend(t, s, long, 0)
	}
	_, err = s.Amend(ctx, Amendment("b", "rule more"), 0)
	want(t, err, calendar.ErrInvalid)
}
