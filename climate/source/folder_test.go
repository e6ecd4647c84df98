package source

import (
	"context"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"budswell/climate"

	"github.com/google/go-cmp/cmp"
)

func write(t *testing.T, path, text string, minute int) {
	t.Helper()
	if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	at := noon.Add(time.Duration(minute) * time.Minute)
	if err := os.Chtimes(path, at, at); err != nil {
		t.Fatal(err)
	}
}

func TestFolder(t *testing.T) {
	ctx := context.Background()
	dir := t.TempDir()
	at := func(name string) string { return filepath.Join(dir, name) }
	write(t, at("2026-03.csv"), "date,tmin,tmax,prcp\n2026-03-01,1,5,0\n2026-03-02,2,,1\n", 1)
	write(t, at("2026-02.CSV"), "date,tmin,tmax\n2026-02-28,0,4\n2026-03-01,3,6\n2026-03-02,,9\n", 0)
	write(t, at(".hidden.csv"), "nonsense", 5)
	write(t, at("notes.md"), "nonsense", 5)
	if err := os.Symlink("/etc/passwd", at("link.csv")); err != nil {
		t.Fatal(err)
	}
	if err := os.Mkdir(at("folder.csv"), 0o700); err != nil {
		t.Fatal(err)
	}
	p := &Folder{Path: dir}
	a := climate.Ask{Site: bench, Now: noon}
	got, err := p.Fetch(ctx, a)
	if err != nil {
		t.Fatal(err)
	}
	d := climate.NewDate(2026, 3, 1)
	want := []climate.Reading{
		{On: d - 1, Tmin: 0, Tmax: 4, Prcp: nan, Got: noon}, {On: d, Tmin: 1, Tmax: 5, Prcp: 0, Got: noon}, {On: d + 1, Tmin: 2, Tmax: 9, Prcp: 1, Got: noon},
	}
	s := got.Series[0]
	if diff := cmp.Diff(want, s.Readings, cmp.Comparer(same)); diff != "" || !got.Whole || s.Kind != climate.OwnReading || s.Source != filepath.Base(dir) {
		t.Errorf("(-want +got):\n%s\n%+v", diff, got)
	}
	again := func(what string, unchanged bool) {
		t.Helper()
		a.Was = got.Memory
		if got, err = p.Fetch(ctx, a); err != nil || got.Unchanged != unchanged {
			t.Fatalf("%s: %+v, %v", what, got, err)
		}
	}
	again("as it was", true)
	write(t, at("2026-03.csv"), "date,tmin,tmax,prcp\n2026-03-01,1,5,0\n2026-03-02,2,,1\n", 9)
	again("written again with the same", true)
	again("as it was then", true)
	write(t, at("2026-03.csv"), "date,tmin,tmax,prcp\n2026-03-01,1,5,0\n2026-03-02,2,,2\n", 9)
	again("changed within the same size and time", true) // nobody can see that but by reading all
	write(t, at("2026-03.csv"), "date,tmin,tmax,prcp\n2026-03-01,1,5,0\n2026-03-02,2,,2\n", 10)
	again("changed within the same size", false)
	if got.Series[0].Readings[2].Prcp != 2 {
		t.Errorf("got %+v", got.Series[0].Readings)
	}

	// A file that is being written is an error, and nothing of the others is taken.
	write(t, at("2026-04.csv"), "date,tmin,tmax,prcp\n2026-04-01,1,5,0\n2026-04-02,2", 11)
	if got, err := p.Fetch(ctx, a); err == nil || got != nil || !strings.Contains(err.Error(), "2026-04.csv:3") {
		t.Errorf("cut off: %+v, %v", got, err)
	}
	write(t, at("2026-04.csv"), "date,tmin,tmax\n2026-03-02,10,\n", 12)
	if _, err := p.Fetch(ctx, a); err == nil || !strings.Contains(err.Error(), "2026-03-02") {
		t.Errorf("contradicting files: %v", err)
	}

	one := &Folder{Path: at("2026-02.CSV")}
	if got, err := one.Fetch(ctx, climate.Ask{Site: bench, Now: noon}); err != nil || len(got.Series[0].Readings) != 3 || got.Series[0].Source != "2026-02.CSV" {
		t.Errorf("one file: %+v, %v", got, err)
	}
	for _, path := range []string{at("nowhere"), "/dev/zero", t.TempDir()} {
		if got, err := (&Folder{Path: path}).Fetch(ctx, climate.Ask{Site: bench, Now: noon}); err == nil {
			t.Errorf("%s: %+v", path, got)
		}
	}
}

var nan = math.NaN()

// same takes NaN for equal to itself.
func same(a, b float64) bool { return a == b || math.IsNaN(a) && math.IsNaN(b) }
