package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"time"

	"budswell/calendar"
)

const accountColumns = "select grower, mail, password, changed from accounts"

func account(row scanner) (a calendar.Account, err error) {
	return a, row.Scan(&a.Grower, &a.Mail, &a.Password, timeOf{&a.Changed})
}

// Account implements [calendar.Store].
func (s *Store) Account(ctx context.Context, grower string) (a calendar.Account, err error) {
	err = s.read(ctx, fmt.Sprintf("account of %q", grower), func(t tx) (err error) {
		a, err = account(t.QueryRowContext(ctx, accountColumns+" where grower = $1", grower))
		return err
	})
	return a, err
}

// AccountByMail implements [calendar.Store].
func (s *Store) AccountByMail(ctx context.Context, mail string) (a calendar.Account, err error) {
	err = s.read(ctx, "account by mail", func(t tx) (err error) {
		a, err = account(t.QueryRowContext(ctx, accountColumns+" where mail = $1", mail))
		return err
	})
	return a, err
}

// PutAccount implements [calendar.Store].
func (s *Store) PutAccount(ctx context.Context, a calendar.Account, keep string) error {
	return s.write(ctx, fmt.Sprintf("put account of %q", a.Grower), func(t tx) error { return t.putAccount(a, keep) })
}

func (t tx) putAccount(a calendar.Account, keep string) error {
	if a.Grower == "" || a.Mail == "" || a.Password == "" || a.Changed.IsZero() {
		return fmt.Errorf("want a grower, an address, the hash of a password, and when it was set: %w", calendar.ErrInvalid)
	}
	if _, err := t.exec(`insert into accounts (grower, mail, password, changed) values ($1, $2, $3, $4)
		on conflict (grower) do update set mail = excluded.mail, password = excluded.password, changed = excluded.changed`,
		a.Grower, a.Mail, a.Password, instant(a.Changed)); err != nil {
		return err
	}
	if err := t.endSessions(a.Grower, keep); err != nil {
		return err
	}
	_, err := t.exec("delete from tickets where grower = $1", a.Grower)
	return err
}

// Rehash implements [calendar.Store].
func (s *Store) Rehash(ctx context.Context, grower, from, to string) error {
	return s.write(ctx, fmt.Sprintf("rehash the password of %q", grower), func(t tx) error {
		_, err := t.exec("update accounts set password = $1 where grower = $2 and password = $3", to, grower, from)
		return err
	})
}

// PutTicket implements [calendar.Store].
func (s *Store) PutTicket(ctx context.Context, k calendar.Ticket) error {
	return s.write(ctx, "put ticket", func(t tx) error {
		if k.Hash == "" || k.Expires.IsZero() {
			return fmt.Errorf("want the hash of its secret and when it expires: %w", calendar.ErrInvalid)
		}
		if k.Club != "" && (k.Grower != "" || !k.Role.May(calendar.Plain)) {
			return fmt.Errorf("invitation into %q: want one for nobody yet, with a role: %w", k.Club, calendar.ErrInvalid)
		}
		_, err := t.exec("insert into tickets (hash, grower, mail, expires, club, role) values ($1, $2, $3, $4, $5, $6)",
			k.Hash, optional(k.Grower), k.Mail, instant(k.Expires), optional(k.Club), optional(string(k.Role)))
		return err
	})
}

const ticketColumns = "select hash, grower, mail, expires, club, role from tickets where hash = $1 and expires > $2"

func ticket(row scanner) (k calendar.Ticket, err error) {
	var role string
	err = row.Scan(&k.Hash, textOf{&k.Grower}, &k.Mail, timeOf{&k.Expires}, textOf{&k.Club}, textOf{&role})
	k.Role = calendar.Role(role)
	return k, err
}

// Ticket implements [calendar.Store].
func (s *Store) Ticket(ctx context.Context, hash string, now time.Time) (k calendar.Ticket, err error) {
	err = s.read(ctx, "ticket", func(t tx) (err error) {
		k, err = ticket(t.QueryRowContext(ctx, ticketColumns, hash, instant(now)))
		return err
	})
	return k, err
}

// redeem uses up a ticket of a grower, or an invitation where grower is empty.
func (t tx) redeem(hash, grower string, now time.Time) error {
	r, err := t.exec("delete from tickets where hash = $1 and coalesce(grower, '') = $2 and expires > $3", hash, grower, instant(now))
	if err != nil {
		return err
	}
	if n, err := r.RowsAffected(); err != nil || n == 0 {
		return fmt.Errorf("ticket: %w", calendar.ErrGone)
	}
	return nil
}

// Redeem implements [calendar.Store].
func (s *Store) Redeem(ctx context.Context, hash string, a calendar.Account, now time.Time) error {
	return s.write(ctx, fmt.Sprintf("redeem a ticket of %q", a.Grower), func(t tx) error {
		if err := named(a.Grower); err != nil {
			return err
		}
		if err := t.redeem(hash, a.Grower, now); err != nil {
			return err
		}
		return t.putAccount(a, "")
	})
}

// Join implements [calendar.Store].
func (s *Store) Join(ctx context.Context, hash string, g calendar.Grower, a calendar.Account, now time.Time) error {
	return s.write(ctx, fmt.Sprintf("let %q join", g.ID), func(t tx) error {
		if err := named(g.ID); err != nil {
			return err
		}
		if a.Grower != g.ID {
			return fmt.Errorf("account of %q: want one of %q: %w", a.Grower, g.ID, calendar.ErrInvalid)
		}
		k, err := ticket(t.QueryRowContext(ctx, ticketColumns, hash, instant(now)))
		if err != nil && !errors.Is(err, sql.ErrNoRows) {
			return err
		}
		if err := t.redeem(hash, "", now); err != nil {
			return err
		}
		if _, err := t.exec("insert into growers (id, name, email, key_hash) values ($1, $2, $3, $4)",
			g.ID, g.Name, g.Email, optional(g.KeyHash)); err != nil {
			return err
		}
		if err := t.putAccount(a, ""); err != nil {
			return err
		}
		if k.Club != "" {
			if err := t.enterClub(k, g.ID, now); err != nil {
				return err
			}
		}
		return t.changed(growerOwner(g.ID))
	})
}
