package store

import (
	"context"
	"crypto/sha256"
	"database/sql"
	"encoding/hex"
	"fmt"
	"math"

	"budswell/calendar"
)

// Trees implements [calendar.Store].
func (s *Store) Trees(ctx context.Context, grower string) (out []calendar.Kept, err error) {
	err = s.read(ctx, fmt.Sprintf("trees of %q", grower), func(t tx) (err error) {
		if out, err = all(t, tree, `select grower, place, id, name, species, origin, field_soil, container, litres, note, bench, pot
			from trees where grower = $1 order by ordinal`, grower); err != nil {
			return err
		}
		entries, err := all(t, entry, `select tree, day, did, saw, not_yet, stage, strength, field_soil_left, note, moved
			from log where grower = $1 and `+stands+` order by tree, day, ordinal`, grower)
		if err != nil {
			return err
		}
		logs := make(map[string][]calendar.Entry, len(out))
		for _, e := range entries {
			logs[e.tree] = append(logs[e.tree], e.Entry)
		}
		for i := range out {
			out[i].Log = logs[out[i].ID]
		}
		return nil
	})
	return out, err
}

func tree(row scanner) (k calendar.Kept, err error) {
	return k, row.Scan(&k.Grower, &k.Place, &k.ID, &k.Name, &k.Species, &k.Origin, &k.FieldSoil,
		&k.Container.Kind, &k.Container.Litres, &k.Note, &k.Bench, jsonOf{&k.Container})
}

// potOf writes what is known of a pot besides its kind and litres; nil where that is
// nothing.
func potOf(c calendar.Container) (any, error) {
	if c == (calendar.Container{Kind: c.Kind, Litres: c.Litres}) {
		return nil, nil
	}
	return asJSON(c)
}

// logged is an entry and whose it is.
type logged struct {
	tree string
	calendar.Entry
}

func entry(row scanner) (e logged, err error) {
	var stage, strength sql.NullString
	err = row.Scan(&e.tree, dayOf{&e.On}, &e.Did, &e.Saw, &e.NotYet, &stage, &strength, &e.FieldSoilLeft, &e.Note, &e.Moved)
	if stage.Valid {
		e.Judged = &calendar.Judgement{Stage: calendar.Stage(stage.String), Strength: calendar.Strength(strength.String)}
	}
	return e, err
}

// PutTree implements [calendar.Store].
func (s *Store) PutTree(ctx context.Context, k calendar.Kept) error {
	return s.write(ctx, fmt.Sprintf("put tree %q of %q", k.ID, k.Grower), func(t tx) error {
		if err := named(k.ID); err != nil {
			return err
		}
		for _, v := range []*float64{k.FieldSoil, &k.Container.Litres, &k.Container.Length, &k.Container.Width, &k.Container.Depth} {
			if err := finite(v); err != nil {
				return err
			}
		}
		pot, err := potOf(k.Container)
		if err != nil {
			return err
		}
		if _, err := t.exec(`insert into trees (grower, id, ordinal, place, name, species, origin, field_soil, container, litres, note, bench, pot)
			values ($1, $2, (select coalesce(max(ordinal), 0) + 1 from trees where grower = $1), $3, $4, $5, $6, $7, $8, $9, $10, $11, $12)
			on conflict (grower, id) do update set place = excluded.place, name = excluded.name, species = excluded.species,
			origin = excluded.origin, field_soil = excluded.field_soil, container = excluded.container,
			litres = excluded.litres, note = excluded.note, bench = excluded.bench, pot = excluded.pot`,
			k.Grower, k.ID, k.Place, k.Name, k.Species, string(k.Origin), k.FieldSoil, k.Container.Kind, k.Container.Litres, k.Note, k.Bench, pot); err != nil {
			return err
		}
		for i, e := range k.Log {
			if err := t.addEntry(k.Grower, k.ID, e); err != nil {
				return fmt.Errorf("log entry %d: %w", i+1, err)
			}
		}
		return t.changed(growerOwner(k.Grower))
	})
}

// AddEntry implements [calendar.Store].
func (s *Store) AddEntry(ctx context.Context, grower, tree string, e calendar.Entry) error {
	return s.write(ctx, fmt.Sprintf("add to the log of %q of %q", tree, grower), func(t tx) error {
		if err := t.enter(grower, tree, e); err != nil {
			return err
		}
		return t.changed(growerOwner(grower))
	})
}

// addEntry adds e to a log that does not hold its like yet.
func (t tx) addEntry(grower, tree string, e calendar.Entry) error {
	on, err := day(e.On)
	if err != nil {
		return err
	}
	if err := finite(e.FieldSoilLeft); err != nil {
		return err
	}
	var stage, strength any
	if e.Judged != nil {
		stage, strength = string(e.Judged.Stage), string(e.Judged.Strength)
	}
	digest, err := digestOf(e)
	if err != nil {
		return err
	}
	_, err = t.exec(`insert into log (grower, tree, ordinal, digest, day, did, saw, not_yet, stage, strength, field_soil_left, note, moved)
		values ($1, $2, (select coalesce(max(ordinal), 0) + 1 from log where grower = $1 and tree = $2),
		$3, $4, $5, $6, $7, $8, $9, $10, $11, $12)
		on conflict (grower, tree, digest) do nothing`,
		grower, tree, digest, on, e.Did, string(e.Saw), string(e.NotYet), stage, strength, e.FieldSoilLeft, e.Note, e.Moved)
	return err
}

// digestOf tells an entry from all others of its log.
func digestOf(e calendar.Entry) (string, error) {
	text, err := asJSON(e)
	if err != nil {
		return "", err
	}
	digest := sha256.Sum256([]byte(text))
	return hex.EncodeToString(digest[:]), nil
}

// finite reports a number that is none.
func finite(v *float64) error {
	if v != nil && (math.IsNaN(*v) || math.IsInf(*v, 0)) {
		return fmt.Errorf("%v: want a number: %w", *v, calendar.ErrInvalid)
	}
	return nil
}
