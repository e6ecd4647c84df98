package lore_test

import (
	"errors"
	"flag"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"budswell/calendar"
	"budswell/calendar/lore"
)

var update = flag.Bool("update", false, "write golden files anew")

func load(t testing.TB, files ...lore.File) *calendar.Lore {
	t.Helper()
	l, err := lore.Read(files...)
	if err != nil {
		t.Fatal(err)
	}
	return l
}

// TestFaults reads broken files and compares all faults found, with their
// positions, with what stands beside each.
func TestFaults(t *testing.T) {
	files, err := filepath.Glob("testdata/bad/*.yaml")
	if err != nil || len(files) == 0 {
		t.Fatalf("no broken files: %v", err)
	}
	for _, path := range files {
		t.Run(strings.TrimSuffix(filepath.Base(path), ".yaml"), func(t *testing.T) {
			text, err := os.ReadFile(path)
			if err != nil {
				t.Fatal(err)
			}
			_, err = lore.Read(lore.File{Name: filepath.Base(path), Text: text})
			if err == nil {
				t.Fatal("read without a fault")
			}
			var faults lore.Faults
			if !errors.As(err, &faults) || !errors.Is(err, calendar.ErrInvalid) {
				t.Fatalf("error is %T, want Faults that are ErrInvalid", err)
			}
			golden := strings.TrimSuffix(path, ".yaml") + ".txt"
			if *update {
				if err := os.WriteFile(golden, []byte(err.Error()+"\n"), 0o644); err != nil {
					t.Fatal(err)
				}
			}
			want, err2 := os.ReadFile(golden)
			if err2 != nil {
				t.Fatal(err2)
			}
			if d := cmp.Diff(string(want), err.Error()+"\n"); d != "" {
				t.Error(d)
			}
		})
	}
}

// TestRead checks that a grower's own files add to the lore and override it.
func TestRead(t *testing.T) {
	base := load(t)
	own := load(t, lore.File{Name: "mine.yaml", Text: []byte(`
species:
  - {name: Acer campestre, common: [ridge maple], group: deciduous, flush: early, source: from memory}
rules:
  - id: water-watch
    work: water-watch
    opens: {at: heat, c: 20}
    closes: {at: heat-end, c: 20}
    minutes: 2
    why: My pots are small.
    source: common practice, no published source
  - id: my-mist
    work: mist
    opens: {at: phase, phase: bud-swell}
    closes: {at: date, date: 05-10}
    minutes: 1
    why: To try it.
    source: common practice, no published source
works:
  - {id: mist, title: Mist, class: protection, also: [misted]}
`)})
	if got, want := len(own.Rules), len(base.Rules)+1; got != want {
		t.Errorf("%d rules, want %d", got, want)
	}
	if got, want := len(own.Species), len(base.Species); got != want {
		t.Errorf("%d species, want %d", got, want)
	}
	if r, ok := own.RuleByID("water-watch"); !ok || r.Minutes != 2 || r.Opens.C == nil || *r.Opens.C != 20 {
		t.Errorf("water-watch is %+v, want the grower's", r)
	}
	if s, err := own.SpeciesNamed("Ridge Maple"); err != nil || s.Name != "Acer campestre" {
		t.Errorf("ridge maple is %v, %v", s, err)
	}
	if _, err := own.SpeciesNamed("field maple"); !errors.Is(err, calendar.ErrNotFound) {
		t.Errorf("field maple, which the grower's species has not, gives %v", err)
	}
	if r, ok := own.RuleByID("my-mist"); !ok || r.Closes.Date == nil || r.Closes.Date.String() != "05-10" {
		t.Errorf("my-mist is %+v", r)
	}
	if w, ok := own.WorkByID("misted"); !ok || w.ID != "mist" {
		t.Errorf("misted is %+v", w)
	}

	// A fault in one file is told along with those of others, in their order.
	_, err := lore.Read(
		lore.File{Name: "b.yaml", Text: []byte("cautions: [{id: x y, text: Mind it.}]")},
		lore.File{Name: "a.yaml", Text: []byte("cautions: [{id: x y, text: Mind it.}]")},
	)
	want := `b.yaml:1:17: caution x y: id: "x y": want an id of small letters, digits and single hyphens
a.yaml:1:17: caution x y: id: "x y": is given already at b.yaml:1:12`
	if err == nil || err.Error() != want {
		t.Errorf("got  %v\nwant %s", err, want)
	}
}

func FuzzRead(f *testing.F) {
	seeds, err := filepath.Glob("testdata/bad/*.yaml")
	if err != nil {
		f.Fatal(err)
	}
	own, err := filepath.Glob("*.yaml")
	if err != nil {
		f.Fatal(err)
	}
	for _, path := range append(seeds, own...) {
		text, err := os.ReadFile(path)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text []byte) {
		l, err := lore.Read(lore.File{Name: "fuzz.yaml", Text: text})
		var faults lore.Faults
		switch {
		case err == nil && len(l.Rules) == 0:
			t.Fatal("no error and no rules")
		case err != nil && (!errors.As(err, &faults) || len(faults) == 0):
			t.Fatalf("error is %T, want Faults", err)
		}
		for _, fault := range faults {
			if fault.Line < 1 || fault.Column < 1 || fault.Wrong == "" {
				t.Errorf("fault without a position or a reason: %#v", fault)
			}
		}
	})
}

func BenchmarkLoad(b *testing.B) {
	for b.Loop() {
		load(b)
	}
}
