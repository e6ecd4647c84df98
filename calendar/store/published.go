package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"strings"

	"budswell/calendar"
)

// Edition implements [calendar.Store].
func (s *Store) Edition(ctx context.Context, owner string) (e calendar.Edition, err error) {
	err = s.read(ctx, fmt.Sprintf("edition of %q", owner), func(t tx) (err error) {
		if e, err = t.edition(owner); err != nil {
			return err
		}
		if e.Shown, err = all(t, shown, "select uid, state, digest, sequence, modified, changed, gone from shown where owner = $1 order by uid", owner); err != nil {
			return err
		}
		e.Bodies, err = all(t, body, "select name, tag, modified, plain, packed from bodies where owner = $1 order by name", owner)
		return err
	})
	return e, err
}

// EditionBody implements [calendar.Store].
func (s *Store) EditionBody(ctx context.Context, owner, name string) (e calendar.Edition, err error) {
	err = s.read(ctx, fmt.Sprintf("%q in the edition of %q", name, owner), func(t tx) (err error) {
		if e, err = t.edition(owner); err != nil {
			return err
		}
		e.Bodies, err = all(t, body, "select name, tag, modified, plain, packed from bodies where owner = $1 and name = $2", owner, name)
		return err
	})
	return e, err
}

func (t tx) edition(owner string) (e calendar.Edition, err error) {
	row := t.QueryRowContext(t.ctx, "select number, changes, made_by, day, starts, ends from editions where owner = $1", owner)
	return e, row.Scan(&e.Number, &e.Changes, &e.By, dayOf{&e.Day}, timeOf{&e.Starts}, timeOf{&e.Ends})
}

func shown(row scanner) (v calendar.Shown, err error) {
	return v, row.Scan(&v.UID, &v.State, &v.Digest, &v.Sequence, timeOf{&v.Modified}, &v.Changed, &v.Gone)
}

func body(row scanner) (b calendar.Body, err error) {
	return b, row.Scan(&b.Name, &b.Tag, timeOf{&b.Modified}, &b.Plain, &b.Packed)
}

// PutEdition implements [calendar.Store].
func (s *Store) PutEdition(ctx context.Context, owner string, e calendar.Edition, after int64) error {
	return s.write(ctx, fmt.Sprintf("publish for %q", owner), func(t tx) error {
		if owner == "" || e.Number < 1 || e.Number < after {
			return fmt.Errorf("edition %d after %d: want an owner and a number that rises: %w", e.Number, after, calendar.ErrInvalid)
		}
		on, err := day(e.Day)
		if err != nil {
			return err
		}
		var kept int64
		err = t.QueryRowContext(ctx, "select number from editions where owner = $1", owner).Scan(&kept)
		if err != nil && !errors.Is(err, sql.ErrNoRows) {
			return err
		}
		if kept != after {
			return fmt.Errorf("edition %d is there, not %d: %w", kept, after, calendar.ErrConflict)
		}
		// Whose it is, so that it goes with a grower who leaves.
		grower, ofGrower := strings.CutPrefix(owner, growerOwner(""))
		if _, err := t.exec(`insert into editions (owner, grower, number, changes, made_by, day, starts, ends) values ($1, $2, $3, $4, $5, $6, $7, $8)
			on conflict (owner) do update set number = excluded.number, changes = excluded.changes, made_by = excluded.made_by,
			day = excluded.day, starts = excluded.starts, ends = excluded.ends`,
			owner, sql.NullString{String: grower, Valid: ofGrower}, e.Number, e.Changes, e.By, on, instant(e.Starts), instant(e.Ends)); err != nil {
			return err
		}
		if err := t.putShown(owner, e); err != nil {
			return err
		}
		return t.putBodies(owner, e.Bodies)
	})
}

// putShown adds or replaces what changed in an edition.
func (t tx) putShown(owner string, e calendar.Edition) error {
	return t.repeat(`insert into shown (owner, uid, state, digest, sequence, modified, changed, gone) values ($1, $2, $3, $4, $5, $6, $7, $8)
		on conflict (owner, uid) do update set state = excluded.state, digest = excluded.digest, sequence = excluded.sequence,
		modified = excluded.modified, changed = excluded.changed, gone = excluded.gone`, func(put func(args ...any) error) error {
		for _, v := range e.Shown {
			if v.Changed != e.Number {
				continue
			}
			if err := put(owner, v.UID, v.State, v.Digest, v.Sequence, instant(v.Modified), v.Changed, v.Gone); err != nil {
				return err
			}
		}
		return nil
	})
}

// putBodies replaces an owner's bodies; those that are the same are not written.
func (t tx) putBodies(owner string, bodies []calendar.Body) error {
	have, err := all(t, subject, "select name from bodies where owner = $1", owner)
	if err != nil {
		return err
	}
	unnamed := make(map[string]bool, len(have))
	for _, name := range have {
		unnamed[name] = true
	}
	for _, b := range bodies {
		delete(unnamed, b.Name)
		if _, err := t.exec(`insert into bodies (owner, name, tag, modified, plain, packed) values ($1, $2, $3, $4, $5, $6)
			on conflict (owner, name) do update set tag = excluded.tag, modified = excluded.modified, plain = excluded.plain, packed = excluded.packed
			where bodies.tag <> excluded.tag or bodies.modified <> excluded.modified`,
			owner, b.Name, b.Tag, instant(b.Modified), append([]byte{}, b.Plain...), append([]byte{}, b.Packed...)); err != nil {
			return err
		}
	}
	for name := range unnamed {
		if _, err := t.exec("delete from bodies where owner = $1 and name = $2", owner, name); err != nil {
			return err
		}
	}
	return nil
}
