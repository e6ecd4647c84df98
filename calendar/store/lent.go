package store

import (
	"budswell/calendar"
)

type lentRow struct {
	band string
	lent calendar.Lent
}

// lentOf returns whose place each band of a region takes its weather from, by the bands' ids.
func (t tx) lentOf(region string) (map[string]*calendar.Lent, error) {
	rows, err := all(t, func(row scanner) (r lentRow, err error) {
		return r, row.Scan(&r.band, textOf{&r.lent.Grower}, textOf{&r.lent.Place})
	}, "select band, grower, place from lendings where region = $1", region)
	out := make(map[string]*calendar.Lent, len(rows))
	for i := range rows {
		out[rows[i].band] = &rows[i].lent
	}
	return out, err
}

// putLent keeps whose place a band takes its weather from. A place that is not there, or whose
// grower does not edit the regions of the club, is kept as gone.
func (t tx) putLent(r *calendar.Region, b *calendar.Band) error {
	if b.Lent == nil {
		return nil
	}
	var grower, place any
	n := 0
	if err := t.QueryRowContext(t.ctx, `select count(*) from members m join places p on p.grower = m.grower
		where m.club = $1 and m.grower = $2 and p.id = $3 and m.role in ($4, $5)`,
		r.Club, b.Lent.Grower, b.Lent.Place, string(calendar.Keeper), string(calendar.Editor)).Scan(&n); err != nil {
		return err
	}
	if n > 0 {
		grower, place = b.Lent.Grower, b.Lent.Place
	}
	_, err := t.exec("insert into lendings (region, band, grower, place) values ($1, $2, $3, $4)", r.ID, b.ID, grower, place)
	return err
}

// unlend takes back what a grower lends to the regions of a club, where they do not edit them.
func (t tx) unlend(club, grower string) error {
	_, err := t.exec(`update lendings set grower = null, place = null where grower = $2 and region in (select id from regions where club = $1)
		and not exists (select 1 from members where club = $1 and grower = $2 and role in ($3, $4))`,
		club, grower, string(calendar.Keeper), string(calendar.Editor))
	return err
}

// lentChanged counts a change of the regions that take their weather from a place.
func (t tx) lentChanged(grower, place string) error {
	return t.regionsChanged("select distinct region from lendings where grower = $1 and place = $2 order by region", grower, place)
}
