package store

import (
	"context"
	"fmt"
	"slices"

	"budswell/calendar"
	"budswell/climate"
	"budswell/climate/phenology"
)

const pooledColumns = "p.grower, p.species, p.phase, p.day, p.season, p.late, p.variance, p.lat, p.lon, p.elevation"

func pooled(row scanner, more ...any) (p phenology.Pooled, err error) {
	dest := []any{&p.Grower, &p.Species, &p.Phase, dayOf{&p.On}, &p.Year, &p.Late, &p.Variance, &p.Lat, &p.Lon, &p.Elevation}
	return p, row.Scan(append(dest, more...)...)
}

func telling(row scanner) (k calendar.Telling, err error) {
	k.Pooled, err = pooled(row, &k.Tree)
	return k, err
}

// isAside holds of a pooled sighting p that was set aside in the club of member m.
const isAside = `exists (select 1 from asides a where a.club = m.club and a.grower = p.grower and a.species = p.species
	and a.phase = p.phase and a.day = p.day and not a.back and a.ordinal = (select max(b.ordinal) from asides b where b.club = a.club
	and b.grower = a.grower and b.species = a.species and b.phase = a.phase and b.day = a.day))`

// PutTellings implements [calendar.Store].
func (s *Store) PutTellings(ctx context.Context, grower string, tell []calendar.Telling) (changed bool, err error) {
	err = s.write(ctx, fmt.Sprintf("put what %q tells", grower), func(t tx) error {
		changed = false
		mine, err := t.memberships(grower)
		if err != nil {
			return err
		}
		type sighting struct {
			tree  string
			phase phenology.Phase
			on    climate.Date
		}
		next := map[sighting]calendar.Telling{}
		if slices.ContainsFunc(mine, func(m calendar.Member) bool { return m.Shares }) {
			for _, k := range tell {
				if k.Grower = grower; k.Tree == "" {
					return fmt.Errorf("telling of %s: want a tree: %w", k.Species, calendar.ErrInvalid)
				}
				if err := k.Check(); err != nil {
					return fmt.Errorf("telling of %q: %w: %w", k.Tree, err, calendar.ErrInvalid)
				}
				next[sighting{k.Tree, k.Phase, k.On}] = k
			}
		}
		before, err := all(t, telling, "select "+pooledColumns+", p.tree from pooled p where p.grower = $1", grower)
		if err != nil {
			return err
		}
		for _, k := range before {
			of := sighting{k.Tree, k.Phase, k.On}
			if now, ok := next[of]; ok && now.Alike(&k) {
				delete(next, of)
				continue
			}
			changed = true
			if _, err := t.exec("delete from pooled where grower = $1 and tree = $2 and phase = $3 and day = $4", grower, k.Tree, string(k.Phase), k.On.String()); err != nil {
				return err
			}
		}
		for _, k := range next {
			changed = true
			if _, err := t.exec(`insert into pooled (grower, tree, phase, day, species, season, late, variance, lat, lon, elevation)
				values ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11)`, grower, k.Tree, string(k.Phase), k.On.String(), k.Species, k.Year,
				k.Late, k.Variance, k.Lat, k.Lon, k.Elevation); err != nil {
				return err
			}
		}
		if !changed {
			return nil
		}
		return t.poolChanged(grower)
	})
	return changed, err
}

// poolChanged counts a change of all that learns from what a grower shares.
func (t tx) poolChanged(grower string) error {
	mine, err := t.memberships(grower)
	if err != nil {
		return err
	}
	for _, m := range mine {
		if !m.Shares {
			continue
		}
		if err := t.clubChangedBut(m.Club, grower); err != nil {
			return err
		}
	}
	return nil
}

// untell takes out of the pools what an entry of a log told, if it told something.
func (t tx) untell(grower, tree string, e calendar.Entry) error {
	r, err := t.exec("delete from pooled where grower = $1 and tree = $2 and phase = $3 and day = $4", grower, tree, string(e.Saw), e.On.String())
	if err != nil {
		return err
	}
	if n, err := r.RowsAffected(); err != nil || n == 0 {
		return err
	}
	return t.poolChanged(grower)
}

// Pool implements [calendar.Store].
func (s *Store) Pool(ctx context.Context, club string) (out []calendar.PooledEntry, err error) {
	err = s.read(ctx, fmt.Sprintf("pool of %q", club), func(t tx) (err error) {
		out, err = all(t, func(row scanner) (e calendar.PooledEntry, err error) {
			e.Pooled, err = pooled(row, &e.Aside)
			return e, err
		}, "select "+pooledColumns+", "+isAside+` from pooled p join members m on m.grower = p.grower and m.shares
			where m.club = $1 order by p.grower, p.species, p.day, p.phase, p.late, p.tree`, club)
		return err
	})
	return out, err
}

// Learned implements [calendar.Store].
func (s *Store) Learned(ctx context.Context, grower string) (out []phenology.Pooled, err error) {
	err = s.read(ctx, fmt.Sprintf("what %q learns from others", grower), func(t tx) (err error) {
		out, err = all(t, func(row scanner) (phenology.Pooled, error) { return pooled(row) },
			"select "+pooledColumns+` from pooled p where p.grower <> $1 and exists (select 1 from members m join members i on i.club = m.club
			where i.grower = $1 and m.grower = p.grower and m.shares and not `+isAside+`)
			order by p.grower, p.species, p.day, p.phase, p.late, p.tree`, grower)
		return err
	})
	return out, err
}

// SetAside implements [calendar.Store].
func (s *Store) SetAside(ctx context.Context, a calendar.Aside) error {
	return s.write(ctx, fmt.Sprintf("set sightings aside in %q", a.Club), func(t tx) error {
		if err := a.Check(); err != nil {
			return err
		}
		on := a.On.String()
		var there int
		if err := t.QueryRowContext(ctx, `select 1 from pooled p join members m on m.grower = p.grower and m.shares
			where m.club = $1 and p.grower = $2 and p.species = $3 and p.phase = $4 and p.day = $5 limit 1`,
			a.Club, a.Grower, a.Species, string(a.Phase), on).Scan(&there); err != nil {
			return err
		}
		if _, err := t.exec(`insert into asides (club, grower, species, phase, day, ordinal, keeper, since, back) values ($1, $2, $3, $4, $5,
			(select coalesce(max(ordinal), 0) + 1 from asides where club = $1 and grower = $2 and species = $3 and phase = $4 and day = $5), $6, $7, $8)`,
			a.Club, a.Grower, a.Species, string(a.Phase), on, optional(a.Keeper), instant(a.At), a.Back); err != nil {
			return err
		}
		return t.clubChangedBut(a.Club, a.Grower)
	})
}

// Asides implements [calendar.Store].
func (s *Store) Asides(ctx context.Context, club string) (out []calendar.Aside, err error) {
	err = s.read(ctx, fmt.Sprintf("what was set aside in %q", club), func(t tx) (err error) {
		out, err = all(t, func(row scanner) (a calendar.Aside, err error) {
			return a, row.Scan(&a.Club, &a.Grower, &a.Species, &a.Phase, dayOf{&a.On}, textOf{&a.Keeper}, timeOf{&a.At}, &a.Back)
		}, "select club, grower, species, phase, day, keeper, since, back from asides where club = $1 order by since desc, grower, species, phase, day, ordinal desc", club)
		return err
	})
	return out, err
}
