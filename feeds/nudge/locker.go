package nudge

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"time"

	"budswell/calendar"

	"github.com/jonboulle/clockwork"
)

// holdTime is how long a job is held without a sign of its holder, unless told
// otherwise: after that time another instance takes it over. Planning for one grower
// takes far less.
const holdTime = 2 * time.Minute

// errTaken says that another instance has the job that this one was doing.
var errTaken = errors.New("another instance has taken the job over")

// locker lets one instance at a time, of all that share a database, do a job, and
// lets it be done once for each slot of time.
type locker struct {
	store calendar.Store
	clock clockwork.Clock
	slot  time.Duration
	lease time.Duration
	log   *slog.Logger
}

// hold is a job held by this instance.
type hold struct {
	of    *locker
	lease calendar.Lease
}

func newLocker(store calendar.Store, clock clockwork.Clock, slot time.Duration, log *slog.Logger) *locker {
	return &locker{store: store, clock: clock, slot: slot, lease: holdTime, log: log}
}

// take takes a job for the slot at hand. It is [calendar.ErrConflict] where another
// instance has it, or it was done.
func (l *locker) take(ctx context.Context, job string) (*hold, error) {
	now := l.clock.Now()
	lease, err := l.store.TakeLease(ctx, job, now.Truncate(l.slot), now, now.Add(l.lease))
	if err != nil {
		return nil, err
	}
	return &hold{l, lease}, nil
}

// keep holds a job on, and is errTaken where another instance has it: what is then
// done for it is not to be written down.
func (h *hold) keep(ctx context.Context) error {
	err := h.of.store.RenewLease(ctx, h.lease, h.of.clock.Now().Add(h.of.lease))
	if errors.Is(err, calendar.ErrGone) {
		return fmt.Errorf("%w: %w", errTaken, err)
	}
	return err
}

// end gives a job back, done wholly or not: one that was not is anybody's.
func (h *hold) end(ctx context.Context, done bool) error {
	// At shutdown gocron has ended the context already.
	err := h.of.store.EndLease(context.WithoutCancel(ctx), h.lease, done)
	if err != nil {
		h.of.log.Error("job cannot be given back", "job", h.lease.Job, "error", err)
	}
	return err
}
