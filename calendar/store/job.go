package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"time"
)

// LastRun implements [calendar.Store].
func (s *Store) LastRun(ctx context.Context, job string) (at time.Time, err error) {
	err = s.read(ctx, fmt.Sprintf("last run of %q", job), func(t tx) error {
		err := t.QueryRowContext(ctx, "select ran from jobs where job = $1", job).Scan(timeOf{&at})
		if errors.Is(err, sql.ErrNoRows) {
			return nil
		}
		return err
	})
	return at, err
}

// LastRuns implements [calendar.Store].
func (s *Store) LastRuns(ctx context.Context) (map[string]time.Time, error) {
	type run struct {
		job string
		at  time.Time
	}
	out := map[string]time.Time{}
	err := s.read(ctx, "last runs", func(t tx) error {
		runs, err := all(t, func(row scanner) (r run, err error) { return r, row.Scan(&r.job, timeOf{&r.at}) }, "select job, ran from jobs")
		for _, r := range runs {
			out[r.job] = r.at
		}
		return err
	})
	return out, err
}

// Ran implements [calendar.Store].
func (s *Store) Ran(ctx context.Context, job string, at time.Time) error {
	return s.write(ctx, fmt.Sprintf("run of %q", job), func(t tx) error {
		if err := named(job); err != nil {
			return err
		}
		_, err := t.exec("insert into jobs (job, ran) values ($1, $2) on conflict (job) do update set ran = excluded.ran", job, instant(at))
		return err
	})
}
