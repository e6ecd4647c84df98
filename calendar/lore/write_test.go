package lore_test

import (
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"budswell/calendar"
	"budswell/calendar/lore"
)

// TestWriteReadsBackTheSame writes every rule and species and reads them back.
func TestWriteReadsBackTheSame(t *testing.T) {
	base := load(t)
	var text string
	for i := range base.Rules {
		text += lore.WriteRule(&base.Rules[i])[len("rules:\n"):]
	}
	again := load(t, lore.File{Name: "all.yaml", Text: []byte("rules:\n" + text)})
	where := cmpopts.IgnoreFields(calendar.Rule{}, "From")
	for i := range base.Rules {
		r, ok := again.RuleByID(base.Rules[i].ID)
		if !ok {
			t.Fatalf("%s is gone", base.Rules[i].ID)
		}
		if d := cmp.Diff(&base.Rules[i], r, where); d != "" {
			t.Errorf("%s: (-want +got)\n%s", r.ID, d)
		}
	}
	text = ""
	for i := range base.Species {
		text += lore.WriteSpecies(&base.Species[i])[len("species:\n"):]
	}
	again = load(t, lore.File{Name: "all.yaml", Text: []byte("species:\n" + text)})
	for i := range base.Species {
		s, err := again.SpeciesNamed(base.Species[i].Name)
		if err != nil {
			t.Fatal(err)
		}
		if d := cmp.Diff(&base.Species[i], s, cmpopts.IgnoreFields(calendar.Species{}, "From")); d != "" {
			t.Errorf("%s: (-want +got)\n%s", s.Name, d)
		}
	}
}
