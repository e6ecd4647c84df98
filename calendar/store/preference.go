package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"time"

	"budswell/calendar"
)

// Preferences implements [calendar.Store]. What a later version added has its
// default.
func (s *Store) Preferences(ctx context.Context, grower string) (calendar.Preferences, error) {
	p := calendar.DefaultPreferences()
	err := s.read(ctx, fmt.Sprintf("preferences of %q", grower), func(t tx) error {
		err := t.QueryRowContext(ctx, "select value from preferences where grower = $1", grower).Scan(jsonOf{&p})
		if errors.Is(err, sql.ErrNoRows) {
			return nil
		}
		return err
	})
	return p, err
}

// PutPreferences implements [calendar.Store].
func (s *Store) PutPreferences(ctx context.Context, grower string, p calendar.Preferences) error {
	return s.write(ctx, fmt.Sprintf("put preferences of %q", grower), func(t tx) error {
		if err := p.Validate(); err != nil {
			return err
		}
		value, err := asJSON(p)
		if err != nil {
			return err
		}
		if _, err = t.exec("insert into preferences (grower, value) values ($1, $2) on conflict (grower) do update set value = excluded.value", grower, value); err != nil {
			return err
		}
		// What waits for the end of hours that are quiet no more may be tried at once; the sender puts off anew
		// what must wait. An attempt counts from its claim on, so that one of none is not under way.
		_, err = t.exec("update deliveries set retry = null where grower = $1 and attempts = 0 and retry is not null and sent is null and not given_up", grower)
		return err
	})
}

const webhookColumns = "select grower, id, url, secret, created, ended, why from webhooks"

func webhook(row scanner) (w calendar.Webhook, err error) {
	return w, row.Scan(&w.Grower, &w.ID, &w.URL, &w.Secret, timeOf{&w.Created}, timeOf{&w.Ended}, &w.Why)
}

// Webhooks implements [calendar.Store].
func (s *Store) Webhooks(ctx context.Context, grower string) (out []calendar.Webhook, err error) {
	err = s.read(ctx, fmt.Sprintf("webhooks of %q", grower), func(t tx) (err error) {
		out, err = all(t, webhook, webhookColumns+" where grower = $1 order by created, id", grower)
		return err
	})
	return out, err
}

// Webhook implements [calendar.Store].
func (s *Store) Webhook(ctx context.Context, grower, id string) (w calendar.Webhook, err error) {
	err = s.read(ctx, fmt.Sprintf("webhook %q of %q", id, grower), func(t tx) (err error) {
		w, err = webhook(t.QueryRowContext(ctx, webhookColumns+" where grower = $1 and id = $2", grower, id))
		return err
	})
	return w, err
}

// AddWebhook implements [calendar.Store].
func (s *Store) AddWebhook(ctx context.Context, w calendar.Webhook) error {
	return s.write(ctx, fmt.Sprintf("add webhook %q of %q", w.ID, w.Grower), func(t tx) error {
		if err := named(w.ID); err != nil {
			return err
		}
		if w.URL == "" || w.Secret == "" || w.Created.IsZero() {
			return fmt.Errorf("want an address, a secret and when it was made: %w", calendar.ErrInvalid)
		}
		_, err := t.exec("insert into webhooks (grower, id, url, secret, created, why) values ($1, $2, $3, $4, $5, '')",
			w.Grower, w.ID, w.URL, w.Secret, instant(w.Created))
		return err
	})
}

// EndWebhook implements [calendar.Store].
func (s *Store) EndWebhook(ctx context.Context, grower, id, why string, at time.Time) error {
	return s.write(ctx, fmt.Sprintf("end webhook %q of %q", id, grower), func(t tx) error {
		return one(t.exec(`update webhooks set why = case when ended is null then $1 else why end, ended = coalesce(ended, $2)
			where grower = $3 and id = $4`, why, instant(at), grower, id))
	})
}
