package store

import (
	"context"
	"errors"
	"fmt"
	"hash/crc32"
	"net"
	"strconv"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"
	"github.com/jackc/pgx/v5/stdlib"
	"github.com/pressly/goose/v3"
	"github.com/pressly/goose/v3/lock"

	"budswell/calendar"
)

const (
	// connections is how many one instance has at most. A server gives a hundred
	// to all who ask, unless told otherwise.
	connections = 16

	// tries is how often a transaction that met another is run, and longestRest
	// how long it rests before it is run again, at most.
	tries       = 20
	longestRest = 100 * time.Millisecond
)

// notText is the code of a text that is not UTF-8 or holds a zero byte; see storable.
const notText = "22021"

// postgresAddress returns what dsn says of a PostgreSQL server: a URL, or the
// words of libpq (host=... dbname=...) after "postgres:".
func postgresAddress(dsn string) (string, bool) {
	for _, scheme := range []string{"postgres", "postgresql"} {
		if rest, ok := strings.CutPrefix(dsn, scheme+":"); ok && rest != "" {
			if strings.HasPrefix(rest, "//") {
				return dsn, true
			}
			return rest, true
		}
	}
	return "", false
}

func openPostgres(ctx context.Context, address string) (*Store, error) {
	config, err := pgx.ParseConfig(address) // its error hides the password
	if err != nil {
		return nil, fmt.Errorf("database: %w", err)
	}
	name := fmt.Sprintf("database %s of %s", config.Database, net.JoinHostPort(config.Host, strconv.Itoa(int(config.Port))))
	if config.RuntimeParams["application_name"] == "" {
		config.RuntimeParams["application_name"] = "budswell"
	}
	db := stdlib.OpenDB(*config)
	db.SetMaxOpenConns(connections)
	db.SetMaxIdleConns(connections)
	s := &Store{reader: db, writer: db, engine: onPostgres}
	var schema string
	if schema, err = s.checkPostgres(ctx); err == nil {
		err = s.migratePostgres(ctx, schema)
	}
	if err != nil {
		return nil, errors.Join(fmt.Errorf("%s: %w", name, told(err)), s.Close())
	}
	return s, nil
}

// checkPostgres reports a schema that holds another program's tables, and
// returns the name of ours.
func (s *Store) checkPostgres(ctx context.Context) (schema string, err error) {
	var encoding string
	var others bool
	row := s.reader.QueryRowContext(ctx, `select coalesce(current_schema()::text, ''), current_setting('server_encoding'),
		(to_regclass('growers') is null or to_regclass('revisions') is null) and exists (select 1 from pg_class
		where relnamespace = current_schema()::regnamespace and relkind in ('r', 'p') and relname <> 'goose_db_version')`)
	if err := row.Scan(&schema, &encoding, &others); err != nil {
		return "", err
	}
	switch {
	case schema == "":
		return "", errors.New("the search path names no schema that is there")
	case encoding != "UTF8":
		return "", fmt.Errorf("its encoding is %s: want UTF8", encoding)
	case others:
		return "", errors.New("this schema belongs to another program: name a database or a schema of its own")
	}
	return schema, nil
}

// migratePostgres brings the schema up to date while no other instance does.
func (s *Store) migratePostgres(ctx context.Context, schema string) error {
	l, err := lock.NewPostgresSessionLocker(
		lock.WithLockID(int64(applicationID)<<32|int64(crc32.ChecksumIEEE([]byte(schema)))),
		lock.WithLockTimeout(1, 600), // seconds, times
	)
	if err != nil {
		return err
	}
	return s.migrate(ctx, goose.WithSessionLocker(l))
}

// again reports whether a transaction that failed may succeed when it is run
// again: it met another, whose effect it did not see, or its connection was ended. That two rows are the same
// may be such a meeting too; then it is told the second time.
func again(err error, try int) bool {
	var e *pgconn.PgError
	if !errors.As(err, &e) {
		return false
	}
	switch e.Code {
	case "40001", "40P01", // could not be serialised, or a deadlock
		"57P01": // the server let the connection go, and undid what it did
		return try < tries
	case "23505":
		return try == 1
	}
	return false
}

// rest waits before the next try.
func rest(ctx context.Context, try int) error {
	t := time.NewTimer(min(time.Millisecond<<(try-1), longestRest))
	defer t.Stop()
	select {
	case <-ctx.Done():
		return ctx.Err()
	case <-t.C:
		return nil
	}
}

// toldPostgres turns what a PostgreSQL server says into the errors that callers act on.
func toldPostgres(err error, e *pgconn.PgError) error {
	switch e.Code {
	case "23505":
		return fmt.Errorf("%w: %w", calendar.ErrConflict, err)
	case "23503":
		return fmt.Errorf("the grower, place or tree that it belongs to: %w", calendar.ErrNotFound)
	case notText:
		return fmt.Errorf("want UTF-8 without zero bytes: %w: %w", calendar.ErrInvalid, err)
	case "40001", "40P01":
		return fmt.Errorf("too many write at once: %w", err)
	case "53100":
		return fmt.Errorf("the server's disk is full: %w", err)
	case "53300":
		return fmt.Errorf("the server has no connection left; its max_connections must allow %d for each instance: %w", connections, err)
	}
	return err
}
