package calendar

import (
	"fmt"
	"strings"
	"testing"

	"budswell/climate"
)

func TestSheet(t *testing.T) {
	today := climate.NewDate(2027, 4, 12)
	text := "\ufeffSpecies;NAME;origin;last_repot;Note\n" +
		"field maple;Ridge;collected;2025;\"one; two\nthree\"\n" +
		"\n" +
		"field mapel;Slope;collected;;\n" +
		"Acer campestre;ridge;collected;2099;\n" +
		"Acer campestre;東の楓;nursery;;;;\n" +
		"Acer campestre;much;nursery;;;x\n"
	s := ReadSheet(text, draftLore(), draftPlace, nil, today)
	if len(s.Faults) > 0 || len(s.Rows) != 5 {
		t.Fatalf("%+v", s)
	}
	trees := s.Trees()
	if len(trees) != 2 || trees[0].Note != "one; two\nthree" || trees[1].ID != "東の楓" {
		t.Errorf("%+v", trees)
	}
	var told []string
	for _, r := range s.Rows {
		for _, f := range r.Faults {
			told = append(told, fmt.Sprintf("%d %s %q", r.Line, f.Field, f.Value))
		}
	}
	if got, want := strings.Join(told, "\n"), "5 species \"field mapel\"\n6 name \"ridge\"\n6 last repot \"2099\"\n8  \"x\""; got != want {
		t.Errorf("faults\n%s\nwant\n%s", got, want)
	}
	if got, want := s.Bad(), "Species;NAME;origin;last_repot;Note\nfield mapel;Slope;collected;;\nAcer campestre;ridge;collected;2099;\nAcer campestre;much;nursery;;;x\n"; got != want {
		t.Errorf("bad rows:\n%s", got)
	}
	again := ReadSheet(s.Bad(), draftLore(), draftPlace, nil, today)
	if len(again.Rows) != 3 || len(again.Rows[0].Faults) == 0 {
		t.Errorf("the bad rows read again: %+v", again)
	}
}

func TestSheetFaults(t *testing.T) {
	for text, want := range map[string]string{
		"":                                 "names the columns",
		"name,species\nx,y":                `"origin" is missing`,
		"name,species,orgin\nx,y,z":        "did you mean",
		"name,name,species,origin\n":       "twice",
		"name,species,origin\n":            "a row for each tree",
		"name,species,origin\n\"x,y,z\n":   "quotation mark",
		"name,species,origin\nx\xff,y,z\n": "UTF-8",
		"name\x00,species,origin\n":        "UTF-8",
		"name,species,origin\n" + strings.Repeat("x,y,z\n", MostRows+1): "1000 trees at most",
	} {
		s := ReadSheet(text, draftLore(), draftPlace, nil, climate.NewDate(2027, 4, 12))
		if len(s.Rows) > 0 || len(s.Faults) != 1 || !strings.Contains(s.Faults[0].Want, want) {
			t.Errorf("%.40q: %+v", text, s.Faults)
		}
	}
}

func FuzzSheet(f *testing.F) {
	f.Add("name,species,origin\nx,field maple,collected\n")
	f.Add("name;species;origin;last repot\n\"a\";Acer;nursery;2024-02-30\n")
	f.Add("\ufeffname\tspecies\torigin\tlitres\nx\tAcer\tnursery\t1e9\n")
	f.Fuzz(func(t *testing.T, text string) {
		s := ReadSheet(text, draftLore(), draftPlace, nil, climate.NewDate(2027, 4, 12))
		ids := map[string]bool{}
		for _, tree := range s.Trees() {
			if tree.Name == "" || ids[tree.ID] {
				t.Errorf("tree %q of %q", tree.ID, text)
			}
			ids[tree.ID] = true
		}
		for _, r := range s.Rows {
			if (r.Tree == nil) != (len(r.Faults) > 0) {
				t.Errorf("row %+v", r)
			}
		}
	})
}
