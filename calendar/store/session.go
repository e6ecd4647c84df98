package store

import (
	"context"
	"fmt"
	"time"

	"budswell/calendar"
)

const sessionColumns = "select hash, grower, data, seen, expires from sessions"

func session(row scanner) (v calendar.Session, err error) {
	return v, row.Scan(&v.Hash, textOf{&v.Grower}, &v.Data, timeOf{&v.Seen}, timeOf{&v.Expires})
}

// Session implements [calendar.Store].
func (s *Store) Session(ctx context.Context, hash string, now time.Time) (v calendar.Session, err error) {
	err = s.read(ctx, "session", func(t tx) (err error) {
		v, err = session(t.QueryRowContext(ctx, sessionColumns+" where hash = $1 and expires > $2", hash, instant(now)))
		return err
	})
	return v, err
}

// PutSession implements [calendar.Store].
func (s *Store) PutSession(ctx context.Context, v calendar.Session) error {
	return s.write(ctx, "put session", func(t tx) error {
		if v.Hash == "" || len(v.Data) == 0 || v.Seen.IsZero() || v.Expires.IsZero() {
			return fmt.Errorf("want a hash, data, when it was seen and when it expires: %w", calendar.ErrInvalid)
		}
		_, err := t.exec(`insert into sessions (hash, grower, data, seen, expires) values ($1, $2, $3, $4, $5)
			on conflict (hash) do update set grower = excluded.grower, data = excluded.data, seen = excluded.seen, expires = excluded.expires`,
			v.Hash, optional(v.Grower), v.Data, instant(v.Seen), instant(v.Expires))
		return err
	})
}

// KeepSession implements [calendar.Store].
func (s *Store) KeepSession(ctx context.Context, v calendar.Session) error {
	return s.write(ctx, "keep session", func(t tx) error {
		return one(t.exec("update sessions set data = $1, seen = $2, expires = $3 where hash = $4",
			v.Data, instant(v.Seen), instant(v.Expires), v.Hash))
	})
}

// Sessions implements [calendar.Store].
func (s *Store) Sessions(ctx context.Context, grower string, now time.Time) (out []calendar.Session, err error) {
	err = s.read(ctx, fmt.Sprintf("sessions of %q", grower), func(t tx) (err error) {
		out, err = all(t, session, sessionColumns+" where grower = $1 and expires > $2 order by seen desc, hash", grower, instant(now))
		return err
	})
	return out, err
}

// EndSession implements [calendar.Store].
func (s *Store) EndSession(ctx context.Context, hash string) error {
	return s.write(ctx, "end session", func(t tx) error {
		_, err := t.exec("delete from sessions where hash = $1", hash)
		return err
	})
}

// EndSessions implements [calendar.Store].
func (s *Store) EndSessions(ctx context.Context, grower, keep string) error {
	return s.write(ctx, fmt.Sprintf("end sessions of %q", grower), func(t tx) error { return t.endSessions(grower, keep) })
}

func (t tx) endSessions(grower, keep string) error {
	_, err := t.exec("delete from sessions where grower = $1 and hash <> $2", grower, keep)
	return err
}
