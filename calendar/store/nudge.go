package store

import (
	"context"
	"fmt"
	"time"

	"budswell/calendar"
)

const nudgeColumns = "id, grower, kind, recipient, title, body, decided, expires, sent, attempts, retry, given_up, error"

func nudge(row scanner) (n calendar.Nudge, err error) {
	return n, row.Scan(&n.ID, &n.Grower, &n.Kind, &n.To, &n.Title, &n.Body, timeOf{&n.Decided}, timeOf{&n.Expires},
		timeOf{&n.Sent}, &n.Attempts, timeOf{&n.Retry}, &n.GivenUp, &n.Error)
}

// Decide implements [calendar.Store].
func (s *Store) Decide(ctx context.Context, nudges []calendar.Nudge) (added int, err error) {
	err = s.write(ctx, "decide nudges", func(t tx) error {
		for _, n := range nudges {
			ok, err := t.decide(n)
			if err != nil {
				return fmt.Errorf("nudge %q: %w", n.ID, err)
			}
			if ok {
				added++
			}
		}
		return nil
	})
	if err != nil {
		return 0, err
	}
	return added, nil
}

// decide adds n unless it, or one of its subjects, is there already.
func (t tx) decide(n calendar.Nudge) (bool, error) {
	if err := named(n.ID); err != nil {
		return false, err
	}
	if n.Decided.IsZero() || len(n.Subjects) == 0 {
		return false, fmt.Errorf("want what it tells and when it was decided: %w", calendar.ErrInvalid)
	}
	for _, subject := range n.Subjects {
		var told int
		if err := t.QueryRowContext(t.ctx, "select count(*) from subjects where grower = $1 and subject = $2", n.Grower, subject).Scan(&told); err != nil {
			return false, err
		}
		if told > 0 {
			return false, nil
		}
	}
	done, err := t.exec(`insert into nudges (id, grower, kind, recipient, title, body, decided, expires, attempts, given_up, error)
		values ($1, $2, $3, $4, $5, $6, $7, $8, 0, false, '') on conflict (id) do nothing`,
		n.ID, n.Grower, n.Kind, n.To, n.Title, n.Body, instant(n.Decided), instant(n.Expires))
	if err != nil {
		return false, err
	}
	if rows, err := done.RowsAffected(); err != nil || rows == 0 {
		return false, err
	}
	for i, subject := range n.Subjects {
		if _, err := t.exec("insert into subjects (grower, subject, nudge, ordinal) values ($1, $2, $3, $4)", n.Grower, subject, n.ID, i); err != nil {
			return false, err
		}
	}
	return true, nil
}

// Claim implements [calendar.Store].
func (s *Store) Claim(ctx context.Context, now time.Time, lease time.Duration) (n calendar.Nudge, err error) {
	err = s.write(ctx, "claim a nudge", func(t tx) (err error) {
		n, err = nudge(t.QueryRowContext(ctx, `update nudges set attempts = attempts + 1, retry = $2 where id = (
			select id from nudges where sent is null and not given_up and recipient <> ''
			and (retry is null or retry <= $1) and (expires is null or expires > $1)
			order by decided, id limit 1) returning `+nudgeColumns, instant(now), instant(now.Add(lease))))
		if err != nil {
			return err
		}
		n.Subjects, err = all(t, subject, "select subject from subjects where nudge = $1 order by ordinal", n.ID)
		return err
	})
	return n, err
}

func subject(row scanner) (s string, err error) { return s, row.Scan(&s) }

// Sent implements [calendar.Store].
func (s *Store) Sent(ctx context.Context, id string, at time.Time) error {
	return s.write(ctx, fmt.Sprintf("mark nudge %q sent", id), func(t tx) error {
		return one(t.exec("update nudges set sent = coalesce(sent, $1), retry = null where id = $2", instant(at), id))
	})
}

// Failed implements [calendar.Store].
func (s *Store) Failed(ctx context.Context, id string, attempt int, why string, retry time.Time) error {
	return s.write(ctx, fmt.Sprintf("mark nudge %q failed", id), func(t tx) error {
		var there int
		if err := t.QueryRowContext(ctx, "select 1 from nudges where id = $1", id).Scan(&there); err != nil {
			return err
		}
		_, err := t.exec("update nudges set error = $1, retry = $2, given_up = $3 where id = $4 and attempts = $5 and sent is null",
			why, instant(retry), retry.IsZero(), id, attempt)
		return err
	})
}

// Nudges implements [calendar.Store].
func (s *Store) Nudges(ctx context.Context, grower string) (out []calendar.Nudge, err error) {
	err = s.read(ctx, fmt.Sprintf("nudges of %q", grower), func(t tx) error {
		if out, err = all(t, nudge, "select "+nudgeColumns+" from nudges where grower = $1 order by decided desc, id", grower); err != nil {
			return err
		}
		type told struct{ nudge, subject string }
		subjects, err := all(t, func(row scanner) (v told, err error) {
			return v, row.Scan(&v.nudge, &v.subject)
		}, "select nudge, subject from subjects where grower = $1 order by nudge, ordinal", grower)
		if err != nil {
			return err
		}
		of := make(map[string][]string, len(out))
		for _, v := range subjects {
			of[v.nudge] = append(of[v.nudge], v.subject)
		}
		for i := range out {
			out[i].Subjects = of[out[i].ID]
		}
		return nil
	})
	return out, err
}
