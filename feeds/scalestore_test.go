package feeds

import (
	"context"
	"sync/atomic"
	"time"

	"budswell/calendar"
	"budswell/climate"
)

// timedStore measures what of a morning is the store's: the calls that a morning makes.
type timedStore struct {
	calendar.Store
	spent, plans  atomic.Int64 // ns
	reads, writes atomic.Int64
}

func (s *timedStore) reset() {
	s.spent.Store(0)
	s.plans.Store(0)
	s.reads.Store(0)
	s.writes.Store(0)
}

func (s *timedStore) seconds() float64 { return time.Duration(s.spent.Load()).Seconds() }

func (s *timedStore) planning(began time.Time) { s.plans.Add(int64(time.Since(began))) }

func (s *timedStore) read(began time.Time) {
	s.spent.Add(int64(time.Since(began)))
	s.reads.Add(1)
}

func (s *timedStore) write(began time.Time) {
	s.spent.Add(int64(time.Since(began)))
	s.writes.Add(1)
}

func (s *timedStore) Changes(ctx context.Context, grower string) (int, error) {
	defer s.read(time.Now())
	return s.Store.Changes(ctx, grower)
}

func (s *timedStore) Grower(ctx context.Context, id string) (calendar.Grower, error) {
	defer s.read(time.Now())
	return s.Store.Grower(ctx, id)
}

func (s *timedStore) Places(ctx context.Context, grower string) ([]calendar.Place, error) {
	defer s.read(time.Now())
	return s.Store.Places(ctx, grower)
}

func (s *timedStore) Trees(ctx context.Context, grower string) ([]calendar.Kept, error) {
	defer s.read(time.Now())
	return s.Store.Trees(ctx, grower)
}

func (s *timedStore) Shows(ctx context.Context, grower string) ([]calendar.Show, error) {
	defer s.read(time.Now())
	return s.Store.Shows(ctx, grower)
}

func (s *timedStore) Hours(ctx context.Context, grower string) (*calendar.Hours, error) {
	defer s.read(time.Now())
	return s.Store.Hours(ctx, grower)
}

func (s *timedStore) Promise(ctx context.Context, grower string) (calendar.Promise, error) {
	defer s.read(time.Now())
	return s.Store.Promise(ctx, grower)
}

func (s *timedStore) Readings(ctx context.Context, grower, place string) ([]climate.Series, error) {
	defer s.read(time.Now())
	return s.Store.Readings(ctx, grower, place)
}

func (s *timedStore) WeatherSourcesOf(ctx context.Context, grower string) ([]calendar.WeatherSource, error) {
	defer s.read(time.Now())
	return s.Store.WeatherSourcesOf(ctx, grower)
}

func (s *timedStore) Feeds(ctx context.Context, grower string) ([]calendar.Feed, error) {
	defer s.read(time.Now())
	return s.Store.Feeds(ctx, grower)
}

func (s *timedStore) Edition(ctx context.Context, owner string) (calendar.Edition, error) {
	defer s.read(time.Now())
	return s.Store.Edition(ctx, owner)
}

func (s *timedStore) Preferences(ctx context.Context, grower string) (calendar.Preferences, error) {
	defer s.read(time.Now())
	return s.Store.Preferences(ctx, grower)
}

func (s *timedStore) Webhooks(ctx context.Context, grower string) ([]calendar.Webhook, error) {
	defer s.read(time.Now())
	return s.Store.Webhooks(ctx, grower)
}

func (s *timedStore) Subjects(ctx context.Context, grower string) ([]string, error) {
	defer s.read(time.Now())
	return s.Store.Subjects(ctx, grower)
}

func (s *timedStore) Nudges(ctx context.Context, grower string, most int) ([]calendar.Nudge, error) {
	defer s.read(time.Now())
	return s.Store.Nudges(ctx, grower, most)
}

func (s *timedStore) ToldDays(ctx context.Context, grower string) (map[string]climate.Date, error) {
	defer s.read(time.Now())
	return s.Store.ToldDays(ctx, grower)
}

func (s *timedStore) Revise(ctx context.Context, owner string, digests []calendar.Revision, at time.Time) ([]calendar.Revision, error) {
	defer s.write(time.Now())
	return s.Store.Revise(ctx, owner, digests, at)
}

func (s *timedStore) PutEdition(ctx context.Context, owner string, e calendar.Edition, after int64) error {
	defer s.write(time.Now())
	return s.Store.PutEdition(ctx, owner, e, after)
}

func (s *timedStore) PutPromise(ctx context.Context, grower string, p calendar.Promise) error {
	defer s.write(time.Now())
	return s.Store.PutPromise(ctx, grower, p)
}

func (s *timedStore) DecideAfter(ctx context.Context, grower string, told int, nudges []calendar.Nudge) (int, error) {
	defer s.write(time.Now())
	return s.Store.DecideAfter(ctx, grower, told, nudges)
}

func (s *timedStore) Tell(ctx context.Context, grower string, days []calendar.ToldDay, at time.Time) error {
	defer s.write(time.Now())
	return s.Store.Tell(ctx, grower, days, at)
}

func (s *timedStore) LastRun(ctx context.Context, job string) (time.Time, error) {
	defer s.read(time.Now())
	return s.Store.LastRun(ctx, job)
}

func (s *timedStore) LastRuns(ctx context.Context) (map[string]time.Time, error) {
	defer s.read(time.Now())
	return s.Store.LastRuns(ctx)
}

func (s *timedStore) Ran(ctx context.Context, job string, at time.Time) error {
	defer s.write(time.Now())
	return s.Store.Ran(ctx, job, at)
}
