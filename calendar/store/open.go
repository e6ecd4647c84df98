package store

import (
	"context"
	"database/sql"
	"embed"
	"errors"
	"fmt"
	"io/fs"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"time"

	"github.com/pressly/goose/v3"
)

//go:embed migrations/*/*.sql
var migrations embed.FS

const (
	// applicationID marks a SQLite file as ours ("buds"); see the first migration.
	applicationID = 0x62756473

	readers = 4

	// busy is how long to wait for another program, such as a backup, to let
	// go of the file.
	busy = 5 * time.Second
)

// Path returns the file of a database; false where it has none.
func Path(dsn string) (string, bool) {
	path, ok := strings.CutPrefix(dsn, "sqlite:")
	return path, ok && path != "" && path != ":memory:"
}

// Open opens the database that dsn names and brings its schema up to date:
//
//	sqlite:PATH      a file, made with permissions 0600 if it is not there
//	sqlite::memory:  a database that is gone when it is closed
//	postgres:URL     a database of a PostgreSQL server, such as
//	                 postgres://user@host/name; its tables are in the first schema
//	                 of the search path, which other instances may use at once
//
// A file that is damaged, belongs to another program, or was written by a later
// version is refused and left as it was.
func Open(ctx context.Context, dsn string) (*Store, error) {
	if address, ok := postgresAddress(dsn); ok {
		return openPostgres(ctx, address)
	}
	path, ok := strings.CutPrefix(dsn, "sqlite:")
	if !ok || path == "" {
		return nil, errDSN(dsn)
	}
	s, err := open(ctx, path, busy)
	if err != nil {
		return nil, fmt.Errorf("database %s: %w", path, err)
	}
	return s, nil
}

func open(ctx context.Context, path string, busy time.Duration) (*Store, error) {
	s := &Store{engine: onSQLite}
	if path == ":memory:" {
		// One connection is the database, so it serves both and is never let go.
		db, err := connect(path, url.Values{"_txlock": {"immediate"}}, busy, 1)
		if err != nil {
			return nil, err
		}
		s.reader, s.writer = db, db
	} else {
		name, err := create(path)
		if err != nil {
			return nil, err
		}
		if s.writer, err = connect(name, url.Values{
			"_txlock": {"immediate"},
			"_pragma": {"journal_mode(wal)", "synchronous(full)", "secure_delete(1)"},
		}, busy, 1); err != nil {
			return nil, err
		}
		if s.reader, err = connect(name, url.Values{"_pragma": {"query_only(1)"}}, busy, readers); err != nil {
			return nil, errors.Join(err, s.writer.Close())
		}
	}
	err := s.check(ctx)
	if err == nil {
		err = s.migrate(ctx)
	}
	if err != nil {
		return nil, errors.Join(told(err), s.Close())
	}
	return s, nil
}

// create makes the file, where it is not there, so that only its owner can read
// it (SQLite gives its side files the same permissions), and returns the name
// by which SQLite opens it whatever characters it holds.
func create(path string) (string, error) {
	f, err := os.OpenFile(path, os.O_RDWR|os.O_CREATE, 0o600)
	if err != nil {
		return "", errors.Unwrap(err) // the caller names the path
	}
	if err := f.Close(); err != nil {
		return "", err
	}
	return address(path)
}

// address returns the name by which SQLite opens a file.
func address(path string) (string, error) {
	abs, err := filepath.Abs(path)
	if err != nil {
		return "", err
	}
	return (&url.URL{Scheme: "file", Path: filepath.ToSlash(abs)}).String(), nil
}

func connect(name string, q url.Values, busy time.Duration, conns int) (*sql.DB, error) {
	q["_pragma"] = append([]string{fmt.Sprintf("busy_timeout(%d)", busy.Milliseconds()), "foreign_keys(1)"}, q["_pragma"]...)
	db, err := sql.Open("sqlite", name+"?"+q.Encode())
	if err != nil {
		return nil, err
	}
	db.SetMaxOpenConns(conns)
	db.SetMaxIdleConns(conns)
	return db, nil
}

// check reports a file that is not one of ours or is damaged. It only reads: the
// writer's first use would make the file's journal ours.
func (s *Store) check(ctx context.Context) error { return checkOn(ctx, s.reader) }

// queryer is what a database and one of its connections have in common.
type queryer interface {
	QueryRowContext(ctx context.Context, query string, args ...any) *sql.Row
}

func checkOn(ctx context.Context, q queryer) error {
	var id, tables int
	row := q.QueryRowContext(ctx, "select (select application_id from pragma_application_id), (select count(*) from sqlite_schema)")
	if err := row.Scan(&id, &tables); err != nil {
		return err
	}
	if tables > 0 && id != applicationID {
		return errors.New("this file belongs to another program: name a file of its own")
	}
	var verdict string
	if err := q.QueryRowContext(ctx, "pragma quick_check(1)").Scan(&verdict); err != nil {
		return err
	}
	if verdict != "ok" {
		return fmt.Errorf("the database is damaged, restore a backup: %s", verdict)
	}
	return nil
}

// migrate brings the schema up to date.
func (s *Store) migrate(ctx context.Context, more ...goose.ProviderOption) error {
	sources, err := fs.Sub(migrations, "migrations/"+s.engine.name)
	if err != nil {
		return err
	}
	p, err := goose.NewProvider(s.engine.dialect, s.writer, sources,
		append(more, goose.WithLogger(goose.NopLogger()), goose.WithAllowOutofOrder(true))...)
	if err != nil {
		return err
	}
	have, want, err := p.GetVersions(ctx)
	if err != nil {
		return err
	}
	s.schema = want
	if have > want {
		return fmt.Errorf("written by a later version (schema %d; this version knows %d): use that version, or restore a backup made before it", have, want)
	}
	if _, err := p.Up(ctx); err != nil {
		return fmt.Errorf("bring the schema from %d to %d: %w", have, want, err)
	}
	return nil
}
