package store

import (
	"context"
	"fmt"

	"budswell/calendar"
)

const regionColumns = "select r.id, r.name, r.groups, r.club, " + siteColumns + " from regions r join sites s on s.id = r.site"

type regionRow struct {
	region calendar.Region
	siteRow
}

func region(row scanner) (r regionRow, err error) {
	err = row.Scan(r.dest(&r.region.ID, &r.region.Name, jsonOf{&r.region.Groups}, textOf{&r.region.Club})...)
	r.region.Site = r.site
	return r, err
}

// Regions implements [calendar.Store].
func (s *Store) Regions(ctx context.Context) (out []calendar.Region, err error) {
	err = s.read(ctx, "regions", func(t tx) error {
		rows, err := all(t, region, regionColumns+" order by r.id")
		if err != nil {
			return err
		}
		for i := range rows {
			r := rows[i].region
			if r.Weather, err = t.load(&rows[i].siteRow); err != nil {
				return err
			}
			out = append(out, r)
		}
		return nil
	})
	return out, err
}

// Region implements [calendar.Store].
func (s *Store) Region(ctx context.Context, id string) (r calendar.Region, err error) {
	err = s.read(ctx, fmt.Sprintf("region %q", id), func(t tx) error {
		row, err := region(t.QueryRowContext(ctx, regionColumns+" where r.id = $1", id))
		if err != nil {
			return err
		}
		r = row.region
		r.Weather, err = t.load(&row.siteRow)
		return err
	})
	return r, err
}

// PutRegion implements [calendar.Store].
func (s *Store) PutRegion(ctx context.Context, r calendar.Region) error {
	return s.write(ctx, fmt.Sprintf("put region %q", r.ID), func(t tx) error {
		if err := named(r.ID); err != nil {
			return err
		}
		if err := storable(r.Groups...); err != nil {
			return err
		}
		groups, err := asJSON(r.Groups)
		if err != nil {
			return err
		}
		site, err := t.siteOf("select site from regions where id = $1", r.ID)
		if err != nil {
			return err
		}
		if site, err = t.putSite(site, r.Site, r.Weather); err != nil {
			return err
		}
		_, err = t.exec(`insert into regions (id, name, groups, site, club) values ($1, $2, $3, $4, $5)
			on conflict (id) do update set name = excluded.name, groups = excluded.groups, club = excluded.club`,
			r.ID, r.Name, groups, site, optional(r.Club))
		if err != nil {
			return err
		}
		return t.changed(regionOwner(r.ID))
	})
}
