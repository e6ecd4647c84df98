package storetest

import (
	"errors"
	"fmt"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"budswell/calendar"
	"budswell/climate"
)

// succeeded does something so many times at once, and returns how often it was
// done; the others must have been refused as refused says.
func succeeded(t *testing.T, n int, refused error, do func(i int) error) int {
	t.Helper()
	var wait sync.WaitGroup
	var done atomic.Int32
	for i := range n {
		wait.Go(func() {
			switch err := do(i); {
			case err == nil:
				done.Add(1)
			case refused == nil || !errors.Is(err, refused):
				t.Errorf("%d: %v", i, err)
			}
		})
	}
	wait.Wait()
	return int(done.Load())
}

// manyWriters: what many write at once is all kept, as if one had come after the
// other.
func manyWriters(t *testing.T, s calendar.Store) {
	ctx := t.Context()
	must(t, s.PutGrower(ctx, Grower("a")))
	must(t, s.PutPlace(ctx, Place("a", "1", 3)))
	must(t, s.PutTree(ctx, Tree("a", "1", "x")))
	before, err := s.Changes(ctx, "a")
	must(t, err)
	const n = 24
	equal(t, succeeded(t, n, nil, func(i int) error {
		return s.AddEntry(ctx, "a", "x", calendar.Entry{On: climate.NewDate(2026, 4, 1), Did: "repot", Note: fmt.Sprint(i)})
	}), n)
	trees, err := s.Trees(ctx, "a")
	must(t, err)
	equal(t, len(trees[0].Log), n)
	after, err := s.Changes(ctx, "a")
	must(t, err)
	equal(t, after, before+n)

	// The same place, added by many, is one; and so is each tree.
	equal(t, succeeded(t, n, nil, func(i int) error { return s.PutPlace(ctx, Place("a", "2", i)) }), n)
	equal(t, succeeded(t, n, nil, func(i int) error { return s.PutTree(ctx, Tree("a", "2", fmt.Sprint("t", i%4))) }), n)
	places, err := s.Places(ctx, "a")
	must(t, err)
	equal(t, len(places), 2)
	trees, err = s.Trees(ctx, "a")
	must(t, err)
	equal(t, len(trees), 5)
	series := climate.Series{Source: "model", Kind: climate.Analysis}
	equal(t, succeeded(t, n, nil, func(i int) error {
		v := series
		v.Readings = []climate.Reading{{On: climate.NewDate(2026, 4, 1) + climate.Date(i), Tmin: 1, Tmax: 2, Got: noon}}
		_, err := s.PutReadings(ctx, "a", "1", v, false)
		return err
	}), n)
	got, err := s.Readings(ctx, "a", "1")
	must(t, err)
	equal(t, len(got), 1)
	equal(t, len(got[0].Readings), n)
	equal(t, succeeded(t, n, nil, func(int) error {
		_, err := s.Revise(ctx, "a", []calendar.Revision{{UID: "1", Digest: "x"}, {UID: "2", Digest: "x"}}, noon)
		return err
	}), n)
	revised, err := s.Revise(ctx, "a", []calendar.Revision{{UID: "1", Digest: "x"}}, noon.Add(time.Hour))
	must(t, err)
	equal(t, revised, []calendar.Revision{{UID: "1", Digest: "x", Modified: noon}})
}

// oneOfMany: what may happen once happens once.
func oneOfMany(t *testing.T, s calendar.Store) {
	ctx := t.Context()
	must(t, s.PutGrower(ctx, Grower("a")))
	const n = 12
	edition := func(number int64) calendar.Edition {
		return calendar.Edition{Number: number, Day: climate.NewDate(2026, 4, 12), Starts: noon, Ends: noon.Add(time.Hour)}
	}
	equal(t, succeeded(t, n, calendar.ErrConflict, func(i int) error { return s.PutEdition(ctx, "grower a", edition(int64(i)+1), 0) }), 1)
	e, err := s.Edition(ctx, "grower a")
	must(t, err)
	equal(t, succeeded(t, n, calendar.ErrConflict, func(i int) error {
		return s.PutEdition(ctx, "grower a", edition(e.Number+int64(i)+1), e.Number)
	}), 1)

	// The same nudge, and nudges that tell the same.
	var added atomic.Int32
	succeeded(t, n, nil, func(i int) error {
		v := Nudge("a", fmt.Sprint("nudge ", i%3), 0)
		v.Subjects = []string{"maple"}
		got, err := s.Decide(ctx, []calendar.Nudge{v})
		added.Add(int32(got))
		return err
	})
	equal(t, added.Load(), int32(1))

	must(t, s.PutTicket(ctx, calendar.Ticket{Hash: "t", Grower: "a", Expires: noon.Add(time.Hour)}))
	equal(t, succeeded(t, n, calendar.ErrGone, func(i int) error {
		a := Account("a")
		a.Password = fmt.Sprint(i)
		return s.Redeem(ctx, "t", a, noon)
	}), 1)
	equal(t, succeeded(t, n, calendar.ErrConflict, func(i int) error {
		g := Grower(fmt.Sprint("g", i))
		g.KeyHash = "one key"
		return s.PutGrower(ctx, g)
	}), 1)
}

// leavingAmongWriters deletes a grower while others, and they, write.
func leavingAmongWriters(t *testing.T, s calendar.Store) {
	ctx := t.Context()
	Settle(t, s, "ada")
	Settle(t, s, "bea")
	var wait sync.WaitGroup
	for _, grower := range []string{"ada", "bea"} {
		for i := range 10 {
			wait.Go(func() {
				err := s.AddEntry(ctx, grower, "maple", calendar.Entry{On: climate.NewDate(2026, 4, 3), Did: "wire", Note: fmt.Sprint(i)})
				if err != nil && (grower != "ada" || !errors.Is(err, calendar.ErrNotFound)) {
					t.Errorf("%s: %v", grower, err)
				}
			})
		}
	}
	wait.Go(func() {
		if err := s.DeleteGrower(ctx, "ada", noon); err != nil {
			t.Error(err)
		}
	})
	wait.Wait()
	left, err := s.Trees(ctx, "ada")
	must(t, err)
	equal(t, len(left), 0)
	kept, err := s.Trees(ctx, "bea")
	must(t, err)
	equal(t, len(kept[0].Log), 12)
	Settle(t, s, "ada") // nothing of what was is in the way
}

// byteOrder: texts are ordered by their bytes, in whatever language a server runs.
func byteOrder(t *testing.T, s calendar.Store) {
	ids := []string{"A-b", "AB", "Z", "_", "a", "a b", "ab", "b", "z", "ß", "ä", "木", "🌲"}
	for i := range ids {
		must(t, s.PutGrower(t.Context(), Grower(ids[len(ids)-1-i])))
	}
	growers, err := s.Growers(t.Context())
	must(t, err)
	got := make([]string, len(growers))
	for i, g := range growers {
		got[i] = g.ID
	}
	equal(t, got, ids)
	_, err = s.Grower(t.Context(), "ab ") // nor is one taken for another
	want(t, err, calendar.ErrNotFound)
	_, err = s.Grower(t.Context(), "Ab")
	want(t, err, calendar.ErrNotFound)
}

// unnameable asks for what cannot be there, by texts that no database could keep.
func unnameable(t *testing.T, s calendar.Store) {
	ctx := t.Context()
	for _, bad := range []string{"\xff", "a\x00b"} {
		for name, ask := range map[string]func() error{
			"grower": func() error { _, err := s.Grower(ctx, bad); return err },
			"place":  func() error { _, err := s.Place(ctx, "a", bad); return err },
			"feed":   func() error { _, err := s.FeedByToken(ctx, bad); return err },
			"key":    func() error { _, err := s.GrowerByKey(ctx, bad); return err },
			"mail":   func() error { _, err := s.AccountByMail(ctx, bad); return err },
		} {
			if err := ask(); !errors.Is(err, calendar.ErrNotFound) {
				t.Errorf("%s %q: %v", name, bad, err)
			}
		}
		for name, write := range map[string]func() error{
			"grower": func() error { return s.PutGrower(ctx, Grower(bad)) },
			"feed": func() error {
				return s.PutFeed(ctx, calendar.Feed{Grower: "a", ID: "f", Name: bad, TokenHash: "h", Created: noon})
			},
		} {
			if err := write(); !errors.Is(err, calendar.ErrInvalid) {
				t.Errorf("%s %q written: %v", name, bad, err)
			}
		}
	}
}
