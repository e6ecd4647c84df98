package store

import (
	"context"
	"database/sql"
	"fmt"
	"time"

	"budswell/climate"
)

// Ready implements [calendar.Store]: the database answers, and its schema is the
// one that this version made of it, or a later one: migrations only add, so that an
// instance goes on while others of a later version start.
func (s *Store) Ready(ctx context.Context) error {
	return s.read(ctx, "store", func(t tx) error {
		var have int64
		if err := t.QueryRowContext(ctx, "select max(version_id) from goose_db_version where is_applied").Scan(&have); err != nil {
			return err
		}
		if have < s.schema {
			return fmt.Errorf("the schema is %d; this version wants %d", have, s.schema)
		}
		return nil
	})
}

// Waiting implements [calendar.Store].
func (s *Store) Waiting(ctx context.Context, now time.Time) (n int, err error) {
	err = s.read(ctx, "count of nudges to send", func(t tx) error {
		return t.QueryRowContext(ctx, "select count(*) from deliveries where sent is null and not given_up and (expires is null or expires > $1)", instant(now)).Scan(&n)
	})
	return n, err
}

// WeatherUntil implements [calendar.Store]. The last day follows from the length
// of the last year's packed value.
func (s *Store) WeatherUntil(ctx context.Context) (out []climate.Date, err error) {
	err = s.read(ctx, "last days of weather", func(t tx) (err error) {
		out, err = all(t, func(row scanner) (d climate.Date, err error) {
			var first sql.NullString
			var year, size int
			if err := row.Scan(&first, &year, &size); err != nil {
				return d, err
			}
			if d, err = climate.ParseDate(first.String); err != nil {
				return d, err
			}
			return max(d, climate.NewDate(year, 1, 1)) + climate.Date((size-1)/packedDay) - 1, nil
		}, `select s.record_first, w.year, length(w.days) from places p join sites s on s.id = p.site
			join weather w on w.site = s.id and w.kind = 'record' and w.year = (
				select max(year) from weather where site = s.id and kind = 'record') order by p.grower, p.id`)
		return err
	})
	return out, err
}
