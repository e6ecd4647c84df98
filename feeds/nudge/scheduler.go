package nudge

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"runtime/debug"
	"slices"
	"time"

	"budswell/calendar"

	"github.com/go-co-op/gocron/v2"
	"github.com/google/uuid"
	"github.com/jonboulle/clockwork"
)

// The hours of a place's own clock at which it is planned anew. Dawn is its
// morning: before people are up, after the coldest hour of most nights has been
// read, and after every hour that clocks skip or repeat. Afternoon looks once
// more at what the weather forecast now says of the coming night, while there is
// light to act by.
const (
	dawn      = 5
	afternoon = 16
)

// Forecast makes a grower's forecasts anew, and decides the nudges. It is given
// those of the grower's places whose morning or afternoon has come, without their weather. It
// may be called again for the same hour where it failed or the process died.
type Forecast func(ctx context.Context, grower string, come []calendar.Place, now time.Time) error

// Scheduler runs the morning and the afternoon of each place once a day, those of a
// grower that come together as one, and sends nudges each
// minute. Each morning that was done is recorded, so that one missed while the
// service was down is made up for at its start, and one that was done is not
// done again. Several instances over one database share the mornings of an hour, slice by
// slice; where one dies another takes over what it was at. Jobs run in UTC, where no hour is
// skipped or repeated; which places' morning has come is read off their own clocks.
type Scheduler struct {
	store    calendar.Store
	clock    clockwork.Clock
	forecast Forecast
	sender   *Sender
	log      *slog.Logger
	cron     gocron.Scheduler
	hours    []int // of the day, in their order
	locks    *locker
	zones    map[string]*time.Location // by name; the job of mornings alone reads them

	// looked is called when the mornings that had come were done; tests wait for it.
	looked func()
}

// NewScheduler returns a scheduler that is not started. A nil sender sends nothing.
func NewScheduler(store calendar.Store, clock clockwork.Clock, forecast Forecast, sender *Sender, log *slog.Logger) (*Scheduler, error) {
	s := &Scheduler{store: store, clock: clock, forecast: forecast, sender: sender, log: log, hours: []int{dawn, afternoon}, zones: map[string]*time.Location{}, looked: func() {}}
	s.locks = newLocker(store, clock, time.Hour, log)
	var err error
	s.cron, err = gocron.NewScheduler(
		gocron.WithClock(clock), gocron.WithLocation(time.UTC),
		gocron.WithGlobalJobOptions(
			gocron.WithSingletonMode(gocron.LimitModeReschedule),
			gocron.WithStartAt(gocron.WithStartImmediately()),
			gocron.WithEventListeners(gocron.AfterJobRunsWithPanic(func(_ uuid.UUID, job string, v any) {
				s.log.Error("job panicked", "job", job, "panic", v)
			})),
		))
	if err != nil {
		return nil, err
	}
	// Oftener than each hour, so that mornings of an instance that died are soon another's.
	jobs := []job{{"mornings", "*/15 * * * * *", s.mornings}}
	if sender != nil {
		// Each delivery is claimed by itself, so that all instances may send.
		jobs = append(jobs, job{"sender", "0 * * * * *", s.send})
	}
	for _, j := range jobs {
		if _, err := s.cron.NewJob(gocron.CronJob(j.cron, true), gocron.NewTask(j.run), gocron.WithName(j.name)); err != nil {
			return nil, errors.Join(fmt.Errorf("job %s: %w", j.name, err), s.cron.Shutdown())
		}
	}
	return s, nil
}

// job is something that all instances do. What only one of them may do at a time takes
// leases.
type job struct {
	name, cron string // with seconds
	run        func(context.Context)
}

// Lease sets how long this instance keeps a job without a sign of it, before another
// takes it over; two minutes where it is not set. Planning for one grower must take less.
func (s *Scheduler) Lease(d time.Duration) { s.locks.lease = d }

// Start starts the jobs, first making up for mornings that were missed.
func (s *Scheduler) Start() { s.cron.Start() }

// Stop ends the jobs and waits, until ctx ends, for those that run. A scheduler
// that was stopped cannot be started again.
func (s *Scheduler) Stop(ctx context.Context) error { return s.cron.ShutdownWithContext(ctx) }

func (s *Scheduler) send(ctx context.Context) {
	n, err := s.sender.Send(ctx)
	if n > 0 {
		s.log.Info("nudges sent", "count", n)
	}
	if err != nil && ctx.Err() == nil {
		s.log.Error("sending nudges", "error", err)
	}
}

// mornings does the hours that have come and were not done, those of a grower
// together, as far as no other instance is at it.
func (s *Scheduler) mornings(ctx context.Context) {
	defer s.looked()
	sites, err := s.store.Sites(ctx)
	if err != nil {
		s.log.Error("mornings", "error", err)
		return
	}
	ran, err := s.store.LastRuns(ctx)
	if err != nil {
		s.log.Error("mornings", "error", err)
		return
	}
	s.share(ctx, s.slicesOf(sites, ran, s.clock.Now()))
}

// morningOf names the job of a place's morning.
func morningOf(p *calendar.Place) string { return "morning " + p.Grower + "/" + p.ID }

// morning does that of a grower with these places, where it has come: since the slices were
// made another instance may have done it.
func (s *Scheduler) morning(ctx context.Context, places []calendar.Place, h *hold) (err error) {
	defer func() {
		if v := recover(); v != nil {
			err = fmt.Errorf("panic: %v\n%s", v, debug.Stack())
		}
	}()
	now := s.clock.Now()
	var come []calendar.Place
	for i := range places {
		last, err := s.store.LastRun(ctx, morningOf(&places[i]))
		if err != nil {
			return err
		}
		if s.come(&places[i], last, now) {
			come = append(come, places[i])
		}
	}
	if len(come) == 0 {
		return nil
	}
	if err := s.forecast(ctx, places[0].Grower, come, now); err != nil {
		return err
	}
	if err := h.keep(ctx); err != nil {
		return err
	}
	for i := range come {
		if err := s.store.Ran(ctx, morningOf(&come[i]), now); err != nil {
			return err
		}
	}
	return nil
}

// isDue reports whether one of the hours has come since last. A last run in the
// future is that of a clock that was wrong, and does not count.
func isDue(last, now time.Time, loc *time.Location, hours []int) bool {
	if last.After(now) {
		return true
	}
	t := now.In(loc)
	for _, day := range []int{t.Day(), t.Day() - 1} {
		for _, hour := range slices.Backward(hours) {
			if come := time.Date(t.Year(), t.Month(), day, hour, 0, 0, 0, loc); !come.After(now) {
				return last.Before(come)
			}
		}
	}
	return false
}
