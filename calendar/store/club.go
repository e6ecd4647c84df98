package store

import (
	"context"
	"fmt"

	"budswell/calendar"
)

const clubColumns = "select id, name, founded from clubs"

func club(row scanner) (c calendar.Club, err error) {
	return c, row.Scan(&c.ID, &c.Name, timeOf{&c.Founded})
}

// Clubs implements [calendar.Store].
func (s *Store) Clubs(ctx context.Context) (out []calendar.Club, err error) {
	err = s.read(ctx, "clubs", func(t tx) (err error) {
		out, err = all(t, club, clubColumns+" order by id")
		return err
	})
	return out, err
}

// Club implements [calendar.Store].
func (s *Store) Club(ctx context.Context, id string) (c calendar.Club, err error) {
	err = s.read(ctx, fmt.Sprintf("club %q", id), func(t tx) (err error) {
		c, err = club(t.QueryRowContext(ctx, clubColumns+" where id = $1", id))
		return err
	})
	return c, err
}

// PutClub implements [calendar.Store].
func (s *Store) PutClub(ctx context.Context, c calendar.Club) error {
	return s.write(ctx, fmt.Sprintf("put club %q", c.ID), func(t tx) error {
		if err := c.Check(); err != nil {
			return err
		}
		if _, err := t.exec(`insert into clubs (id, name, founded) values ($1, $2, $3)
			on conflict (id) do update set name = excluded.name`, c.ID, c.Name, instant(c.Founded)); err != nil {
			return err
		}
		return t.clubChanged(c.ID)
	})
}

// clubChanged counts a change of whatever is made from what a club has: the plans of
// its members, and its regions.
func (t tx) clubChanged(id string) error { return t.clubChangedBut(id, "") }

// clubChangedBut is clubChanged for all but one grower, whose plan it does not touch.
func (t tx) clubChangedBut(id, but string) error {
	members, err := t.members(id)
	if err != nil {
		return err
	}
	for _, m := range members {
		if m.Grower == but {
			continue
		}
		if err := t.changed(growerOwner(m.Grower)); err != nil {
			return err
		}
	}
	return t.regionsChanged("select id from regions where club = $1 order by id", id)
}

// regionsChanged counts a change of the regions whose ids a query finds.
func (t tx) regionsChanged(query string, args ...any) error {
	regions, err := all(t, func(row scanner) (id string, err error) { return id, row.Scan(&id) }, query, args...)
	if err != nil {
		return err
	}
	for _, r := range regions {
		if err := t.changed(regionOwner(r)); err != nil {
			return err
		}
	}
	return nil
}
