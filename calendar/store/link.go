package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"slices"
	"time"

	"budswell/calendar"
)

const linkColumns = "hash, grower, nudge, secret, does, label, trees, expires"

func link(row scanner) (l calendar.Link, err error) {
	return l, row.Scan(&l.Hash, &l.Grower, &l.Nudge, textOf{&l.Secret}, &l.Does, &l.Label, jsonOf{&l.Trees}, timeOf{&l.Expires})
}

func (t tx) addLink(n calendar.Nudge, ordinal int, l calendar.Link) error {
	if err := named(l.Hash); err != nil {
		return err
	}
	if l.Expires.IsZero() {
		return fmt.Errorf("want when it expires: %w", calendar.ErrInvalid)
	}
	trees, err := asJSON(l.Trees)
	if err != nil {
		return err
	}
	secret := optional(l.Secret)
	if len(n.Deliveries) == 0 {
		secret = nil // nobody will read it
	}
	_, err = t.exec("insert into links (hash, grower, nudge, ordinal, secret, does, label, trees, expires) values ($1, $2, $3, $4, $5, $6, $7, $8, $9)",
		l.Hash, n.Grower, n.ID, ordinal, secret, l.Does, l.Label, trees, instant(l.Expires))
	return err
}

// LinkByHash implements [calendar.Store].
func (s *Store) LinkByHash(ctx context.Context, hash string, now time.Time) (l calendar.Link, err error) {
	err = s.read(ctx, "link by hash", func(t tx) (err error) {
		l, err = t.link(hash, now)
		return err
	})
	return l, err
}

func (t tx) link(hash string, now time.Time) (calendar.Link, error) {
	l, err := link(t.QueryRowContext(t.ctx, "select "+linkColumns+" from links where hash = $1", hash))
	if err != nil {
		return l, err
	}
	if !l.Expires.After(now) {
		return l, calendar.ErrGone
	}
	l.Uses, err = all(t, func(row scanner) (u calendar.LinkUse, err error) {
		return u, row.Scan(&u.Tree, jsonOf{&u.Entry}, timeOf{&u.At}, timeOf{&u.Back})
	}, "select tree, entry, used, back from link_uses where link = $1 order by tree", hash)
	return l, err
}

// UseLink implements [calendar.Store].
func (s *Store) UseLink(ctx context.Context, hash string, uses []calendar.LinkUse, at time.Time) error {
	return s.write(ctx, "use a link", func(t tx) error {
		l, err := t.link(hash, at)
		if err != nil {
			return err
		}
		for _, u := range uses {
			if !slices.Contains(l.Trees, u.Tree) {
				return fmt.Errorf("tree %q is not of the link: %w", u.Tree, calendar.ErrConflict)
			}
			entry, err := asJSON(u.Entry)
			if err != nil {
				return err
			}
			// A second use of the same tree breaks the primary key: ErrConflict.
			if _, err := t.exec("insert into link_uses (grower, link, tree, entry, used) values ($1, $2, $3, $4, $5)", l.Grower, hash, u.Tree, entry, instant(at)); err != nil {
				return err
			}
			if err := t.enter(l.Grower, u.Tree, u.Entry); err != nil {
				return err
			}
		}
		return t.changed(growerOwner(l.Grower))
	})
}

// TakeBack implements [calendar.Store].
func (s *Store) TakeBack(ctx context.Context, hash string, at time.Time) (back []calendar.LinkUse, err error) {
	err = s.write(ctx, "take back what a link logged", func(t tx) error {
		back = nil
		l, err := t.link(hash, at)
		if err != nil {
			return err
		}
		for _, u := range l.Uses {
			if !u.Back.IsZero() {
				continue
			}
			if _, err := t.exec("update link_uses set back = $1 where link = $2 and tree = $3", instant(at), hash, u.Tree); err != nil {
				return err
			}
			// It may have been withdrawn by another way already.
			if err := t.withdraw(l.Grower, u.Tree, u.Entry, at); err != nil && !errors.Is(told(err), calendar.ErrNotFound) {
				return err
			}
			u.Back = at.UTC()
			back = append(back, u)
		}
		return t.changed(growerOwner(l.Grower))
	})
	if err != nil {
		return nil, err
	}
	return back, nil
}

// Withdraw implements [calendar.Store].
func (s *Store) Withdraw(ctx context.Context, grower, tree string, e calendar.Entry, at time.Time) error {
	return s.write(ctx, fmt.Sprintf("withdraw from the log of %q of %q", tree, grower), func(t tx) error {
		if err := t.withdraw(grower, tree, e, at); err != nil {
			return err
		}
		return t.changed(growerOwner(grower))
	})
}

// stands is what holds of an entry of the log that was not withdrawn, or was
// entered again afterwards.
const stands = `not exists (select 1 from withdrawals w where w.grower = log.grower and w.tree = log.tree and w.digest = log.digest
	and w.withdrawn is not null and w.ordinal = (select max(v.ordinal) from withdrawals v
	where v.grower = w.grower and v.tree = w.tree and v.digest = w.digest))`

func (t tx) withdraw(grower, tree string, e calendar.Entry, at time.Time) error {
	digest, err := digestOf(e)
	if err != nil {
		return err
	}
	var there int
	if err := t.QueryRowContext(t.ctx, "select 1 from log where grower = $1 and tree = $2 and digest = $3 and "+stands, grower, tree, digest).Scan(&there); err != nil {
		return err
	}
	if err := t.untell(grower, tree, e); err != nil {
		return err
	}
	return t.mark(grower, tree, digest, instant(at))
}

// enter adds an entry, and lets it stand again where it was withdrawn.
func (t tx) enter(grower, tree string, e calendar.Entry) error {
	if err := t.addEntry(grower, tree, e); err != nil {
		return err
	}
	digest, err := digestOf(e)
	if err != nil {
		return err
	}
	var there int
	err = t.QueryRowContext(t.ctx, "select 1 from log where grower = $1 and tree = $2 and digest = $3 and "+stands, grower, tree, digest).Scan(&there)
	if errors.Is(err, sql.ErrNoRows) {
		return t.mark(grower, tree, digest, nil)
	}
	return err
}

func (t tx) mark(grower, tree, digest string, withdrawn any) error {
	_, err := t.exec(`insert into withdrawals (grower, tree, digest, ordinal, withdrawn) values ($1, $2, $3,
		(select coalesce(max(ordinal), 0) + 1 from withdrawals where grower = $1 and tree = $2 and digest = $3), $4)`,
		grower, tree, digest, withdrawn)
	return err
}
