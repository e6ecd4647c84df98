package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"

	"budswell/calendar"
)

// Locale implements [calendar.Store].
func (s *Store) Locale(ctx context.Context, grower string) (calendar.Locale, error) {
	l := calendar.DefaultLocale()
	err := s.read(ctx, fmt.Sprintf("locale of %q", grower), func(t tx) error {
		err := t.QueryRowContext(ctx, "select value from locales where grower = $1", grower).Scan(jsonOf{&l})
		if errors.Is(err, sql.ErrNoRows) {
			return nil
		}
		return err
	})
	return l, err
}

// PutLocale implements [calendar.Store].
func (s *Store) PutLocale(ctx context.Context, grower string, l calendar.Locale) error {
	return s.write(ctx, fmt.Sprintf("put locale of %q", grower), func(t tx) error {
		if err := l.Validate(); err != nil {
			return err
		}
		value, err := asJSON(l)
		if err != nil {
			return err
		}
		if _, err := t.exec("insert into locales (grower, value) values ($1, $2) on conflict (grower) do update set value = excluded.value", grower, value); err != nil {
			return err
		}
		return t.changed(growerOwner(grower))
	})
}
