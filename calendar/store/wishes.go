package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"

	"budswell/calendar"
)

// wish reads one column of what a grower wishes; what is not there leaves v alone.
func (s *Store) wish(ctx context.Context, column, grower string, v any) error {
	return s.read(ctx, fmt.Sprintf("%s of %q", column, grower), func(t tx) error {
		err := t.QueryRowContext(ctx, "select "+column+" from wishes where grower = $1", grower).Scan(jsonOf{v})
		if errors.Is(err, sql.ErrNoRows) {
			return nil
		}
		return err
	})
}

// putWish writes one column; nil writes null.
func (t tx) putWish(column, grower string, v any) error {
	var value any
	if v != nil {
		text, err := asJSON(v)
		if err != nil {
			return err
		}
		value = text
	}
	_, err := t.exec("insert into wishes (grower, "+column+") values ($1, $2) on conflict (grower) do update set "+column+" = excluded."+column, grower, value)
	return err
}

// Shows implements [calendar.Store].
func (s *Store) Shows(ctx context.Context, grower string) (out []calendar.Show, err error) {
	if err := s.wish(ctx, "shows", grower, &out); err != nil {
		return nil, err
	}
	if err := calendar.CheckShows(out); err != nil {
		return nil, fmt.Errorf("kept for %q: %w", grower, err)
	}
	return out, nil
}

// PutShows implements [calendar.Store].
func (s *Store) PutShows(ctx context.Context, grower string, shows []calendar.Show) error {
	return s.write(ctx, fmt.Sprintf("put shows of %q", grower), func(t tx) error {
		if err := calendar.CheckShows(shows); err != nil {
			return err
		}
		if err := t.putWish("shows", grower, shows); err != nil {
			return err
		}
		return t.changed(growerOwner(grower))
	})
}

// Hours implements [calendar.Store].
func (s *Store) Hours(ctx context.Context, grower string) (*calendar.Hours, error) {
	var h *calendar.Hours
	if err := s.wish(ctx, "hours", grower, &h); err != nil || h == nil {
		return nil, err
	}
	if err := h.Validate(); err != nil {
		return nil, fmt.Errorf("kept for %q: %w", grower, err)
	}
	return h, nil
}

// PutHours implements [calendar.Store].
func (s *Store) PutHours(ctx context.Context, grower string, h *calendar.Hours) error {
	return s.write(ctx, fmt.Sprintf("put hours of %q", grower), func(t tx) error {
		if h == nil {
			if err := errors.Join(t.putWish("hours", grower, nil), t.putWish("promise", grower, nil)); err != nil {
				return err
			}
			return t.changed(growerOwner(grower))
		}
		if err := h.Validate(); err != nil {
			return err
		}
		if err := t.putWish("hours", grower, h); err != nil {
			return err
		}
		return t.changed(growerOwner(grower))
	})
}

// Promise implements [calendar.Store].
func (s *Store) Promise(ctx context.Context, grower string) (p calendar.Promise, err error) {
	return p, s.wish(ctx, "promise", grower, &p)
}

// PutPromise implements [calendar.Store].
func (s *Store) PutPromise(ctx context.Context, grower string, p calendar.Promise) error {
	return s.write(ctx, fmt.Sprintf("put promise to %q", grower), func(t tx) error {
		return t.putWish("promise", grower, p)
	})
}
