package store

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"time"
)

// DeleteGrower implements [calendar.Store]. Every table with a column named
// grower is cleared of them, and before that all that refers to such a row by way
// of tables without that column, so that no table that is added later is forgotten.
func (s *Store) DeleteGrower(ctx context.Context, id string, at time.Time) error {
	err := s.write(ctx, fmt.Sprintf("delete grower %q", id), func(t tx) error {
		if err := named(id); err != nil {
			return err
		}
		// What refers to what is checked when all is gone.
		if _, err := t.exec(t.engine.checkLate); err != nil {
			return err
		}
		if _, err := t.exec("insert into leaving (grower) values ($1)", id); err != nil {
			return err
		}
		for _, q := range []string{
			"delete from weather where site in (select site from places where grower = $1)",
			"delete from sites where id in (select site from places where grower = $1)",
		} {
			if _, err := t.exec(q, id); err != nil {
				return err
			}
		}
		if _, err := t.exec(`insert into withdrawn (token_hash, since) select token_hash, $2 from feeds where grower = $1
			on conflict (token_hash) do nothing`, id, instant(at)); err != nil {
			return err
		}
		if err := t.leaveClubs(id); err != nil {
			return err
		}
		if err := t.deleteRows(id); err != nil {
			return err
		}
		if err := one(t.exec("delete from growers where id = $1", id)); err != nil {
			return err
		}
		if _, err := t.exec("delete from leaving where grower = $1", id); err != nil {
			return err
		}
		return t.orphans()
	})
	if err != nil || s.engine.overwrite == "" {
		return err
	}
	_, err = s.writer.ExecContext(ctx, s.engine.overwrite)
	return err
}

// deleteRows deletes a grower's rows from all tables. A row that it does not find,
// by a second reference of its table, is one by which the transaction fails.
func (t tx) deleteRows(grower string) error {
	tables, err := t.tables()
	if err != nil {
		return err
	}
	references, err := t.references()
	if err != nil {
		return err
	}
	of := map[string]string{} // the condition by which a row is the grower's
	for i := range tables {
		if b := &tables[i]; b.has("grower") && b.name != "leaving" {
			of[b.name] = "grower = $1"
		}
	}
	var owned []string // those whose rows are told by another table's come before it
	for i := range tables {
		if of[tables[i].name] != "" {
			owned = append(owned, tables[i].name)
		}
	}
	for i := 0; i < len(owned); i++ {
		for _, r := range references {
			if r.to != owned[i] || of[r.table] != "" {
				continue
			}
			of[r.table] = fmt.Sprintf("(%s) in (select %s from %s where %s)",
				strings.Join(r.columns, ", "), strings.Join(r.keys, ", "), quoted(r.to), of[r.to])
			owned = append(owned, r.table)
		}
	}
	for _, name := range slices.Backward(owned) {
		if _, err := t.exec("delete from "+quoted(name)+" where "+of[name], grower); err != nil {
			return fmt.Errorf("%s: %w", name, err)
		}
	}
	return nil
}

// orphans deletes what is kept under a name made from a grower's, and not under
// a reference to the grower. A region of the same name keeps its revisions.
func (t tx) orphans() error {
	for _, q := range []string{
		"delete from changes where owner like 'grower %' and substr(owner, 8) not in (select id from growers)",
		"delete from revisions where owner not in (select id from growers union select id from regions)",
		`delete from jobs where job like 'morning %' and not exists (
			select 1 from places p where jobs.job = 'morning ' || p.grower || '/' || p.id)`,
	} {
		if _, err := t.exec(q); err != nil {
			return err
		}
	}
	return nil
}

// Sweep implements [calendar.Store].
func (s *Store) Sweep(ctx context.Context, now, left time.Time) error {
	return s.write(ctx, "sweep", func(t tx) error {
		for _, c := range []struct {
			query string
			at    time.Time
		}{
			{"delete from sessions where expires <= $1", now},
			{"delete from tickets where expires <= $1", now},
			{"delete from withdrawn where since <= $1", left},
		} {
			if _, err := t.exec(c.query, instant(c.at)); err != nil {
				return err
			}
		}
		return t.orphans()
	})
}
