package store

import (
	"context"
	"fmt"
	"time"

	"budswell/calendar"
)

const deliveryColumns = "nudge, id, channel, recipient, sent, attempts, retry, given_up, error"

// delivered is a delivery and what it delivers.
type delivered struct {
	nudge string
	calendar.Delivery
}

func delivery(row scanner) (d delivered, err error) {
	return d, row.Scan(&d.nudge, &d.ID, &d.Channel, &d.To, timeOf{&d.Sent}, &d.Attempts, timeOf{&d.Retry}, &d.GivenUp, &d.Error)
}

// Claim implements [calendar.Store].
func (s *Store) Claim(ctx context.Context, channel string, now time.Time, lease time.Duration) (c calendar.Claimed, err error) {
	err = s.run(ctx, s.writer, "claim a delivery", s.engine.claims, func(t tx) error {
		d, err := delivery(t.QueryRowContext(ctx, `update deliveries set attempts = attempts + 1, retry = $3 where id = (
			select id from deliveries where channel = $1 and sent is null and not given_up
			and (retry is null or retry <= $2) and (expires is null or expires > $2)
			order by decided, id limit 1`+s.engine.skip+`) returning `+deliveryColumns, channel, instant(now), instant(now.Add(lease))))
		if err != nil {
			return err
		}
		c.Delivery = d.Delivery
		if c.Nudge, err = nudge(t.QueryRowContext(ctx, "select "+nudgeColumns+" from nudges n where n.id = $1", d.nudge)); err != nil {
			return err
		}
		if c.Subjects, err = all(t, subject, "select subject from subjects where nudge = $1 order by ordinal", d.nudge); err != nil {
			return err
		}
		c.Links, err = all(t, link, "select "+linkColumns+" from links where nudge = $1 order by ordinal", d.nudge)
		return err
	})
	return c, err
}

// Sent implements [calendar.Store].
func (s *Store) Sent(ctx context.Context, id string, at time.Time) error {
	return s.write(ctx, fmt.Sprintf("mark delivery %q done", id), func(t tx) error {
		if err := one(t.exec("update deliveries set sent = coalesce(sent, $1), retry = null where id = $2", instant(at), id)); err != nil {
			return err
		}
		return t.forget(id)
	})
}

// forget drops the secrets of a nudge's links when no delivery needs them any
// more; their hashes stay.
func (t tx) forget(delivery string) error {
	_, err := t.exec(`update links set secret = null where nudge = (select nudge from deliveries where id = $1)
		and not exists (select 1 from deliveries d where d.nudge = links.nudge and d.sent is null and not d.given_up)`, delivery)
	return err
}

// Failed implements [calendar.Store].
func (s *Store) Failed(ctx context.Context, id string, attempt int, why string, retry time.Time) error {
	return s.write(ctx, fmt.Sprintf("mark delivery %q failed", id), func(t tx) error {
		if err := t.there(id); err != nil {
			return err
		}
		if _, err := t.exec("update deliveries set error = $1, retry = $2, given_up = $3 where id = $4 and attempts = $5 and sent is null",
			why, instant(retry), retry.IsZero(), id, attempt); err != nil {
			return err
		}
		return t.forget(id)
	})
}

// Postpone implements [calendar.Store].
func (s *Store) Postpone(ctx context.Context, id string, attempt int, until time.Time) error {
	return s.write(ctx, fmt.Sprintf("postpone delivery %q", id), func(t tx) error {
		if err := t.there(id); err != nil {
			return err
		}
		_, err := t.exec("update deliveries set attempts = attempts - 1, retry = $1 where id = $2 and attempts = $3 and sent is null",
			instant(until), id, attempt)
		return err
	})
}

func (t tx) there(delivery string) error {
	var there int
	return t.QueryRowContext(t.ctx, "select 1 from deliveries where id = $1", delivery).Scan(&there)
}
