package store

import (
	"context"
	"fmt"

	"budswell/calendar"
)

// DecideAfter implements [calendar.Store].
func (s *Store) DecideAfter(ctx context.Context, grower string, told int, nudges []calendar.Nudge) (added int, err error) {
	err = s.write(ctx, fmt.Sprintf("decide nudges of %q", grower), func(t tx) error {
		added = 0
		var now int
		if err := t.QueryRowContext(ctx, "select count(*) from subjects where grower = $1", grower).Scan(&now); err != nil {
			return err
		}
		if now != told {
			return fmt.Errorf("%d subjects were told, %d when it was decided: %w", now, told, calendar.ErrConflict)
		}
		for _, n := range nudges {
			if n.Grower != grower {
				return fmt.Errorf("nudge %q is for %q: %w", n.ID, n.Grower, calendar.ErrInvalid)
			}
		}
		added, err = t.decideAll(nudges)
		return err
	})
	if err != nil {
		return 0, err
	}
	return added, nil
}
