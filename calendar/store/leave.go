package store

import (
	"context"
	"fmt"
	"time"
)

// DeleteGrower implements [calendar.Store]. Every table with a column named
// grower is cleared of them, and then all rows that refer to what is gone are, so
// that no table that is added later is forgotten.
func (s *Store) DeleteGrower(ctx context.Context, id string, at time.Time) error {
	err := s.write(ctx, fmt.Sprintf("delete grower %q", id), func(t tx) error {
		if err := named(id); err != nil {
			return err
		}
		// What refers to what is checked when all is gone.
		if _, err := t.exec("pragma defer_foreign_keys = on"); err != nil {
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
		tables, err := t.tablesOfGrowers()
		if err != nil {
			return err
		}
		for _, table := range tables {
			if _, err := t.exec("delete from "+table+" where grower = $1", id); err != nil {
				return fmt.Errorf("%s: %w", table, err)
			}
		}
		if err := one(t.exec("delete from growers where id = $1", id)); err != nil {
			return err
		}
		if err := t.deleteStrays(); err != nil {
			return err
		}
		if _, err := t.exec("delete from leaving where grower = $1", id); err != nil {
			return err
		}
		return t.orphans()
	})
	if err != nil {
		return err
	}
	// What was deleted is overwritten in the file with the next checkpoint. Where
	// somebody reads just now, that is later.
	_, err = s.writer.ExecContext(ctx, "pragma wal_checkpoint(truncate)")
	return err
}

// tablesOfGrowers returns the names of tables whose rows belong to growers.
func (t tx) tablesOfGrowers() ([]string, error) {
	return all(t, func(row scanner) (name string, err error) { return name, row.Scan(&name) },
		`select m.name from sqlite_schema m where m.type = 'table' and m.name <> 'leaving' and exists (
			select 1 from pragma_table_info(m.name) c where c.name = 'grower') order by m.name`)
}

// deleteStrays deletes rows that refer to rows that are gone, and those that
// refer to them.
func (t tx) deleteStrays() error {
	type stray struct {
		table string
		row   int64
	}
	for {
		found, err := all(t, func(row scanner) (v stray, err error) {
			var parent string
			var key int
			return v, row.Scan(&v.table, &v.row, &parent, &key)
		}, "pragma foreign_key_check")
		if err != nil || len(found) == 0 {
			return err
		}
		for _, v := range found {
			if _, err := t.exec("delete from "+v.table+" where rowid = $1", v.row); err != nil {
				return fmt.Errorf("%s: %w", v.table, err)
			}
		}
	}
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
