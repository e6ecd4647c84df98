package store

import (
	"context"
	"crypto/sha256"
	"database/sql"
	"encoding/hex"
	"errors"
	"fmt"
	"hash"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"time"

	"modernc.org/sqlite"
)

// Copied is what a backup or a restored database holds.
type Copied struct {
	Digest string // SHA-256, in hex, of every value of every table
	Rows   int
	Bytes  int64
}

// Backup writes the database that dsn names, as it is at one moment, to a new
// file, while others may use it. The file is restored to a temporary one, which
// is checked and must hold the same as the database did; only then has it its
// name. Nothing is migrated, so that a backup can be made before an upgrade.
func Backup(ctx context.Context, dsn, file string) (c Copied, err error) {
	path, err := fileOf(dsn, "a PostgreSQL database is backed up by its own pg_dump, and what growers entered by 'budswell export'")
	if err != nil {
		return c, err
	}
	if _, err := os.Stat(path); err != nil {
		return c, fmt.Errorf("database: %w", err)
	}
	if _, err := os.Lstat(file); !errors.Is(err, fs.ErrNotExist) {
		return c, fmt.Errorf("%s: is there already; want a new name: %w", file, fs.ErrExist)
	}
	temp, err := os.MkdirTemp(filepath.Dir(file), ".backup-*")
	if err != nil {
		return c, err
	}
	defer func() { err = errors.Join(err, os.RemoveAll(temp)) }()
	made := filepath.Join(temp, "made")
	was, err := snapshot(ctx, path, made)
	if err != nil {
		return c, fmt.Errorf("database %s: %w", path, told(err))
	}
	restored := filepath.Join(temp, "restored")
	if c, err = putCopy(ctx, made, restored); err != nil {
		return c, fmt.Errorf("restore the backup to try it: %w", err)
	}
	if c.Digest != was {
		return c, errors.New("the backup, restored to try it, does not hold what the database does: nothing was written")
	}
	return c, os.Rename(made, file)
}

// fileOf returns the file of a database that has one; instead says what to do
// where a server keeps it.
func fileOf(dsn, instead string) (string, error) {
	if _, ok := postgresAddress(dsn); ok {
		return "", errors.New(instead)
	}
	path, ok := Path(dsn)
	if !ok {
		return "", fmt.Errorf("database %q: want sqlite:PATH", dsn)
	}
	return path, nil
}

// snapshot copies the database at path to a new file, and returns the digest of
// what it held. Reading and copying are of one transaction.
func snapshot(ctx context.Context, path, to string) (digest string, err error) {
	db, err := raw(path, "query_only(1)")
	if err != nil {
		return "", err
	}
	defer func() { err = errors.Join(err, db.Close()) }()
	conn, err := db.Conn(ctx)
	if err != nil {
		return "", err
	}
	defer func() { err = errors.Join(err, conn.Close()) }()
	if err := checkOn(ctx, conn); err != nil {
		return "", err
	}
	if _, err := conn.ExecContext(ctx, "begin"); err != nil {
		return "", err
	}
	defer func() {
		_, e := conn.ExecContext(context.WithoutCancel(ctx), "rollback")
		err = errors.Join(err, e)
	}()
	var n int
	if digest, n, err = contentDigest(ctx, conn); err != nil {
		return "", err
	}
	if n == 0 {
		return "", errors.New("it is empty")
	}
	name, err := address(to)
	if err != nil {
		return "", err
	}
	err = conn.Raw(func(c any) error {
		b, err := c.(interface {
			NewBackup(string) (*sqlite.Backup, error)
		}).NewBackup(name)
		if err != nil {
			return err
		}
		_, err = b.Step(-1)
		return errors.Join(err, b.Finish())
	})
	if err != nil {
		return "", err
	}
	return digest, tidy(ctx, to)
}

// tidy makes a copied database one file that holds nothing of what was deleted.
func tidy(ctx context.Context, path string) (err error) {
	if err := os.Chmod(path, 0o600); err != nil {
		return err
	}
	db, err := raw(path)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, db.Close()) }()
	for _, q := range []string{"vacuum", "pragma journal_mode = delete"} {
		if _, err := db.ExecContext(ctx, q); err != nil {
			return err
		}
	}
	return nil
}

// putCopy copies a backup to a path where nothing is, and checks what arrived.
func putCopy(ctx context.Context, backup, path string) (c Copied, err error) {
	if c.Digest, err = snapshot(ctx, backup, path); err != nil {
		return c, fmt.Errorf("%s: %w", backup, told(err))
	}
	db, err := raw(path, "query_only(1)")
	if err != nil {
		return c, err
	}
	defer func() { err = errors.Join(err, db.Close()) }()
	conn, err := db.Conn(ctx)
	if err != nil {
		return c, err
	}
	defer func() { err = errors.Join(err, conn.Close()) }()
	if err := whole(ctx, conn); err != nil {
		return c, err
	}
	digest, rows, err := contentDigest(ctx, conn)
	if err != nil {
		return c, err
	}
	if digest != c.Digest {
		return c, errors.New("what arrived is not what was copied")
	}
	info, err := os.Stat(path)
	if err != nil {
		return c, err
	}
	c.Rows, c.Bytes = rows, info.Size()
	return c, nil
}

// whole reports damage of any kind.
func whole(ctx context.Context, conn *sql.Conn) error {
	var verdict string
	if err := conn.QueryRowContext(ctx, "pragma integrity_check(1)").Scan(&verdict); err != nil {
		return err
	}
	if verdict != "ok" {
		return fmt.Errorf("the database is damaged: %s", verdict)
	}
	rows, err := conn.QueryContext(ctx, "pragma foreign_key_check")
	if err != nil {
		return err
	}
	defer rows.Close()
	if rows.Next() {
		return errors.New("the database is damaged: a row refers to one that is not there")
	}
	return rows.Err()
}

// Restore puts a backup in the place of the database that dsn names and brings
// its schema up to date. It refuses where a database is there already, unless
// replace says to keep that one aside, under the name returned; and always
// where a program has it open.
func Restore(ctx context.Context, file, dsn string, replace bool, now time.Time) (c Copied, aside string, err error) {
	path, err := fileOf(dsn, "a PostgreSQL database is restored by its own pg_restore; 'budswell migrate' copies a restored SQLite database to it")
	if err != nil {
		return c, "", err
	}
	if _, err := os.Stat(file); err != nil {
		return c, "", fmt.Errorf("backup: %w", err)
	}
	_, err = os.Lstat(path)
	there := !errors.Is(err, fs.ErrNotExist)
	if there && !replace {
		return c, "", fmt.Errorf("database %s: is there already; to keep it aside and restore, say --replace: %w", path, fs.ErrExist)
	}
	temp, err := os.MkdirTemp(filepath.Dir(path), ".restore-*")
	if err != nil {
		return c, "", err
	}
	defer func() { err = errors.Join(err, os.RemoveAll(temp)) }()
	ready := filepath.Join(temp, "ready")
	if c, err = putCopy(ctx, file, ready); err != nil {
		return c, "", fmt.Errorf("backup %w", err)
	}
	// The schema is brought up to date before anything is moved.
	db, err := Open(ctx, "sqlite:"+ready)
	if err != nil {
		return c, "", err
	}
	if err := errors.Join(db.Close(), tidy(ctx, ready)); err != nil {
		return c, "", err
	}
	before := path + ".before-" + now.UTC().Format("20060102T150405Z")
	if there {
		if err := alone(ctx, path); err != nil {
			return c, "", fmt.Errorf("database %s: %w", path, err)
		}
		aside = before
		if err := os.Link(path, aside); err != nil { // not Rename, which would replace
			return c, "", err
		}
	}
	// Side files of what was there before would be taken for those of the new file.
	for _, side := range []string{"-wal", "-shm", "-journal"} {
		err := os.Rename(path+side, before+side)
		if err != nil && !errors.Is(err, fs.ErrNotExist) {
			return c, "", err
		}
	}
	return c, aside, os.Rename(ready, path)
}

// alone makes the database one file, which succeeds only where no other program
// has it open. A file that is no database is left as it is.
func alone(ctx context.Context, path string) (err error) {
	db, err := connectRaw(path, 0)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, db.Close()) }()
	var mode string
	if err := db.QueryRowContext(ctx, "pragma journal_mode = delete").Scan(&mode); err != nil {
		if strings.Contains(told(err).Error(), "held by another") {
			return fmt.Errorf("stop the service first: %w", told(err))
		}
		return nil // damaged: all the more reason to restore
	}
	return nil
}

// raw opens a database file as it is, through one connection.
func raw(path string, pragmas ...string) (*sql.DB, error) {
	return connectRaw(path, busy, pragmas...)
}

func connectRaw(path string, busy time.Duration, pragmas ...string) (*sql.DB, error) {
	name, err := address(path)
	if err != nil {
		return nil, err
	}
	return connect(name, map[string][]string{"_pragma": pragmas}, busy, 1)
}

// contentDigest returns the digest of every value of every table, and the number of
// rows. It does not depend on the order in which rows lie.
func contentDigest(ctx context.Context, conn *sql.Conn) (digest string, n int, err error) {
	h := sha256.New()
	var tables []string
	rows, err := conn.QueryContext(ctx, "select name, coalesce(sql, '') from sqlite_schema where name not like 'sqlite_%' order by type, name")
	if err != nil {
		return "", 0, err
	}
	defer rows.Close()
	for rows.Next() {
		var name, made string
		if err := rows.Scan(&name, &made); err != nil {
			return "", 0, err
		}
		fmt.Fprintf(h, "%q %q\n", name, made)
		if strings.HasPrefix(strings.ToLower(made), "create table") {
			tables = append(tables, name)
		}
	}
	if err := rows.Err(); err != nil {
		return "", 0, err
	}
	for _, table := range tables {
		k, err := digestTable(ctx, conn, h, table)
		if err != nil {
			return "", 0, err
		}
		n += k
	}
	return hex.EncodeToString(h.Sum(nil)), n, nil
}

func digestTable(ctx context.Context, conn *sql.Conn, h hash.Hash, table string) (n int, err error) {
	quoted := `"` + strings.ReplaceAll(table, `"`, `""`) + `"`
	var width int
	if err := conn.QueryRowContext(ctx, "select count(*) from pragma_table_info($1)", table).Scan(&width); err != nil {
		return 0, err
	}
	order := make([]string, width)
	for i := range order {
		order[i] = fmt.Sprint(i + 1)
	}
	rows, err := conn.QueryContext(ctx, "select * from "+quoted+" order by "+strings.Join(order, ", "))
	if err != nil {
		return 0, err
	}
	defer rows.Close()
	fmt.Fprintf(h, "%q\n", table)
	values, dest := make([]any, width), make([]any, width)
	for i := range values {
		dest[i] = &values[i]
	}
	for ; rows.Next(); n++ {
		if err := rows.Scan(dest...); err != nil {
			return n, err
		}
		for _, v := range values {
			fmt.Fprintf(h, "%T %q\n", v, fmt.Sprint(v))
		}
	}
	return n, rows.Err()
}
