package nudge

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"sync"
	"time"

	"budswell/calendar"

	"github.com/go-co-op/gocron/v2"
	"github.com/jonboulle/clockwork"
)

// holdTime is how long a job is held without a sign of its holder, unless told
// otherwise: after that time another instance takes it over. Planning for one grower
// takes far less.
const holdTime = 2 * time.Minute

// errTaken says that another instance has the job that this one was doing.
var errTaken = errors.New("another instance has taken the job over")

// locker lets one instance at a time, of all that share a database, run a job, and
// lets it run once for each slot of time. It is a gocron.Locker; what gocron does
// not tell its locks, that the job was done wholly, the job tells here.
type locker struct {
	store calendar.Store
	clock clockwork.Clock
	slot  time.Duration
	lease time.Duration
	log   *slog.Logger

	mu   sync.Mutex
	held map[string]*hold // by job
}

// hold is a job held by this instance.
type hold struct {
	of    *locker
	lease calendar.Lease
	done  bool
}

func newLocker(store calendar.Store, clock clockwork.Clock, slot time.Duration, log *slog.Logger) *locker {
	return &locker{store: store, clock: clock, slot: slot, lease: holdTime, log: log, held: map[string]*hold{}}
}

// Lock implements gocron.Locker.
func (l *locker) Lock(ctx context.Context, job string) (gocron.Lock, error) {
	now := l.clock.Now()
	lease, err := l.store.TakeLease(ctx, job, now.Truncate(l.slot), now, now.Add(l.lease))
	if err != nil {
		if !errors.Is(err, calendar.ErrConflict) && ctx.Err() == nil {
			l.log.Error("job cannot be taken", "job", job, "error", err)
		}
		return nil, err
	}
	h := &hold{of: l, lease: lease}
	l.mu.Lock()
	defer l.mu.Unlock()
	l.held[job] = h
	return h, nil
}

// Unlock implements gocron.Lock: a job that was not done wholly is anybody's.
func (h *hold) Unlock(ctx context.Context) error {
	h.of.mu.Lock()
	delete(h.of.held, h.lease.Job)
	done := h.done
	h.of.mu.Unlock()
	// At shutdown gocron has ended the context already.
	err := h.of.store.EndLease(context.WithoutCancel(ctx), h.lease, done)
	if err != nil {
		h.of.log.Error("job cannot be given back", "job", h.lease.Job, "error", err)
	}
	return err
}

// keep holds a job on, and is errTaken where another instance has it: what is then
// done for it is not to be written down.
func (l *locker) keep(ctx context.Context, job string) error {
	l.mu.Lock()
	h := l.held[job]
	l.mu.Unlock()
	if h == nil {
		return nil // it is not gocron that runs it
	}
	err := l.store.RenewLease(ctx, h.lease, l.clock.Now().Add(l.lease))
	if errors.Is(err, calendar.ErrGone) {
		return fmt.Errorf("%w: %w", errTaken, err)
	}
	return err
}

// finished says that a job was done wholly.
func (l *locker) finished(job string) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if h := l.held[job]; h != nil {
		h.done = true
	}
}
