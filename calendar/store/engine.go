package store

import (
	"database/sql"
	"fmt"
	"strings"

	"github.com/pressly/goose/v3"
)

// engine is what SQLite and PostgreSQL do differently, beside their migrations.
type engine struct {
	name      string
	dialect   goose.Dialect
	reads     *sql.TxOptions // all that is read is of one moment
	writes    *sql.TxOptions // as if one wrote after the other
	claims    *sql.TxOptions // of rows that each are locked
	skip      string         // leaves out rows that others hold
	checkLate string         // has references checked when all is done
	overwrite string         // of what was deleted; empty: done otherwise

	// columns lists table, column, and its place in the primary key, from 1, or 0.
	columns string
	// references lists the columns that refer to another table: the number of the
	// reference, table, column, and table and column referred to.
	references string
	// counters lists the tables that number their rows by themselves.
	counters string
}

var onSQLite = &engine{
	name: "sqlite", dialect: goose.DialectSQLite3,
	reads:     &sql.TxOptions{ReadOnly: true},
	checkLate: "pragma defer_foreign_keys = on",
	// With the next checkpoint. Where somebody reads just now, that is later.
	overwrite: "pragma wal_checkpoint(truncate)",
	columns: `select m.name, c.name, c.pk from sqlite_schema m join pragma_table_info(m.name) c
		where m.type = 'table' and m.name not like 'sqlite!_%' escape '!' and m.name <> 'goose_db_version' order by 1, 2`,
	references: `select m.name || f.id, m.name, f."from", f."table", f."to" from sqlite_schema m
		join pragma_foreign_key_list(m.name) f where m.type = 'table' order by 1, f.seq`,
}

var onPostgres = &engine{
	name: "postgres", dialect: goose.DialectPostgres,
	reads:     &sql.TxOptions{ReadOnly: true, Isolation: sql.LevelRepeatableRead},
	writes:    &sql.TxOptions{Isolation: sql.LevelSerializable},
	claims:    &sql.TxOptions{Isolation: sql.LevelReadCommitted},
	skip:      " for update skip locked",
	checkLate: "set constraints all deferred",
	columns: `select c.relname::text, a.attname::text, coalesce(array_position(i.indkey::int2[], a.attnum) + 1, 0)
		from pg_class c join pg_attribute a on a.attrelid = c.oid left join pg_index i on i.indrelid = c.oid and i.indisprimary
		where c.relnamespace = current_schema()::regnamespace and c.relkind = 'r' and a.attnum > 0 and not a.attisdropped
		and c.relname <> 'goose_db_version' order by c.relname::text collate "C", a.attname::text collate "C"`,
	references: `select k.oid::text, c.relname::text, a.attname::text, p.relname::text, b.attname::text
		from pg_constraint k join pg_class c on c.oid = k.conrelid join pg_class p on p.oid = k.confrelid
		cross join unnest(k.conkey, k.confkey) with ordinality u (child, parent, n)
		join pg_attribute a on a.attrelid = c.oid and a.attnum = u.child join pg_attribute b on b.attrelid = p.oid and b.attnum = u.parent
		where k.contype = 'f' and c.relnamespace = current_schema()::regnamespace order by k.oid, u.n`,
	counters: `select table_name::text, column_name::text from information_schema.columns
		where table_schema = current_schema() and is_identity = 'YES' order by 1`,
}

// table is one of a database's, its columns by name.
type table struct {
	name    string
	columns []string
	key     []string // columns of the primary key, in its order
}

func (b *table) has(column string) bool {
	for _, c := range b.columns {
		if c == column {
			return true
		}
	}
	return false
}

// tables lists the tables by name, without the one that tells the schema.
func (t tx) tables() ([]table, error) {
	type column struct {
		table, name string
		key         int
	}
	columns, err := all(t, func(row scanner) (c column, err error) {
		return c, row.Scan(&c.table, &c.name, &c.key)
	}, t.engine.columns)
	if err != nil {
		return nil, err
	}
	var out []table
	for _, c := range columns {
		if len(out) == 0 || out[len(out)-1].name != c.table {
			out = append(out, table{name: c.table})
		}
		b := &out[len(out)-1]
		b.columns = append(b.columns, c.name)
		if c.key > 0 {
			for len(b.key) < c.key {
				b.key = append(b.key, "")
			}
			b.key[c.key-1] = c.name
		}
	}
	return out, nil
}

// reference is that columns of one table hold the key of another's row.
type reference struct {
	id, table, to string
	columns, keys []string
}

func (t tx) references() ([]reference, error) {
	type column struct{ id, table, column, to, key string }
	columns, err := all(t, func(row scanner) (c column, err error) {
		return c, row.Scan(&c.id, &c.table, &c.column, &c.to, &c.key)
	}, t.engine.references)
	var out []reference
	for _, c := range columns {
		if len(out) == 0 || out[len(out)-1].id != c.id {
			out = append(out, reference{id: c.id, table: c.table, to: c.to})
		}
		r := &out[len(out)-1]
		r.columns, r.keys = append(r.columns, quoted(c.column)), append(r.keys, quoted(c.key))
	}
	return out, err
}

// quoted writes a name of the database's own.
func quoted(name string) string { return `"` + strings.ReplaceAll(name, `"`, `""`) + `"` }

// list writes names with commas between.
func list(names []string) string {
	out := make([]string, len(names))
	for i, n := range names {
		out[i] = quoted(n)
	}
	return strings.Join(out, ", ")
}

func errDSN(dsn string) error {
	return fmt.Errorf("database %q: want sqlite:PATH or postgres:URL", dsn)
}
