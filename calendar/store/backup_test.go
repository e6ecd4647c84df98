package store

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"budswell/calendar"
	"budswell/calendar/store/storetest"
)

var evening = time.Date(2027, 4, 12, 20, 0, 0, 0, time.UTC)

// settled is a database file with two growers, and its store.
func settled(t *testing.T) (string, *Store) {
	t.Helper()
	path := filepath.Join(t.TempDir(), "b.db")
	s := fresh(t, "sqlite:"+path)
	storetest.Settle(t, s, "ada")
	storetest.Settle(t, s, "bea")
	return path, s
}

func TestBackupAndRestore(t *testing.T) {
	ctx := context.Background()
	path, s := settled(t)
	file := filepath.Join(t.TempDir(), "b.backup")
	// What was deleted before is not in the backup.
	storetest.Settle(t, s, "leavemark")
	if err := s.DeleteGrower(ctx, "leavemark", evening); err != nil {
		t.Fatal(err)
	}
	made, err := Backup(ctx, "sqlite:"+path, file)
	if err != nil {
		t.Fatal(err)
	}
	text, err := os.ReadFile(file)
	if err != nil || bytes.Contains(text, []byte("leavemark@")) || !bytes.Contains(text, []byte("ada@")) {
		t.Errorf("the backup: %v, holds what was deleted: %v", err, bytes.Contains(text, []byte("leavemark@")))
	}
	if left, _ := filepath.Glob(filepath.Dir(file) + "/*"); len(left) != 1 {
		t.Errorf("beside the backup lie %v", left)
	}
	if left, _ := filepath.Glob(filepath.Dir(file) + "/.*"); len(left) != 0 {
		t.Errorf("beside the backup lie %v", left)
	}
	want, err := s.Trees(ctx, "ada")
	if err != nil {
		t.Fatal(err)
	}
	if err := s.DeleteGrower(ctx, "ada", evening); err != nil {
		t.Fatal(err)
	}

	if _, _, err := Restore(ctx, file, "sqlite:"+path, false, evening); !errors.Is(err, fs.ErrExist) {
		t.Errorf("over a database that is there: %v", err)
	}
	if _, _, err := Restore(ctx, file, "sqlite:"+path, true, evening); err == nil || !strings.Contains(err.Error(), "stop the service first") {
		t.Errorf("over a database in use: %v", err)
	}
	if _, err := s.Grower(ctx, "bea"); err != nil {
		t.Errorf("a refused restore harmed the database: %v", err)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	got, aside, err := Restore(ctx, file, "sqlite:"+path, true, evening)
	if err != nil || got.Digest != made.Digest || got.Rows != made.Rows || aside != path+".before-20270412T200000Z" {
		t.Fatalf("restored %+v of %+v, aside %s: %v", got, made, aside, err)
	}
	r := fresh(t, "sqlite:"+path)
	trees, err := r.Trees(ctx, "ada")
	if err != nil || fmt.Sprint(trees) != fmt.Sprint(want) {
		t.Errorf("restored %v, want %v: %v", trees, want, err)
	}
	old := fresh(t, "sqlite:"+aside)
	if _, err := old.Grower(ctx, "ada"); !errors.Is(err, calendar.ErrNotFound) {
		t.Errorf("aside lies another database: %v", err)
	}
	if info, err := os.Stat(path); err != nil || info.Mode().Perm() != 0o600 {
		t.Errorf("the restored file may be read by others: %v %v", info.Mode(), err)
	}
}

// TestBackupIsOfOneMoment backs up while another writes: in each transaction
// two places change together.
func TestBackupIsOfOneMoment(t *testing.T) {
	ctx := context.Background()
	path, s := settled(t)
	stop, began := make(chan struct{}), make(chan struct{})
	var wait sync.WaitGroup
	wait.Go(func() {
		for i := 0; ; i++ {
			if i == 1 {
				close(began)
			}
			select {
			case <-stop:
				return
			default:
			}
			err := s.write(ctx, "both", func(x tx) error {
				for _, id := range []string{"ada", "bea"} {
					if _, err := x.exec("update growers set name = $1 where id = $2", fmt.Sprint(i), id); err != nil {
						return err
					}
				}
				return nil
			})
			if err != nil {
				t.Error(err)
				return
			}
		}
	})
	<-began
	for i := range 5 {
		file := filepath.Join(t.TempDir(), fmt.Sprint(i))
		if _, err := Backup(ctx, "sqlite:"+path, file); err != nil {
			t.Error(err)
			continue
		}
		g, err := fresh(t, "sqlite:"+file).Growers(ctx)
		if err != nil || len(g) != 2 || g[0].Name != g[1].Name {
			t.Errorf("half of a transaction: %v %v", g, err)
		}
	}
	close(stop)
	wait.Wait()
}

func TestBackupRefused(t *testing.T) {
	ctx := context.Background()
	path, _ := settled(t)
	dir := t.TempDir()
	taken := filepath.Join(dir, "taken")
	if err := os.WriteFile(taken, []byte("mine"), 0o600); err != nil {
		t.Fatal(err)
	}
	for name, c := range map[string][2]string{
		"over a file":       {"sqlite:" + path, taken},
		"no database":       {"sqlite:" + filepath.Join(dir, "none"), filepath.Join(dir, "1")},
		"of memory":         {"sqlite::memory:", filepath.Join(dir, "2")},
		"of something else": {"sqlite:" + taken, filepath.Join(dir, "3")},
		"nowhere":           {"sqlite:" + path, filepath.Join(dir, "no", "such", "folder")},
	} {
		if _, err := Backup(ctx, c[0], c[1]); err == nil {
			t.Errorf("%s: done", name)
		}
	}
	if text, err := os.ReadFile(taken); string(text) != "mine" {
		t.Errorf("a file was overwritten: %q %v", text, err)
	}
	if left, _ := filepath.Glob(dir + "/*"); len(left) != 1 {
		t.Errorf("left behind: %v", left)
	}
}

// TestRestoreOfADamagedBackup changes nothing.
func TestRestoreOfADamagedBackup(t *testing.T) {
	ctx := context.Background()
	path, s := settled(t)
	file := filepath.Join(t.TempDir(), "b.backup")
	if _, err := Backup(ctx, "sqlite:"+path, file); err != nil {
		t.Fatal(err)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	text, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	for name, bad := range map[string][]byte{
		"cut short":   text[:len(text)/2],
		"overwritten": append(append(append([]byte{}, text[:8192]...), bytes.Repeat([]byte{0x5a}, 8192)...), text[16384:]...),
		"no database": []byte("trees"),
		"empty":       {},
	} {
		broken := filepath.Join(t.TempDir(), "broken")
		if err := os.WriteFile(broken, bad, 0o600); err != nil {
			t.Fatal(err)
		}
		if _, _, err := Restore(ctx, broken, "sqlite:"+path, true, evening); err == nil {
			t.Errorf("%s: restored", name)
		}
	}
	if left, _ := filepath.Glob(filepath.Dir(path) + "/*"); len(left) != 1 {
		t.Errorf("left behind: %v", left)
	}
	if _, err := fresh(t, "sqlite:"+path).Grower(ctx, "ada"); err != nil {
		t.Error(err)
	}
}

// TestRestoreLeavesNoSideFiles: the journal of a database that was damaged or
// lost is not taken for one of the restored database.
func TestRestoreLeavesNoSideFiles(t *testing.T) {
	ctx := context.Background()
	path, s := settled(t)
	file := filepath.Join(t.TempDir(), "a 100%?# b.backup")
	if _, err := Backup(ctx, "sqlite:"+path, file); err != nil {
		t.Fatal(err)
	}
	if err := s.DeleteGrower(ctx, "ada", evening); err != nil {
		t.Fatal(err)
	}
	if err := s.PutGrower(ctx, storetest.Grower("cay")); err != nil { // lies in the write-ahead log
		t.Fatal(err)
	}
	wal, err := os.ReadFile(path + "-wal")
	if err != nil || len(wal) == 0 {
		t.Fatalf("no write-ahead log: %v", err)
	}
	if err := os.Chmod(file, 0o400); err != nil {
		t.Fatal(err)
	}
	lost := filepath.Join(t.TempDir(), "b.db") // the file is lost, its log is not
	if err := os.WriteFile(lost+"-wal", wal, 0o600); err != nil {
		t.Fatal(err)
	}
	if _, _, err := Restore(ctx, file, "sqlite:"+lost, false, evening); err != nil {
		t.Fatal(err)
	}
	g, err := fresh(t, "sqlite:"+lost).Growers(ctx)
	if err != nil || len(g) != 2 || g[0].ID != "ada" {
		t.Errorf("growers %v, %v", g, err)
	}
}
