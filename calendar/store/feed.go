package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"time"

	"budswell/calendar"
)

const feedColumns = "select grower, id, name, token_hash, filter, created, revoked from feeds"

func feed(row scanner) (f calendar.Feed, err error) {
	return f, row.Scan(&f.Grower, &f.ID, &f.Name, &f.TokenHash, jsonOf{&f.Filter}, timeOf{&f.Created}, timeOf{&f.Revoked})
}

// Feeds implements [calendar.Store].
func (s *Store) Feeds(ctx context.Context, grower string) (out []calendar.Feed, err error) {
	err = s.read(ctx, fmt.Sprintf("feeds of %q", grower), func(t tx) (err error) {
		out, err = all(t, feed, feedColumns+" where grower = $1 order by created, id", grower)
		return err
	})
	return out, err
}

// FeedByToken implements [calendar.Store].
func (s *Store) FeedByToken(ctx context.Context, tokenHash string) (f calendar.Feed, err error) {
	err = s.read(ctx, "feed by token", func(t tx) (err error) {
		f, err = feed(t.QueryRowContext(ctx, feedColumns+" where token_hash = $1", tokenHash))
		if errors.Is(err, sql.ErrNoRows) { // its grower may have left
			f = calendar.Feed{TokenHash: tokenHash}
			err = t.QueryRowContext(ctx, "select since from withdrawn where token_hash = $1", tokenHash).Scan(timeOf{&f.Revoked})
		}
		return err
	})
	if err == nil && !f.Revoked.IsZero() {
		err = fmt.Errorf("feed %q of %q: %w", f.ID, f.Grower, calendar.ErrGone)
	}
	return f, err
}

// PutFeed implements [calendar.Store].
func (s *Store) PutFeed(ctx context.Context, f calendar.Feed) error {
	return s.write(ctx, fmt.Sprintf("put feed %q of %q", f.ID, f.Grower), func(t tx) error {
		if err := named(f.ID); err != nil {
			return err
		}
		if f.TokenHash == "" || f.Created.IsZero() {
			return fmt.Errorf("want the hash of its secret and when it was created: %w", calendar.ErrInvalid)
		}
		for _, list := range [][]string{f.Filter.Trees, f.Filter.Groups, f.Filter.Classes, f.Filter.Works} {
			if err := storable(list...); err != nil {
				return err
			}
		}
		filter, err := asJSON(f.Filter)
		if err != nil {
			return err
		}
		_, err = t.exec(`insert into feeds (grower, id, name, token_hash, filter, created, revoked) values ($1, $2, $3, $4, $5, $6, $7)
			on conflict (grower, id) do update set name = excluded.name, token_hash = excluded.token_hash,
			filter = excluded.filter, revoked = coalesce(feeds.revoked, excluded.revoked)`,
			f.Grower, f.ID, f.Name, f.TokenHash, filter, instant(f.Created), instant(f.Revoked))
		if err != nil {
			return err
		}
		return t.changed(growerOwner(f.Grower))
	})
}

// RevokeFeed implements [calendar.Store].
func (s *Store) RevokeFeed(ctx context.Context, grower, id string, at time.Time) error {
	return s.write(ctx, fmt.Sprintf("revoke feed %q of %q", id, grower), func(t tx) error {
		if err := one(t.exec("update feeds set revoked = coalesce(revoked, $1) where grower = $2 and id = $3", instant(at), grower, id)); err != nil {
			return err
		}
		return t.changed(growerOwner(grower))
	})
}
