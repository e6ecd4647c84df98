package store

import (
	"bytes"
	"context"
	"database/sql"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"budswell/calendar/store/storetest"
)

// refusedFile opens a file that must be refused, and wants it left as it was.
func refusedFile(t *testing.T, path, says string) {
	t.Helper()
	before, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	s, err := Open(context.Background(), "sqlite:"+path)
	if err == nil {
		s.Close()
		t.Fatal("opened")
	}
	if !strings.Contains(err.Error(), says) || !strings.Contains(err.Error(), path) {
		t.Errorf("error %q, want it to name the file and say %q", err, says)
	}
	after, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(before, after) {
		t.Error("the file was changed")
	}
}

// filled makes a database with something in it and closes it.
func filled(t *testing.T) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "b.db")
	s, err := Open(context.Background(), "sqlite:"+path)
	if err != nil {
		t.Fatal(err)
	}
	if err := s.PutGrower(context.Background(), storetest.Grower("a")); err != nil {
		t.Fatal(err)
	}
	if err := s.PutPlace(context.Background(), storetest.Place("a", "1", 3000)); err != nil {
		t.Fatal(err)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	return path
}

// alter changes a closed database by hand.
func alter(t *testing.T, path, statement string) {
	t.Helper()
	db, err := sql.Open("sqlite", path)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	if _, err := db.Exec(statement); err != nil {
		t.Fatal(err)
	}
}

func TestReopen(t *testing.T) {
	path := filled(t)
	s := fresh(t, "sqlite:"+path)
	got, err := s.Growers(context.Background())
	if err != nil || len(got) != 1 || got[0] != storetest.Grower("a") {
		t.Fatalf("after reopening: %v, %v", got, err)
	}
}

func TestFileIsPrivateAndMayHaveAnyName(t *testing.T) {
	for _, name := range []string{"b.db", "a?b=c&d#e%41 ö.db", ":memory"} {
		path := filepath.Join(t.TempDir(), name)
		s := fresh(t, "sqlite:"+path)
		if err := s.PutGrower(context.Background(), storetest.Grower("a")); err != nil {
			t.Fatal(err)
		}
		files, err := os.ReadDir(filepath.Dir(path))
		if err != nil {
			t.Fatal(err)
		}
		there := false
		for _, f := range files {
			info, err := f.Info()
			if err != nil {
				t.Fatal(err)
			}
			there = there || f.Name() == name
			if info.Mode().Perm() != 0o600 {
				t.Errorf("%s has permissions %v", f.Name(), info.Mode().Perm())
			}
		}
		if !there {
			t.Errorf("%q is not there; there is %v", name, files)
		}
	}
}

func TestBadDSN(t *testing.T) {
	for _, dsn := range []string{"", "b.db", "sqlite:", "postgres:", "other://localhost/x"} {
		if _, err := Open(context.Background(), dsn); err == nil || !strings.Contains(err.Error(), "sqlite:PATH") {
			t.Errorf("%q: %v", dsn, err)
		}
	}
	missing := filepath.Join(t.TempDir(), "no", "b.db")
	if _, err := Open(context.Background(), "sqlite:"+missing); err == nil || !strings.Contains(err.Error(), missing+": no such file or directory") {
		t.Errorf("no folder: %v", err)
	}
}

func TestDamagedFile(t *testing.T) {
	notOurs := filepath.Join(t.TempDir(), "text.db")
	if err := os.WriteFile(notOurs, bytes.Repeat([]byte("not a database\n"), 500), 0o600); err != nil {
		t.Fatal(err)
	}
	refusedFile(t, notOurs, "damaged")

	path := filled(t)
	whole, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, whole[:len(whole)/2], 0o600); err != nil {
		t.Fatal(err)
	}
	refusedFile(t, path, "damaged")

	scribbled := bytes.Clone(whole)
	copy(scribbled[4096*3:], bytes.Repeat([]byte{0xa5}, 4096*2))
	if err := os.WriteFile(path, scribbled, 0o600); err != nil {
		t.Fatal(err)
	}
	refusedFile(t, path, "damaged")
}

func TestAnotherProgramsFile(t *testing.T) {
	path := filepath.Join(t.TempDir(), "other.db")
	alter(t, path, "create table photos (id integer); insert into photos values (1)")
	refusedFile(t, path, "another program")
}

func TestLaterVersion(t *testing.T) {
	path := filled(t)
	alter(t, path, "insert into goose_db_version (version_id, is_applied) values (999, 1)")
	refusedFile(t, path, "later version (schema 999")
}

func TestLockedFile(t *testing.T) {
	path := filled(t)
	db, err := sql.Open("sqlite", path)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	db.SetMaxOpenConns(1)
	if _, err := db.Exec("pragma locking_mode = exclusive; begin exclusive; delete from jobs"); err != nil {
		t.Fatal(err)
	}
	s, err := open(context.Background(), path, 50*time.Millisecond)
	if err == nil {
		s.Close()
		t.Fatal("opened a file that another program holds")
	}
	if !strings.Contains(err.Error(), "held by another program") {
		t.Error(err)
	}
}

// A writer that another program holds up says so, and loses nothing it had.
func TestHeldUpWriter(t *testing.T) {
	ctx := context.Background()
	path := filled(t)
	s, err := open(ctx, path, 50*time.Millisecond)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { s.Close() })
	db, err := sql.Open("sqlite", path)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	db.SetMaxOpenConns(1)
	if _, err := db.Exec("begin immediate"); err != nil {
		t.Fatal(err)
	}
	if err := s.PutGrower(ctx, storetest.Grower("b")); err == nil || !strings.Contains(err.Error(), "held by another program") {
		t.Errorf("writing while another writes: %v", err)
	}
	if got, err := s.Growers(ctx); err != nil || len(got) != 1 {
		t.Errorf("reading while another writes: %v, %v", got, err)
	}
	if _, err := db.Exec("rollback"); err != nil {
		t.Fatal(err)
	}
	if err := s.PutGrower(ctx, storetest.Grower("b")); err != nil {
		t.Error(err)
	}
}

// The database itself refuses to change or shorten a log, whoever asks.
func TestLogIsOnlyAddedTo(t *testing.T) {
	ctx := context.Background()
	s := fresh(t, "sqlite:"+filled(t))
	k := storetest.Tree("a", "1", "x")
	k.Log = storetest.Log()
	if err := s.PutTree(ctx, k); err != nil {
		t.Fatal(err)
	}
	for _, statement := range []string{"delete from log", "update log set note = 'never mind'", "delete from trees"} {
		if _, err := s.writer.Exec(statement); err == nil {
			t.Errorf("%q was done", statement)
		}
	}
	if _, err := s.reader.Exec("insert into jobs (job, ran) values ('x', '')"); err == nil {
		t.Error("a reader wrote")
	}
}

// What is in the tables is what this package says of it.
func TestTimesSortAsText(t *testing.T) {
	ctx := context.Background()
	s := fresh(t, "sqlite::memory:")
	at := time.Date(2026, 4, 12, 1, 0, 0, 0, time.FixedZone("east", 2*3600))
	for i, at := range []time.Time{at, at.Add(1), at.Add(time.Second / 2), at.Add(time.Second)} {
		if err := s.Ran(ctx, string(rune('a'+i)), at); err != nil {
			t.Fatal(err)
		}
	}
	var order, first string
	row := s.reader.QueryRow("select group_concat(job, ''), min(ran) from (select job, ran from jobs order by ran)")
	if err := row.Scan(&order, &first); err != nil {
		t.Fatal(err)
	}
	if order != "abcd" || first != "2026-04-11T23:00:00.000000000Z" {
		t.Errorf("order %q, first %q", order, first)
	}
}
