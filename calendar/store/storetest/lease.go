package storetest

import (
	"testing"
	"time"

	"budswell/calendar"
)

func leases(t *testing.T, s calendar.Store) {
	ctx := t.Context()
	slot, hour := noon, time.Hour
	until := noon.Add(5 * time.Minute)
	first, err := s.TakeLease(ctx, "mornings", slot, noon, until)
	must(t, err)
	equal(t, first, calendar.Lease{Job: "mornings", Slot: noon, Fence: 1})
	_, err = s.TakeLease(ctx, "sender", slot, noon, until) // each job by itself
	must(t, err)

	// It is held, for this slot and for the next, until the lease ends.
	for _, at := range []time.Time{slot, slot.Add(hour)} {
		_, err = s.TakeLease(ctx, "mornings", at, until.Add(-1), until.Add(hour))
		want(t, err, calendar.ErrConflict)
	}
	must(t, s.RenewLease(ctx, first, until.Add(time.Minute)))
	_, err = s.TakeLease(ctx, "mornings", slot, until, until.Add(hour))
	want(t, err, calendar.ErrConflict)

	// Its holder died; whoever takes it over has a higher fence, and the dead one none.
	now := until.Add(time.Minute)
	second, err := s.TakeLease(ctx, "mornings", slot, now, now.Add(hour))
	must(t, err)
	equal(t, second.Fence, int64(2))
	want(t, s.RenewLease(ctx, first, now.Add(hour)), calendar.ErrGone)
	want(t, s.EndLease(ctx, first, true), calendar.ErrGone)
	must(t, s.RenewLease(ctx, second, now.Add(hour)))

	// Given back undone it is anybody's at once, and done it is nobody's.
	must(t, s.EndLease(ctx, second, false))
	want(t, s.EndLease(ctx, second, false), calendar.ErrGone)
	want(t, s.RenewLease(ctx, second, now.Add(hour)), calendar.ErrGone)
	third, err := s.TakeLease(ctx, "mornings", slot, now, now.Add(hour))
	must(t, err)
	must(t, s.EndLease(ctx, third, true))
	for _, at := range []time.Time{slot, slot.Add(-hour)} {
		_, err = s.TakeLease(ctx, "mornings", at, now.Add(10*hour), now.Add(11*hour))
		want(t, err, calendar.ErrConflict)
	}
	next, err := s.TakeLease(ctx, "mornings", slot.Add(hour), now, now.Add(hour))
	must(t, err)
	equal(t, next.Fence, int64(4))
	must(t, s.EndLease(ctx, next, true))

	// A clock that was a year ahead stops no later morning.
	_, err = s.TakeLease(ctx, "mornings", slot.AddDate(1, 0, 0), now.AddDate(1, 0, 0), now.AddDate(1, 0, 1))
	must(t, err)
	_, err = s.TakeLease(ctx, "mornings", slot.Add(2*hour), slot.Add(2*hour), slot.Add(3*hour))
	must(t, err)

	_, err = s.TakeLease(ctx, "", slot, now, now.Add(hour))
	want(t, err, calendar.ErrInvalid)
	_, err = s.TakeLease(ctx, "mornings", slot, now, now)
	want(t, err, calendar.ErrInvalid)
}

// leasesByMany: of eight who take a slot at once, one has it.
func leasesByMany(t *testing.T, s calendar.Store) {
	for i := range 10 {
		slot := noon.Add(time.Duration(i) * time.Hour)
		n := succeeded(t, 8, calendar.ErrConflict, func(int) error {
			_, err := s.TakeLease(t.Context(), "mornings", slot, slot, slot.Add(time.Minute))
			return err
		})
		equal(t, n, 1)
	}
}
