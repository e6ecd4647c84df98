package store

import (
	"context"
	"fmt"

	"budswell/calendar"
)

const growerColumns = "select id, name, email, key_hash from growers"

func grower(row scanner) (g calendar.Grower, err error) {
	return g, row.Scan(&g.ID, &g.Name, &g.Email, textOf{&g.KeyHash})
}

// Growers implements [calendar.Store].
func (s *Store) Growers(ctx context.Context) (out []calendar.Grower, err error) {
	err = s.read(ctx, "growers", func(t tx) (err error) {
		out, err = all(t, grower, growerColumns+" order by id")
		return err
	})
	return out, err
}

// Grower implements [calendar.Store].
func (s *Store) Grower(ctx context.Context, id string) (g calendar.Grower, err error) {
	err = s.read(ctx, fmt.Sprintf("grower %q", id), func(t tx) (err error) {
		g, err = grower(t.QueryRowContext(ctx, growerColumns+" where id = $1", id))
		return err
	})
	return g, err
}

// GrowerByKey implements [calendar.Store].
func (s *Store) GrowerByKey(ctx context.Context, keyHash string) (g calendar.Grower, err error) {
	err = s.read(ctx, "grower by key", func(t tx) (err error) {
		g, err = grower(t.QueryRowContext(ctx, growerColumns+" where key_hash = $1", keyHash))
		return err
	})
	return g, err
}

// PutGrower implements [calendar.Store].
func (s *Store) PutGrower(ctx context.Context, g calendar.Grower) error {
	return s.write(ctx, fmt.Sprintf("put grower %q", g.ID), func(t tx) error {
		if err := named(g.ID); err != nil {
			return err
		}
		_, err := t.exec(`insert into growers (id, name, email, key_hash) values ($1, $2, $3, $4)
			on conflict (id) do update set name = excluded.name, email = excluded.email, key_hash = excluded.key_hash`,
			g.ID, g.Name, g.Email, optional(g.KeyHash))
		if err != nil {
			return err
		}
		return t.changed(growerOwner(g.ID))
	})
}

// named reports an id that is empty.
func named(id string) error {
	if id == "" {
		return fmt.Errorf("id is empty: %w", calendar.ErrInvalid)
	}
	return nil
}
