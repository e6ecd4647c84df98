package store

import (
	"context"
	"fmt"
	"math"
	"time"

	"budswell/calendar"
	"budswell/climate"
)

const nudgeColumns = "n.id, n.grower, n.kind, n.urgent, n.title, n.body, n.html, n.decided, n.expires"

func nudge(row scanner) (n calendar.Nudge, err error) {
	return n, row.Scan(&n.ID, &n.Grower, &n.Kind, &n.Urgent, &n.Title, &n.Body, &n.HTML, timeOf{&n.Decided}, timeOf{&n.Expires})
}

// Decide implements [calendar.Store].
func (s *Store) Decide(ctx context.Context, nudges []calendar.Nudge) (added int, err error) {
	err = s.write(ctx, "decide nudges", func(t tx) error {
		added, err = t.decideAll(nudges)
		return err
	})
	if err != nil {
		return 0, err
	}
	return added, nil
}

// decideAll adds nudges, all or none, and counts those that are new.
func (t tx) decideAll(nudges []calendar.Nudge) (added int, err error) {
	for _, n := range nudges {
		ok, err := t.decide(n)
		if err != nil {
			return 0, fmt.Errorf("nudge %q: %w", n.ID, err)
		}
		if ok {
			added++
		}
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
	done, err := t.exec(`insert into nudges (id, grower, kind, urgent, title, body, html, decided, expires)
		values ($1, $2, $3, $4, $5, $6, $7, $8, $9) on conflict (id) do nothing`,
		n.ID, n.Grower, n.Kind, n.Urgent, n.Title, n.Body, n.HTML, instant(n.Decided), instant(n.Expires))
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
	for _, d := range n.Deliveries {
		if err := named(d.ID); err != nil {
			return false, fmt.Errorf("delivery: %w", err)
		}
		if _, err := t.exec(`insert into deliveries (id, grower, nudge, channel, recipient, decided, expires, attempts, given_up, error)
			values ($1, $2, $3, $4, $5, $6, $7, 0, false, '')`, d.ID, n.Grower, n.ID, d.Channel, d.To, instant(n.Decided), instant(n.Expires)); err != nil {
			return false, err
		}
	}
	for i, l := range n.Links {
		if err := t.addLink(n, i, l); err != nil {
			return false, fmt.Errorf("link %d: %w", i+1, err)
		}
	}
	return true, t.tell(n.Grower, n.Days, n.Decided, true)
}

// tell keeps the days told; of keys that are there already the day stays unless
// again is set.
func (t tx) tell(grower string, days []calendar.ToldDay, at time.Time, again bool) error {
	then := "nothing"
	if again {
		then = "update set day = excluded.day, told = excluded.told"
	}
	for _, d := range days {
		on, err := day(d.On)
		if err != nil {
			return fmt.Errorf("told day %q: %w", d.Key, err)
		}
		if _, err := t.exec("insert into told_days (grower, key, day, told) values ($1, $2, $3, $4) on conflict (grower, key) do "+then,
			grower, d.Key, on, instant(at)); err != nil {
			return err
		}
	}
	return nil
}

// Tell implements [calendar.Store].
func (s *Store) Tell(ctx context.Context, grower string, days []calendar.ToldDay, at time.Time) error {
	return s.write(ctx, fmt.Sprintf("keep what %q was told", grower), func(t tx) error { return t.tell(grower, days, at, false) })
}

// ToldDays implements [calendar.Store].
func (s *Store) ToldDays(ctx context.Context, grower string) (map[string]climate.Date, error) {
	out := map[string]climate.Date{}
	err := s.read(ctx, fmt.Sprintf("days told to %q", grower), func(t tx) error {
		days, err := all(t, func(row scanner) (d calendar.ToldDay, err error) {
			return d, row.Scan(&d.Key, dayOf{&d.On})
		}, "select key, day from told_days where grower = $1", grower)
		for _, d := range days {
			out[d.Key] = d.On
		}
		return err
	})
	return out, err
}

func subject(row scanner) (s string, err error) { return s, row.Scan(&s) }

// Subjects implements [calendar.Store].
func (s *Store) Subjects(ctx context.Context, grower string) (out []string, err error) {
	err = s.read(ctx, fmt.Sprintf("what %q was told", grower), func(t tx) (err error) {
		out, err = all(t, subject, "select subject from subjects where grower = $1 order by subject", grower)
		return err
	})
	return out, err
}

// Nudges implements [calendar.Store].
func (s *Store) Nudges(ctx context.Context, grower string, most int) (out []calendar.Nudge, err error) {
	limit := int64(most)
	if most <= 0 {
		limit = math.MaxInt64
	}
	const newest = "select id from nudges where grower = $1 order by decided desc, id limit $2"
	err = s.read(ctx, fmt.Sprintf("nudges of %q", grower), func(t tx) error {
		if out, err = all(t, nudge, "select "+nudgeColumns+" from nudges n where n.grower = $1 order by n.decided desc, n.id limit $2", grower, limit); err != nil {
			return err
		}
		at := make(map[string]*calendar.Nudge, len(out))
		for i := range out {
			at[out[i].ID] = &out[i]
		}
		type told struct{ nudge, subject string }
		subjects, err := all(t, func(row scanner) (v told, err error) {
			return v, row.Scan(&v.nudge, &v.subject)
		}, "select nudge, subject from subjects where nudge in ("+newest+") order by nudge, ordinal", grower, limit)
		if err != nil {
			return err
		}
		for _, v := range subjects {
			at[v.nudge].Subjects = append(at[v.nudge].Subjects, v.subject)
		}
		sent, err := all(t, delivery, "select "+deliveryColumns+" from deliveries where nudge in ("+newest+") order by channel, id", grower, limit)
		if err != nil {
			return err
		}
		for _, v := range sent {
			at[v.nudge].Deliveries = append(at[v.nudge].Deliveries, v.Delivery)
		}
		return nil
	})
	return out, err
}
