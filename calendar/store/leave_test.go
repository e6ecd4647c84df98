package store

import (
	"context"
	"fmt"
	"io/fs"
	"net/url"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"budswell/calendar/store/storetest"

	"github.com/pressly/goose/v3"
)

// mentions returns where the text stands in any column of any table.
func mentions(t *testing.T, s *Store, text string) (out []string, rows int) {
	t.Helper()
	err := s.read(t.Context(), "look", func(x tx) error {
		tables, err := all(x, func(row scanner) (n string, err error) { return n, row.Scan(&n) },
			"select name from sqlite_schema where type = 'table' and name not like 'sqlite_%'")
		if err != nil {
			return err
		}
		for _, table := range tables {
			r, err := x.QueryContext(t.Context(), "select * from "+table)
			if err != nil {
				return err
			}
			defer r.Close()
			columns, err := r.Columns()
			if err != nil {
				return err
			}
			for r.Next() {
				rows++
				values, dest := make([]any, len(columns)), make([]any, len(columns))
				for i := range values {
					dest[i] = &values[i]
				}
				if err := r.Scan(dest...); err != nil {
					return err
				}
				for i, v := range values {
					if b, ok := v.([]byte); ok {
						v = string(b)
					}
					if strings.Contains(fmt.Sprint(v), text) {
						out = append(out, fmt.Sprintf("%s.%s: %v", table, columns[i], v))
					}
				}
			}
			if err := r.Err(); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return out, rows
}

// TestNothingOfAGrowerIsLeft looks into every table, also those that this test
// does not know.
func TestNothingOfAGrowerIsLeft(t *testing.T) {
	s := fresh(t, "sqlite:"+filepath.Join(t.TempDir(), "b.db"))
	storetest.Settle(t, s, "bea")
	_, before := mentions(t, s, "bea")
	storetest.Settle(t, s, "leavemark")
	// As a later migration may: rows that know the grower by other rows only.
	for _, q := range []string{
		"create table chains (id integer primary key, grower text not null references growers (id))",
		"create table rings (id integer primary key, chain integer not null references chains (id), note text)",
		"create table gems (ring integer not null references rings (id), note text)",
		"insert into chains values (1, 'leavemark'), (2, 'bea')",
		"insert into rings values (1, 1, 'ring of leavemark'), (2, 2, 'x')",
		"insert into gems values (1, 'gem of leavemark'), (1, 'another'), (2, 'x')",
	} {
		if _, err := s.writer.ExecContext(t.Context(), q); err != nil {
			t.Fatal(err)
		}
	}
	found, _ := mentions(t, s, "leavemark")
	if len(found) < 10 {
		t.Fatalf("the search finds too little: %q", found)
	}
	if err := s.DeleteGrower(t.Context(), "leavemark", time.Date(2027, 1, 1, 0, 0, 0, 0, time.UTC)); err != nil {
		t.Fatal(err)
	}
	found, after := mentions(t, s, "leavemark")
	// A feed's link is remembered by its hash, which here, and only here, is readable.
	if len(found) != 1 || found[0] != "withdrawn.token_hash: token of leavemark" {
		t.Errorf("left behind: %q", found)
	}
	if after != before+1+3 {
		t.Errorf("%d rows, want the %d from before, three of the chain that stays, and one in withdrawn", after, before)
	}
}

// TestLogsStayLocked: only within the deletion of a grower may a log be
// shortened, and only theirs.
func TestLogsStayLocked(t *testing.T) {
	ctx := context.Background()
	s := fresh(t, "sqlite::memory:")
	storetest.Settle(t, s, "ada")
	storetest.Settle(t, s, "bea")
	for _, q := range []string{
		"delete from log where grower = 'ada'",
		"update log set note = 'x' where grower = 'ada'",
		"delete from rules where grower = 'ada'",
		"update rules set text = 'x' where grower = 'ada'",
		"update rules set who = '', withdrawn = true where grower = 'ada'",
	} {
		if _, err := s.writer.ExecContext(ctx, q); err == nil || !strings.Contains(err.Error(), "only ever added to") {
			t.Errorf("%s: %v", q, err)
		}
	}
	err := s.write(ctx, "try", func(x tx) error {
		if _, err := x.exec("insert into leaving (grower) values ('ada')"); err != nil {
			return err
		}
		_, err := x.exec("delete from log where grower = 'bea'")
		return err
	})
	if err == nil || !strings.Contains(err.Error(), "only ever added to") {
		t.Errorf("another's log: %v", err)
	}
	if err := s.DeleteGrower(ctx, "ada", time.Now()); err != nil {
		t.Fatal(err)
	}
	if found, _ := mentions(t, s, "ada@"); len(found) > 0 {
		t.Errorf("left: %q", found)
	}
}

// TestUpgradeFromTheFirstSchema: what was entered before there were accounts is
// kept, and its log is locked as before.
func TestLeavingAfterAnUpgrade(t *testing.T) {
	ctx := context.Background()
	path := filepath.Join(t.TempDir(), "b.db")
	name, err := create(path)
	if err != nil {
		t.Fatal(err)
	}
	db, err := connect(name, url.Values{}, busy, 1)
	if err != nil {
		t.Fatal(err)
	}
	sources, err := fs.Sub(migrations, "migrations/sqlite")
	if err != nil {
		t.Fatal(err)
	}
	p, err := goose.NewProvider(goose.DialectSQLite3, db, sources, goose.WithLogger(goose.NopLogger()))
	if err != nil {
		t.Fatal(err)
	}
	if _, err := p.UpTo(ctx, 1); err != nil {
		t.Fatal(err)
	}
	for _, q := range []string{
		"insert into growers values ('ada', 'Ada', '', null)",
		"insert into sites (id, name, lat, lon, elevation, zone, seed) values (1, 'bench', 50, 8, 100, 'Europe/Berlin', 0)",
		"insert into places values ('ada', 'p', 1)",
		"insert into trees values ('ada', 't', 1, 'p', 'tree', 'Acer campestre', 'nursery', null, '', 0, '')",
		"insert into log values ('ada', 't', 1, 'd', '2026-04-01', 'repot', '', '', null, null, null, '')",
	} {
		if _, err := db.ExecContext(ctx, q); err != nil {
			t.Fatal(err)
		}
	}
	if err := db.Close(); err != nil {
		t.Fatal(err)
	}
	// A backup before the upgrade leaves the database as it is.
	if _, err := Backup(ctx, "sqlite:"+path, path+".backup"); err != nil {
		t.Fatal(err)
	}
	s := fresh(t, "sqlite:"+path)
	trees, err := s.Trees(ctx, "ada")
	if err != nil || len(trees) != 1 || len(trees[0].Log) != 1 {
		t.Errorf("trees %+v, %v", trees, err)
	}
	if _, err := s.writer.ExecContext(ctx, "delete from log"); err == nil {
		t.Error("the log is not locked any more")
	}
	if err := s.DeleteGrower(ctx, "ada", evening); err != nil {
		t.Error(err)
	}
	// The old backup is brought up to date when it is restored.
	if _, _, err := Restore(ctx, path+".backup", "sqlite:"+path+".again", false, evening); err != nil {
		t.Fatal(err)
	}
	if err := fresh(t, "sqlite:"+path+".again").Ready(ctx); err != nil {
		t.Error(err)
	}
}
