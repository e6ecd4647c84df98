package phenology

import (
	"strings"
	"testing"

	"budswell/climate"
)

func TestReadSightings(t *testing.T) {
	none := climate.NoDate
	acer := SightingDefaults{Tree: "one", Species: "Acer campestre", Phase: BudBreak}
	for _, c := range []struct {
		name     string
		text     string
		defaults SightingDefaults
		want     []Sighting
	}{
		{
			"by date, columns in any order, others passed over",
			"phase,tree,note,date,species\nleaf-out,ridge,cold,2024-04-30,Acer campestre\n",
			SightingDefaults{},
			[]Sighting{{"ridge", "Acer campestre", LeafOut, climate.NewDate(2024, 4, 30), none}},
		},
		{
			"by day of a leap year, all else given",
			"year,doy\n2024,366\n2023,\n", acer,
			[]Sighting{{"one", "Acer campestre", BudBreak, climate.NewDate(2024, 12, 31), none}},
		},
		{
			"by a column of the day that is called otherwise",
			"year,tree,species,bb_doy\n2024,a,ACRU,60\n",
			SightingDefaults{Phase: BudBreak, Day: "bb_doy"},
			[]Sighting{{"a", "ACRU", BudBreak, climate.NewDate(2024, 2, 29), none}},
		},
		{
			"with a byte order mark and blanks",
			"\ufeffDate , Tree\n 2024-02-29 , a \n", acer,
			[]Sighting{{"a", "Acer campestre", BudBreak, climate.NewDate(2024, 2, 29), none}},
		},
	} {
		t.Run(c.name, func(t *testing.T) {
			got, err := ReadSightings("s.csv", strings.NewReader(c.text), c.defaults)
			if err != nil {
				t.Fatal(err)
			}
			if len(got) != len(c.want) {
				t.Fatalf("got %v, want %v", got, c.want)
			}
			for i := range got {
				if got[i] != c.want[i] {
					t.Errorf("sighting %d: got %v, want %v", i, got[i], c.want[i])
				}
			}
		})
	}
}

func TestReadSightingsRefuses(t *testing.T) {
	for _, c := range []struct{ text, want string }{
		{"", "s.csv:1: the file is empty"},
		{"tree,species\n", "want a column date, or columns year and doy"},
		{"date,tree,species\n", "want a column phase"},
		{"date,tree,species,phase\n2024-04-30,a,Acer,opened\n", `s.csv:2: phase: "opened"`},
		{"date,tree,species,phase\n2024-04-30,,Acer,leaf-out\n", `s.csv:2: tree: ""`},
		{"date,tree,species,phase\n2023-02-29,a,Acer,leaf-out\n", `s.csv:2: date "2023-02-29"`},
		{"year,doy,tree,species,phase\n2023,366,a,Acer,leaf-out\n", `s.csv:2: doy: "366": want a day of the year 2023 from 1 to 365`},
		{"year,doy,tree,species,phase\n23,36,a,Acer,leaf-out\n", `s.csv:2: year: "23"`},
		{"date,tree,species,phase\n2024-04-30,a\n", "wrong number of fields"},
	} {
		_, err := ReadSightings("s.csv", strings.NewReader(c.text), SightingDefaults{})
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%q: got error %v, want one with %q", c.text, err, c.want)
		}
	}
}

// FuzzReadSightings: what is read is a day of a known phase on a named tree.
func FuzzReadSightings(f *testing.F) {
	f.Add("date,tree,species,phase\n2024-04-30,a,Acer campestre,leaf-out\n")
	f.Add("year,doy,tree,species,phase\n2024,366,a,b,bud-swell\n2023,,a,b,bud-swell\n")
	f.Add("date,\"tree\nx\",species,phase\r\n")
	f.Fuzz(func(t *testing.T, text string) {
		got, err := ReadSightings("s.csv", strings.NewReader(text), SightingDefaults{Tree: "t", Species: "s", Phase: BudBreak})
		if err != nil {
			if !strings.HasPrefix(err.Error(), "s.csv:") {
				t.Fatalf("error %q does not name the file", err)
			}
			return
		}
		for _, s := range got {
			if !s.On.Valid() || s.Tree == "" || s.Species == "" {
				t.Fatalf("incomplete sighting %v", s)
			}
			if _, err := ParsePhase(string(s.Phase)); err != nil {
				t.Fatal(err)
			}
		}
	})
}
