package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"

	"budswell/calendar"
)

const placeColumns = "select p.grower, p.id, p.benches, " + siteColumns + " from places p join sites s on s.id = p.site"

type placeRow struct {
	place calendar.Place
	siteRow
}

func place(row scanner) (p placeRow, err error) {
	err = row.Scan(p.dest(&p.place.Grower, &p.place.ID, jsonOf{&p.place.Benches})...)
	p.place.Site = p.site
	return p, err
}

// Sites implements [calendar.Store].
func (s *Store) Sites(ctx context.Context) (out []calendar.Place, err error) {
	err = s.read(ctx, "sites", func(t tx) error {
		rows, err := all(t, place, placeColumns+" order by p.grower, p.id")
		for _, r := range rows {
			out = append(out, r.place)
		}
		return err
	})
	return out, err
}

// Places implements [calendar.Store].
func (s *Store) Places(ctx context.Context, grower string) (out []calendar.Place, err error) {
	err = s.read(ctx, fmt.Sprintf("places of %q", grower), func(t tx) error {
		rows, err := all(t, place, placeColumns+" where p.grower = $1 order by p.id", grower)
		if err != nil {
			return err
		}
		for i := range rows {
			p := rows[i].place
			if p.Weather, err = t.load(&rows[i].siteRow); err != nil {
				return err
			}
			out = append(out, p)
		}
		return nil
	})
	return out, err
}

// Place implements [calendar.Store].
func (s *Store) Place(ctx context.Context, grower, id string) (p calendar.Place, err error) {
	err = s.read(ctx, fmt.Sprintf("place %q of %q", id, grower), func(t tx) error {
		row, err := place(t.QueryRowContext(ctx, placeColumns+" where p.grower = $1 and p.id = $2", grower, id))
		if err != nil {
			return err
		}
		p = row.place
		p.Weather, err = t.load(&row.siteRow)
		return err
	})
	return p, err
}

// PutPlace implements [calendar.Store].
func (s *Store) PutPlace(ctx context.Context, p calendar.Place) error {
	return s.write(ctx, fmt.Sprintf("put place %q of %q", p.ID, p.Grower), func(t tx) error {
		if err := named(p.ID); err != nil {
			return err
		}
		benches, err := benches(p.Benches)
		if err != nil {
			return err
		}
		was, err := t.siteOf("select site from places where grower = $1 and id = $2", p.Grower, p.ID)
		if err != nil {
			return err
		}
		if err := t.leave(was, p); err != nil {
			return err
		}
		site, err := t.putSite(was, p.Site, p.Weather)
		if err != nil {
			return err
		}
		if was == 0 {
			if _, err := t.exec("insert into places (grower, id, site) values ($1, $2, $3)", p.Grower, p.ID, site); err != nil {
				return err
			}
		}
		if _, err := t.exec("update places set benches = $1 where grower = $2 and id = $3", benches, p.Grower, p.ID); err != nil {
			return err
		}
		if err := t.lentChanged(p.Grower, p.ID); err != nil {
			return err
		}
		return t.changed(growerOwner(p.Grower))
	})
}

// benches returns the benches of a place as JSON; none is null.
func benches(bs []calendar.Bench) (any, error) {
	if len(bs) == 0 {
		return nil, nil
	}
	if err := calendar.CheckBenches(bs); err != nil {
		return nil, err
	}
	return asJSON(bs)
}

// siteOf returns the number of a site, or 0 where there is none.
func (t tx) siteOf(query string, args ...any) (id int64, err error) {
	err = t.QueryRowContext(t.ctx, query, args...).Scan(&id)
	if errors.Is(err, sql.ErrNoRows) {
		return 0, nil
	}
	return id, err
}
