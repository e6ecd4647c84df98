package storetest

import (
	"context"
	"errors"
	"fmt"
	"sync"
	"testing"

	"budswell/calendar"
)

// decidedAfter: of decisions made from the same knowledge one is kept.
func decidedAfter(t *testing.T, s calendar.Store) {
	ctx := context.Background()
	must(t, s.PutGrower(ctx, Grower("a")))
	must(t, s.PutGrower(ctx, Grower("b")))
	n, err := s.DecideAfter(ctx, "a", 0, []calendar.Nudge{Nudge("a", "1", 0), Nudge("a", "2", 1)})
	must(t, err)
	equal(t, n, 2)
	_, err = s.DecideAfter(ctx, "a", 0, []calendar.Nudge{Nudge("a", "3", 0)})
	want(t, err, calendar.ErrConflict)
	n, err = s.DecideAfter(ctx, "a", 2, []calendar.Nudge{Nudge("a", "3", 0), Nudge("a", "1", 0)})
	must(t, err)
	equal(t, n, 1)
	n, err = s.DecideAfter(ctx, "b", 0, nil) // what others were told does not count
	must(t, err)
	equal(t, n, 0)
	_, err = s.DecideAfter(ctx, "a", 3, []calendar.Nudge{Nudge("a", "4", 0), Nudge("b", "5", 0)})
	want(t, err, calendar.ErrInvalid)

	const many = 8
	var wait sync.WaitGroup
	var mu sync.Mutex
	added := 0
	for i := range many {
		wait.Go(func() {
			n, err := s.DecideAfter(ctx, "b", 0, []calendar.Nudge{Nudge("b", fmt.Sprint("many ", i), 0)})
			if err != nil && !errors.Is(err, calendar.ErrConflict) {
				t.Error(err)
			}
			mu.Lock()
			defer mu.Unlock()
			added += n
		})
	}
	wait.Wait()
	equal(t, added, 1)
	got, err := s.Nudges(ctx, "b", 0)
	must(t, err)
	equal(t, len(got), 1)
}
