package store

import (
	"cmp"
	"context"
	"fmt"

	"budswell/calendar"
)

const (
	regionColumns = "select r.id, r.name, r.groups, r.club, r.species, " + siteColumns + " from regions r join sites s on s.id = r.site"
	bandColumns   = "select b.id, b.name, " + siteColumns + " from bands b join sites s on s.id = b.site where b.region = $1 order by b.ordinal"
)

type regionRow struct {
	region calendar.Region
	siteRow
}

func region(row scanner) (r regionRow, err error) {
	return r, row.Scan(r.dest(&r.region.ID, &r.region.Name, jsonOf{&r.region.Groups}, textOf{&r.region.Club}, jsonOf{&r.region.Species})...)
}

type bandRow struct {
	id, name string
	siteRow
}

func band(row scanner) (b bandRow, err error) {
	return b, row.Scan(b.dest(&b.id, &b.name)...)
}

// bandsOf returns the bands of a region without their weather's daily series; that of a
// region from before there were bands is its site.
func (t tx) bandsOf(r *regionRow) ([]bandRow, error) {
	out, err := all(t, band, bandColumns, r.region.ID)
	if err != nil || len(out) > 0 {
		return out, err
	}
	only := bandRow{name: cmp.Or(r.site.Name, r.region.Name, "Region"), siteRow: r.siteRow}
	only.id = calendar.BandID(only.name, nil)
	return []bandRow{only}, nil
}

// whole returns the region of r with its bands.
func (t tx) whole(r *regionRow) (calendar.Region, error) {
	out := r.region
	bands, err := t.bandsOf(r)
	if err != nil {
		return out, err
	}
	lent, err := t.lentOf(out.ID)
	if err != nil {
		return out, err
	}
	for i := range bands {
		b := &bands[i]
		weather, err := t.load(&b.siteRow)
		if err != nil {
			return out, err
		}
		out.Bands = append(out.Bands, calendar.Band{ID: b.id, Name: b.name, Site: b.site, Weather: weather, Lent: lent[b.id]})
	}
	return out, nil
}

// Regions implements [calendar.Store].
func (s *Store) Regions(ctx context.Context) (out []calendar.Region, err error) {
	err = s.read(ctx, "regions", func(t tx) error {
		rows, err := all(t, region, regionColumns+" order by r.id")
		out = make([]calendar.Region, len(rows))
		for i := range rows {
			out[i] = rows[i].region
		}
		return err
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
		r, err = t.whole(&row)
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
		if err := calendar.CheckBands(r.Bands); err != nil {
			return err
		}
		if err := storable(append(append([]string{}, r.Groups...), r.Species...)...); err != nil {
			return err
		}
		left, err := t.bandSites(r.ID)
		if err != nil {
			return err
		}
		sites := make([]int64, len(r.Bands))
		for i := range r.Bands {
			b := &r.Bands[i]
			if sites[i], err = t.putSite(left[b.ID], b.Site, b.Weather); err != nil {
				return err
			}
			delete(left, b.ID)
		}
		if err := t.putRegion(&r, sites); err != nil {
			return err
		}
		for _, site := range left {
			if err := t.dropSite(site); err != nil {
				return err
			}
		}
		return t.changed(regionOwner(r.ID))
	})
}

// bandSites returns the sites of the bands that a region has, by the bands' ids; none
// where there is no such region.
func (t tx) bandSites(id string) (map[string]int64, error) {
	rows, err := all(t, region, regionColumns+" where r.id = $1", id)
	out := map[string]int64{}
	if err != nil || len(rows) == 0 {
		return out, err
	}
	bands, err := t.bandsOf(&rows[0])
	for i := range bands {
		out[bands[i].id] = bands[i].siteRow.id
	}
	return out, err
}

// putRegion writes the rows of a region and of its bands, whose sites are written.
func (t tx) putRegion(r *calendar.Region, sites []int64) error {
	groups, err := asJSON(r.Groups)
	if err != nil {
		return err
	}
	var species any
	if len(r.Species) > 0 {
		if species, err = asJSON(r.Species); err != nil {
			return err
		}
	}
	if _, err = t.exec(`insert into regions (id, name, groups, site, club, species) values ($1, $2, $3, $4, $5, $6)
		on conflict (id) do update set name = excluded.name, groups = excluded.groups, site = excluded.site, club = excluded.club, species = excluded.species`,
		r.ID, r.Name, groups, sites[0], optional(r.Club), species); err != nil {
		return err
	}
	if _, err := t.exec("delete from bands where region = $1", r.ID); err != nil { // and what is lent to them
		return err
	}
	for i := range r.Bands {
		b := &r.Bands[i]
		if _, err := t.exec("insert into bands (region, ordinal, id, name, site) values ($1, $2, $3, $4, $5)", r.ID, i, b.ID, b.Name, sites[i]); err != nil {
			return err
		}
		if err := t.putLent(r, b); err != nil {
			return err
		}
	}
	return nil
}

// dropSite deletes a site that nothing refers to any more.
func (t tx) dropSite(site int64) error {
	if _, err := t.exec("delete from weather where site = $1", site); err != nil {
		return err
	}
	_, err := t.exec("delete from sites where id = $1", site)
	return err
}

// EndRegion implements [calendar.Store].
func (s *Store) EndRegion(ctx context.Context, id string) error {
	return s.write(ctx, fmt.Sprintf("end region %q", id), func(t tx) error {
		sites, err := t.bandSites(id)
		switch {
		case err != nil:
			return err
		case len(sites) == 0:
			return calendar.ErrNotFound
		}
		for _, q := range []string{"delete from bands where region = $1", "delete from regions where id = $1"} {
			if _, err := t.exec(q, id); err != nil {
				return err
			}
		}
		for _, site := range sites {
			if err := t.dropSite(site); err != nil {
				return err
			}
		}
		if _, err := t.exec("delete from editions where owner = $1", regionOwner(id)); err != nil {
			return err
		}
		return t.changed(regionOwner(id)) // so that what is on any shelf is of before
	})
}
