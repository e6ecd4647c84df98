// Package store keeps what growers entered in a SQLite file or on a PostgreSQL
// server, by way of database/sql. [Open] is the way in; the package's one type is
// a [calendar.Store].
//
// The same SQL, with its parameters written $1, serves both; what differs is in
// the migrations and in the type engine. Times are kept as text in
// UTC, always with nine digits of the second, which is RFC 3339 and sorts as
// time does; days are kept as YYYY-MM-DD. Both read the same in either engine
// and in a backup opened by hand.
//
// In SQLite, reading goes through a few connections that cannot write, and writing
// through a single one, so that writers queue in the program and not on the file's
// lock. On PostgreSQL a writing transaction is serialisable, and is run again where
// it met another: what it does to variables outside it must bear that. Either way
// writers see each other's work as if one came after the other, and each commit
// reaches the disk before it returns.
//
// Weather is kept as one packed value for each calendar year of a site rather
// than one row for each day: nothing asks the database for single days, a year
// is rewritten only when something in it changed, and 38 years are written some
// fifteen times faster (see BenchmarkPutPlace).
package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"strings"
	"unicode/utf8"

	"budswell/calendar"

	"github.com/jackc/pgx/v5/pgconn"
	"modernc.org/sqlite"
	sqlite3 "modernc.org/sqlite/lib"
)

// Store is an open database. It is safe for concurrent use.
type Store struct {
	reader, writer *sql.DB
	engine         *engine
	schema         int64 // number of the newest migration
}

var _ calendar.Store = (*Store)(nil)

// Close closes the database. What was committed is on the disk already.
func (s *Store) Close() error {
	if s.reader == s.writer {
		return s.writer.Close()
	}
	return errors.Join(s.reader.Close(), s.writer.Close())
}

// tx is one transaction with its context.
type tx struct {
	*sql.Tx
	ctx    context.Context
	engine *engine
}

// read runs f in a transaction that only reads, so that all that f reads is of
// one moment; doing names what f does, for errors.
func (s *Store) read(ctx context.Context, doing string, f func(tx) error) error {
	return s.run(ctx, s.reader, doing, s.engine.reads, func(t tx) error {
		err := f(t)
		if e := (*pgconn.PgError)(nil); errors.As(err, &e) && e.Code == notText {
			return calendar.ErrNotFound // what cannot be kept under such a name is not there
		}
		return err
	})
}

// write runs f in a transaction and commits it if f succeeds. It may run f again
// from the beginning.
func (s *Store) write(ctx context.Context, doing string, f func(tx) error) error {
	return s.run(ctx, s.writer, doing, s.engine.writes, f)
}

func (s *Store) run(ctx context.Context, db *sql.DB, doing string, opts *sql.TxOptions, f func(tx) error) error {
	err := s.once(ctx, db, opts, f)
	for try := 1; err != nil && again(err, try); try++ {
		if rest(ctx, try) != nil {
			break
		}
		err = s.once(ctx, db, opts, f)
	}
	if err != nil {
		return fmt.Errorf("%s: %w", doing, told(err))
	}
	return nil
}

func (s *Store) once(ctx context.Context, db *sql.DB, opts *sql.TxOptions, f func(tx) error) error {
	t, err := db.BeginTx(ctx, opts)
	if err != nil {
		return err
	}
	defer t.Rollback() // does nothing after a commit
	if err := f(tx{t, ctx, s.engine}); err != nil {
		return err
	}
	return t.Commit()
}

// exec runs a statement that changes something. Text that a database could not
// give back as it was is refused.
func (t tx) exec(query string, args ...any) (sql.Result, error) {
	if err := allStorable(args); err != nil {
		return nil, err
	}
	return t.ExecContext(t.ctx, query, args...)
}

// repeat gives f what runs a statement as exec does, again and again: the statement is read
// once, which for small rows is half of the work.
func (t tx) repeat(query string, f func(run func(args ...any) error) error) error {
	ready, err := t.PrepareContext(t.ctx, query)
	if err != nil {
		return err
	}
	defer func() { _ = ready.Close() }() // the transaction does it where this fails
	run := ready.ExecContext
	return f(func(args ...any) error {
		if err := allStorable(args); err != nil {
			return err
		}
		_, err := run(t.ctx, args...)
		return err
	})
}

func allStorable(args []any) error {
	for _, a := range args {
		if s, ok := a.(string); ok {
			if err := storable(s); err != nil {
				return err
			}
		}
	}
	return nil
}

// one reports ErrNotFound where a statement found nothing to change.
func one(r sql.Result, err error) error {
	if err != nil {
		return err
	}
	n, err := r.RowsAffected()
	if err == nil && n == 0 {
		return calendar.ErrNotFound
	}
	return err
}

// storable reports text that is not UTF-8 or holds a zero byte, which
// PostgreSQL refuses and JSON alters.
func storable(texts ...string) error {
	for _, s := range texts {
		if !utf8.ValidString(s) || strings.ContainsRune(s, 0) {
			return fmt.Errorf("text %.60q: want UTF-8 without zero bytes: %w", s, calendar.ErrInvalid)
		}
	}
	return nil
}

// scanner is what sql.Row and sql.Rows have in common.
type scanner interface{ Scan(dest ...any) error }

// all reads every row of a query with one.
func all[T any](t tx, one func(scanner) (T, error), query string, args ...any) ([]T, error) {
	rows, err := t.QueryContext(t.ctx, query, args...)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	var out []T
	for rows.Next() {
		v, err := one(rows)
		if err != nil {
			return nil, err
		}
		out = append(out, v)
	}
	return out, rows.Err()
}

// told turns what the database says into the errors that callers act on.
func told(err error) error {
	if errors.Is(err, sql.ErrNoRows) {
		return calendar.ErrNotFound
	}
	var p *pgconn.PgError
	if errors.As(err, &p) {
		return toldPostgres(err, p)
	}
	var e *sqlite.Error
	if !errors.As(err, &e) {
		return err
	}
	switch e.Code() {
	case sqlite3.SQLITE_CONSTRAINT_UNIQUE, sqlite3.SQLITE_CONSTRAINT_PRIMARYKEY:
		return fmt.Errorf("%w: %w", calendar.ErrConflict, err)
	case sqlite3.SQLITE_CONSTRAINT_FOREIGNKEY:
		return fmt.Errorf("the grower, place or tree that it belongs to: %w", calendar.ErrNotFound)
	}
	switch e.Code() & 0xff {
	case sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED:
		return fmt.Errorf("the database is held by another program: %w", err)
	case sqlite3.SQLITE_NOTADB, sqlite3.SQLITE_CORRUPT:
		return fmt.Errorf("the database is damaged, restore a backup: %w", err)
	case sqlite3.SQLITE_FULL:
		return fmt.Errorf("the disk is full: %w", err)
	}
	return err
}
