package store

import (
	"context"
	"fmt"
	"time"

	"budswell/calendar"
)

const passwordColumns = "select grower, id, name, hash, created, used, revoked from passwords"

func password(row scanner) (p calendar.Password, err error) {
	return p, row.Scan(&p.Grower, &p.ID, &p.Name, &p.Hash, timeOf{&p.Created}, timeOf{&p.Used}, timeOf{&p.Revoked})
}

// Passwords implements [calendar.Store].
func (s *Store) Passwords(ctx context.Context, grower string) (out []calendar.Password, err error) {
	err = s.read(ctx, fmt.Sprintf("passwords of %q", grower), func(t tx) (err error) {
		out, err = all(t, password, passwordColumns+" where grower = $1 order by created, id", grower)
		return err
	})
	return out, err
}

// PasswordByHash implements [calendar.Store].
func (s *Store) PasswordByHash(ctx context.Context, hash string) (p calendar.Password, err error) {
	err = s.read(ctx, "password by hash", func(t tx) (err error) {
		p, err = password(t.QueryRowContext(ctx, passwordColumns+" where hash = $1", hash))
		return err
	})
	if err == nil && !p.Revoked.IsZero() {
		err = fmt.Errorf("password %q of %q: %w", p.ID, p.Grower, calendar.ErrGone)
	}
	return p, err
}

// PutPassword implements [calendar.Store].
func (s *Store) PutPassword(ctx context.Context, p calendar.Password) error {
	return s.write(ctx, fmt.Sprintf("put password %q of %q", p.ID, p.Grower), func(t tx) error {
		if p.ID == "" || p.Hash == "" || p.Created.IsZero() {
			return fmt.Errorf("want an id, a hash and when it was created: %w", calendar.ErrInvalid)
		}
		_, err := t.exec("insert into passwords (grower, id, name, hash, created, used, revoked) values ($1, $2, $3, $4, $5, $6, $7)",
			p.Grower, p.ID, p.Name, p.Hash, instant(p.Created), instant(p.Used), instant(p.Revoked))
		return err
	})
}

// UsedPassword implements [calendar.Store].
func (s *Store) UsedPassword(ctx context.Context, grower, id string, at time.Time) error {
	return s.write(ctx, fmt.Sprintf("use of password %q of %q", id, grower), func(t tx) error {
		return one(t.exec("update passwords set used = $1 where grower = $2 and id = $3", instant(at), grower, id))
	})
}

// RevokePassword implements [calendar.Store].
func (s *Store) RevokePassword(ctx context.Context, grower, id string, at time.Time) error {
	return s.write(ctx, fmt.Sprintf("revoke password %q of %q", id, grower), func(t tx) error {
		return one(t.exec("update passwords set revoked = coalesce(revoked, $1) where grower = $2 and id = $3", instant(at), grower, id))
	})
}
