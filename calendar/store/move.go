package store

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"hash"
	"math"
	"os"
	"slices"
	"strings"
)

// Move copies all that a database holds into another, which must be empty, from
// SQLite to PostgreSQL or back: all of one moment, or nothing. It is done only
// where what arrived is the same, by a digest that does not depend on the engine.
// What is copied from stays as it is, but for its schema, which is brought up to date.
func Move(ctx context.Context, from, to string) (c Copied, err error) {
	if path, ok := strings.CutPrefix(from, "sqlite:"); ok {
		if _, err := os.Stat(path); err != nil {
			return c, fmt.Errorf("database: %w", err)
		}
	}
	source, err := Open(ctx, from)
	if err != nil {
		return c, err
	}
	defer func() { err = errors.Join(err, source.Close()) }()
	target, err := Open(ctx, to)
	if err != nil {
		return c, err
	}
	defer func() { err = errors.Join(err, target.Close()) }()
	err = source.read(ctx, "read the database", func(src tx) error {
		return target.write(ctx, "write the other database", func(dst tx) error {
			c, err = move(src, dst)
			return err
		})
	})
	return c, err
}

// move copies within a transaction of each database.
func move(src, dst tx) (c Copied, err error) {
	tables, err := src.tables()
	if err != nil {
		return c, err
	}
	there, err := dst.tables()
	if err != nil {
		return c, err
	}
	if err := sameTables(tables, there); err != nil {
		return c, err
	}
	for _, b := range tables {
		var full bool
		if err := dst.QueryRowContext(dst.ctx, "select exists (select 1 from "+quoted(b.name)+")").Scan(&full); err != nil {
			return c, err
		}
		if full {
			return c, fmt.Errorf("it is not empty: there are rows in %s; want a new database", b.name)
		}
	}
	if _, err := dst.exec(dst.engine.checkLate); err != nil {
		return c, err
	}
	h := sha256.New()
	for i := range tables {
		b := batch{tx: dst, table: &tables[i]}
		n, err := src.eachRow(h, &tables[i], b.add)
		if err == nil {
			err = b.flush()
		}
		if err != nil {
			return c, fmt.Errorf("%s: %w", tables[i].name, err)
		}
		c.Rows += n
	}
	c.Digest = hex.EncodeToString(h.Sum(nil))
	if err := dst.countOn(); err != nil {
		return c, err
	}
	arrived := sha256.New()
	for i := range there {
		if _, err := dst.eachRow(arrived, &there[i], nil); err != nil {
			return c, fmt.Errorf("%s: %w", there[i].name, err)
		}
	}
	if got := hex.EncodeToString(arrived.Sum(nil)); got != c.Digest {
		return c, fmt.Errorf("what arrived is not what was copied (%s, not %s): nothing was written", got, c.Digest)
	}
	return c, nil
}

func sameTables(a, b []table) error {
	if !slices.EqualFunc(a, b, func(a, b table) bool {
		return a.name == b.name && slices.Equal(a.columns, b.columns) && slices.Equal(a.key, b.key)
	}) {
		return errors.New("the two do not have the same tables: one holds what this version knows nothing of")
	}
	return nil
}

// eachRow adds every value of a table to a digest, in the order of its primary
// key, and hands each row to do, which may be nil. It returns the number of rows.
func (t tx) eachRow(h hash.Hash, b *table, do func(values []any) error) (n int, err error) {
	if len(b.key) == 0 {
		return 0, errors.New("it has no primary key: its rows have no order")
	}
	rows, err := t.QueryContext(t.ctx, "select "+list(b.columns)+" from "+quoted(b.name)+" order by "+list(b.key))
	if err != nil {
		return 0, err
	}
	defer rows.Close()
	types, err := rows.ColumnTypes()
	if err != nil {
		return 0, err
	}
	fmt.Fprintf(h, "table %q %q\n", b.name, b.columns)
	for ; rows.Next(); n++ {
		values, dest := make([]any, len(types)), make([]any, len(types))
		for i := range values {
			dest[i] = &values[i]
		}
		if err := rows.Scan(dest...); err != nil {
			return n, err
		}
		for i, v := range values {
			v = plain(v, types[i].DatabaseTypeName())
			text, err := canonical(v)
			if err != nil {
				return n, fmt.Errorf("%s: %w", b.columns[i], err)
			}
			fmt.Fprintf(h, "%d %s\n", len(text), text)
			values[i] = v
		}
		if do == nil {
			continue
		}
		if err := do(values); err != nil {
			return n, err
		}
	}
	return n, rows.Err()
}

// plain returns a value as both engines take it.
func plain(v any, kind string) any {
	switch v := v.(type) {
	case int64:
		if strings.HasPrefix(kind, "BOOL") {
			return v != 0 // as SQLite keeps it
		}
	case []byte:
		if v == nil {
			return []byte{} // empty, and not null
		}
	}
	return v
}

// canonical writes a value so that equal values of either engine, and no others,
// are the same.
func canonical(v any) (string, error) {
	switch v := v.(type) {
	case nil:
		return "null", nil
	case bool:
		return fmt.Sprint("bool ", v), nil
	case int64:
		return fmt.Sprint("int ", v), nil
	case float64:
		return fmt.Sprintf("float %016x", math.Float64bits(v)), nil
	case string:
		return "text " + v, storable(v)
	case []byte:
		return "bytes " + string(v), nil
	}
	return "", fmt.Errorf("a %T: want what a column of ours may hold", v)
}

// batch inserts rows many at a time.
type batch struct {
	tx
	table  *table
	values []any
	size   int // bytes of text
}

// Rows wait until so many values, or bytes, are together.
const (
	batchValues = 2000
	batchBytes  = 4 << 20
)

func (b *batch) add(row []any) error {
	b.values = append(b.values, row...)
	for _, v := range row {
		switch v := v.(type) {
		case string:
			b.size += len(v)
		case []byte:
			b.size += len(v)
		}
	}
	if len(b.values) < batchValues && b.size < batchBytes {
		return nil
	}
	return b.flush()
}

func (b *batch) flush() error {
	if len(b.values) == 0 {
		return nil
	}
	var q strings.Builder
	q.WriteString("insert into " + quoted(b.table.name) + " (" + list(b.table.columns) + ") values ")
	for i := range b.values {
		switch {
		case i == 0:
			q.WriteString("(")
		case i%len(b.table.columns) == 0:
			q.WriteString("), (")
		default:
			q.WriteString(", ")
		}
		fmt.Fprintf(&q, "$%d", i+1)
	}
	q.WriteString(")")
	_, err := b.exec(q.String(), b.values...)
	b.values, b.size = b.values[:0], 0
	return err
}

// countOn lets tables that number their rows go on after those that were copied.
func (t tx) countOn() error {
	if t.engine.counters == "" {
		return nil // SQLite does so by itself
	}
	type counter struct{ table, column string }
	counters, err := all(t, func(row scanner) (c counter, err error) { return c, row.Scan(&c.table, &c.column) }, t.engine.counters)
	if err != nil {
		return err
	}
	for _, c := range counters {
		if _, err := t.exec(fmt.Sprintf("select setval(pg_get_serial_sequence($1, $2), coalesce(max(%s), 0) + 1, false) from %s", quoted(c.column), quoted(c.table)),
			quoted(c.table), c.column); err != nil {
			return err
		}
	}
	return nil
}
