package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
)

// Owners of changes: growers and regions may have the same id.
func growerOwner(id string) string { return "grower " + id }
func regionOwner(id string) string { return "region " + id }

// Changes implements [calendar.Store].
func (s *Store) Changes(ctx context.Context, grower string) (int, error) {
	return s.changes(ctx, growerOwner(grower))
}

// RegionChanges implements [calendar.Store].
func (s *Store) RegionChanges(ctx context.Context, region string) (int, error) {
	return s.changes(ctx, regionOwner(region))
}

func (s *Store) changes(ctx context.Context, owner string) (n int, err error) {
	err = s.read(ctx, fmt.Sprintf("changes of %s", owner), func(t tx) error {
		err := t.QueryRowContext(ctx, "select count from changes where owner = $1", owner).Scan(&n)
		if errors.Is(err, sql.ErrNoRows) {
			return nil
		}
		return err
	})
	return n, err
}

// changed counts a change, in the transaction that makes it.
func (t tx) changed(owner string) error {
	_, err := t.exec("insert into changes (owner, count) values ($1, 1) on conflict (owner) do update set count = changes.count + 1", owner)
	return err
}
