package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"time"

	"budswell/calendar"
)

// wrongClock is how far ahead a slot is only by a clock that is wrong.
const wrongClock = 24 * time.Hour

// TakeLease implements [calendar.Store]. One statement looks and takes.
func (s *Store) TakeLease(ctx context.Context, job string, slot, now, until time.Time) (l calendar.Lease, err error) {
	l = calendar.Lease{Job: job, Slot: slot.UTC()}
	err = s.write(ctx, fmt.Sprintf("take job %q", job), func(t tx) error {
		if err := named(job); err != nil {
			return err
		}
		if slot.IsZero() || !until.After(now) {
			return fmt.Errorf("want for when it is scheduled, and an end to come: %w", calendar.ErrInvalid)
		}
		err := t.QueryRowContext(ctx, `insert into leases (job, slot, fence, until, done) values ($1, $2, 1, $3, false)
			on conflict (job) do update set slot = excluded.slot, fence = leases.fence + 1, until = excluded.until, done = false
			where leases.slot > $5 or (leases.slot < excluded.slot or leases.slot = excluded.slot and not leases.done)
			and (leases.done or leases.until <= $4) returning fence`,
			job, instant(slot), instant(until), instant(now), instant(now.Add(wrongClock))).Scan(&l.Fence)
		if errors.Is(err, sql.ErrNoRows) {
			return calendar.ErrConflict
		}
		return err
	})
	return l, err
}

// RenewLease implements [calendar.Store].
func (s *Store) RenewLease(ctx context.Context, l calendar.Lease, until time.Time) error {
	return s.write(ctx, fmt.Sprintf("hold job %q", l.Job), func(t tx) error {
		return held(t.exec("update leases set until = $1 where job = $2 and fence = $3 and until > '' and not done", instant(until), l.Job, l.Fence))
	})
}

// EndLease implements [calendar.Store]. A job that was given back is anybody's at once.
func (s *Store) EndLease(ctx context.Context, l calendar.Lease, done bool) error {
	return s.write(ctx, fmt.Sprintf("end job %q", l.Job), func(t tx) error {
		return held(t.exec("update leases set done = $1, until = '' where job = $2 and fence = $3 and until > '' and not done", done, l.Job, l.Fence))
	})
}

// held reports a lease that is held no more.
func held(r sql.Result, err error) error {
	if err = one(r, err); errors.Is(err, calendar.ErrNotFound) {
		return calendar.ErrGone
	}
	return err
}
