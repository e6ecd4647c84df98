package calendar

import (
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"budswell/climate"
)

var draftPlace = &Place{
	Site:    climate.Site{Name: "here", Lat: 50, Lon: 8, Zone: "Europe/Berlin"},
	Benches: []Bench{{ID: "top", Name: "Top"}},
}

func draftLore() *Lore {
	return &Lore{
		Species: []Species{{Name: "Acer campestre", Common: []string{"field maple"}, Group: "deciduous"}},
		Works:   []Work{{ID: WorkCollect, Title: "Collect", Class: Collecting}, {ID: WorkRepot, Title: "Repot", Class: Roots}, {ID: WorkGone, Title: "Gone", Class: Health}},
	}
}

func TestDraft(t *testing.T) {
	today := climate.NewDate(2027, 4, 12)
	d := Draft{
		Name: "  Höhen  Ahorn ", Species: "field maple", Origin: "Field grown", HadSince: "2021", Repotted: "2024-03", Strength: "Strong", Stage: "first styling",
		Bench: "top", Container: "Training pot", Litres: "4,5", Note: "leans left",
	}
	got, faults := d.Tree(draftLore(), draftPlace, nil, today)
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	want := &Tree{
		ID: "höhen-ahorn", Name: "Höhen Ahorn", Species: "Acer campestre", Origin: FieldGrown, Bench: "top", Note: "leans left",
		Container: Container{Kind: TrainingPot, Litres: 4.5},
		Log: []Entry{
			{On: climate.NewDate(2021, 3, 15), Did: WorkCollect},
			{On: climate.NewDate(2024, 3, 15), Did: WorkRepot},
			{On: today, Judged: &Judgement{Stage: "first-styling", Strength: Strong}},
		},
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
	south := *draftPlace
	south.Site.Lat = -37
	if got, _ := (&Draft{Name: "a", Species: "Acer", Origin: "collected", HadSince: "2021"}).Tree(draftLore(), &south, nil, today); got == nil || got.Log[0].On != climate.NewDate(2021, 9, 15) {
		t.Errorf("in the south a year is %+v", got)
	}
	bought := Draft{Name: "a", Species: "Acer", Origin: "nursery", HadSince: "2021-05", Note: "x"}
	if got, _ := bought.Tree(draftLore(), draftPlace, nil, today); got == nil || len(got.Log) != 0 || got.Note != "x\nHad since 2021-05." {
		t.Errorf("bought: %+v", got)
	}
}

func TestDraftFaults(t *testing.T) {
	today := climate.NewDate(2027, 4, 12)
	good := Draft{Name: "ridge", Species: "Acer campestre", Origin: "collected"}
	kept := []Kept{{Tree: Tree{ID: "twin", Name: "Twin"}}, {Tree: Tree{ID: "twin-2", Name: "Twin 2"}}}
	for _, row := range []struct {
		field, value, want string
	}{
		{"name", "", "1 to 200 letters"},
		{"name", strings.Repeat("x", 201), "1 to 200 letters"},
		{"name", "twin", `"twin 3"`},
		{"name", "a\xffb", "UTF-8"},
		{"species", "Acer campestra", "Acer campestre"},
		{"species", "", "want"},
		{"origin", "", "want one of collected"},
		{"origin", "found", "collected"},
		{"had since", "2027-04-13", "up to today"},
		{"had since", "spring", "2021-03-20"},
		{"had since", "2021-13", "2021-03-20"},
		{"had since", "2021-02-29", "2021-03-20"},
		{"had since", "0021", "150 years"},
		{"last repot", "2028", "up to today"},
		{"strength", "robust", "weak, recovering, strong"},
		{"stage", "old", "want one of"},
		{"bench", "roof", "Top"},
		{"container", "bucket", "training pot"},
		{"litres", "NaN", "0.05 to 500"},
		{"litres", "501", "0.05 to 500"},
		{"note", strings.Repeat("x", 2001), "2000 letters"},
	} {
		d := good
		for _, f := range DraftFields() {
			if f.Name == row.field {
				*f.Of(&d) = row.value
			}
		}
		tree, faults := d.Tree(draftLore(), draftPlace, kept, today)
		if tree != nil || !slices.ContainsFunc(faults, func(f DraftFault) bool { return f.Field == row.field && strings.Contains(f.Want, row.want) }) {
			t.Errorf("%s %.20q: %+v", row.field, row.value, faults)
		}
	}
	d := good
	d.HadSince, d.Repotted = "2024-05-01", "2023"
	if _, faults := d.Tree(draftLore(), draftPlace, nil, today); len(faults) == 0 || faults[0].Field != "last repot" {
		t.Errorf("repotted before it was dug: %+v", faults)
	}
	if (&Draft{Note: " "}).Empty() == false || good.Empty() {
		t.Error("what is empty is wrong")
	}
}

func TestGoneTreesAreInNoPlan(t *testing.T) {
	on := climate.NewDate(2027, 4, 12)
	trees := []Tree{{ID: "a", Log: []Entry{{On: on, Did: WorkGone}}}, {ID: "b", Log: []Entry{{On: on + 1, Did: WorkGone}}}}
	stands, err := Stands(&climate.Outlook{Issue: on, First: on - 400}, nil, trees)
	if err != nil || len(stands) != 1 || len(stands[0].Trees) != 1 || stands[0].Trees[0].ID != "b" {
		t.Errorf("%+v %v", stands, err)
	}
}
