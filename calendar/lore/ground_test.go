package lore_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"budswell/calendar"
	"budswell/calendar/lore"
	"budswell/climate"
)

func ground(t testing.TB, files ...lore.File) *lore.Ground {
	t.Helper()
	g, err := lore.NewGround(files...)
	if err != nil {
		t.Fatal(err)
	}
	return g
}

func by(layer calendar.Layer, name, text string) lore.File {
	return lore.File{Name: name, Text: []byte(text), From: calendar.From{Layer: layer, Name: name, Since: climate.NewDate(2027, 3, 1)}}
}

// TestLayers: a club's words hold over what is built in, a grower's over the club's; an
// amendment changes only what it gives.
func TestLayers(t *testing.T) {
	g := ground(t)
	base, _ := g.Lore().RuleByID("repot-deciduous")
	club := by(calendar.LayerClub, "hills", `
rules:
  - id: repot-deciduous
    amends: true
    opens: {at: date, date: 03-10}
    rest: 2
species:
  - name: Acer campestre
    amends: true
    common: [ridge maple, field maple]
`)
	own := by(calendar.LayerGrower, "ada", `
rules:
  - {id: repot-deciduous, amends: true, rest: 1.5, source: "own notes, from memory"}
`)
	l, left := g.With([]lore.File{club}, []lore.File{own})
	if len(left) > 0 {
		t.Fatal(left)
	}
	r, _ := l.RuleByID("repot-deciduous")
	if r.Rest != 1.5 || r.Opens.At != calendar.AtDate || r.Opens.Phase != "" || r.Minutes != base.Minutes || len(r.Needs) != len(base.Needs) {
		t.Errorf("it is %+v", r)
	}
	if r.Source != "own notes, from memory" || r.From.Layer != calendar.LayerGrower || r.From.Over.Layer != calendar.LayerClub || r.From.Over.Over.File != "lore/rules/repot-broadleaf.yaml" {
		t.Errorf("it is from %s: %+v", r.Source, r.From)
	}
	if got := r.From.Words() + "; " + r.From.Over.Words() + "; " + base.From.Words(); got != "your own since 2027-03-01; club hills since 2027-03-01; built in" {
		t.Error(got)
	}
	s, err := l.SpeciesNamed("ridge maple")
	if err != nil || s.Name != "Acer campestre" || s.CrownHardy == nil || !strings.Contains(s.Sources["common"], "from memory") || s.From.Layer != calendar.LayerClub {
		t.Errorf("species: %v %+v", err, s)
	}
	if again, _ := g.Lore().RuleByID("repot-deciduous"); again.Opens.At != calendar.AtPhase || again.Rest != 1 {
		t.Errorf("the ground was changed: %+v", again)
	}
	if same, _ := g.With(nil, nil); same != g.Lore() {
		t.Error("growers without rules of their own do not share the lore")
	}
}

// TestOff: a rule that is switched off is planned for nobody, and can be found.
func TestOff(t *testing.T) {
	g := ground(t)
	l, left := g.With([]lore.File{by(calendar.LayerGrower, "ada", "rules: [{id: repot-deciduous, amends: true, off: true}]")})
	if _, ok := l.RuleByID("repot-deciduous"); ok || len(left) > 0 || len(l.Off) != 1 || l.Off[0].ID != "repot-deciduous" {
		t.Errorf("off: %v, left %v", l.Off, left)
	}
	if len(l.Rules) != len(g.Lore().Rules)-1 {
		t.Errorf("%d rules", len(l.Rules))
	}
}

// TestLeftOut: what has a fault is left out with its faults, as a whole, and all else
// holds, in whatever order it stands.
func TestLeftOut(t *testing.T) {
	g := ground(t)
	with := func(texts ...string) (*calendar.Lore, []lore.Left) {
		var files []lore.File
		for i, text := range texts {
			files = append(files, by(calendar.LayerGrower, fmt.Sprintf("own %d", i+1), text))
		}
		return g.With(files)
	}
	good := "rules: [{id: repot-deciduous, amends: true, rest: 2}]"
	l, left := with("rules: [{id: gone-by-now, amends: true, rest: 2}]", good, "rules: [{id: repot-deciduous-refined, amends: true, rest: 7}]", "rules: [")
	if r, _ := l.RuleByID("repot-deciduous"); r.Rest != 2 {
		t.Error("the good one does not hold")
	}
	if r, _ := l.RuleByID("repot-deciduous-refined"); r.Rest != 1 {
		t.Error("the bad one holds")
	}
	var said []string
	for _, v := range left {
		said = append(said, v.Faults.Error())
	}
	want := []string{
		"own 1:1:9: rule gone-by-now: there is no such rule to amend; leave amends out and give all of it",
		`own 3:1:59: rule repot-deciduous-refined: rest: "7": want 0 to 4 growing seasons`,
		"own 4:1:8: is not YAML: sequence end token ']' not found",
	}
	if d := cmp.Diff(want, said); d != "" {
		t.Error(d)
	}

	// One that needs another which stands after it.
	l, left = with("rules: [{id: repot-deciduous, amends: true, cautions: [mine]}]", "cautions: [{id: mine, text: Mind it.}]", "works: [")
	if r, _ := l.RuleByID("repot-deciduous"); len(left) != 1 || len(r.Cautions) != 1 || r.Cautions[0] != "mine" {
		t.Errorf("left out: %v", left)
	}
	// Two that cannot both be: the first holds.
	l, left = with(good, "rules: [{id: repot-deciduous, amends: true, rest: 3}]")
	if r, _ := l.RuleByID("repot-deciduous"); r.Rest != 2 || len(left) != 1 || left[0].File.Name != "own 2" {
		t.Errorf("rest %v, left out: %v", r.Rest, left)
	}
}

// TestAmendFaults: each fault says where it is and what would be right.
func TestAmendFaults(t *testing.T) {
	for text, want := range map[string]string{
		"rules: [{id: repot-deciduouss, amends: true, rest: 1}]":                                                        `ada:1:9: rule repot-deciduouss: there is no such rule to amend (such as repot-deciduous, repot-deciduous-conifer, repot-deciduous-conifer-field-soil, repot-deciduous-field-soil, repot-deciduous-refined, repot-deciduous-sensitive, repot-deciduous-sensitive-field-soil); leave amends out and give all of it`,
		"rules: [{id: repot-deciduous, amends: maybe, rest: 1}]":                                                        `ada:1:39: rule repot-deciduous: amends: "maybe": want true or false`,
		"rules: [{id: repot-deciduous, amends: false, rest: 1}]":                                                        `ada:1:39: rule repot-deciduous: amends: "false": want true, or the field left out where the row is whole`,
		"rules: [{id: repot-deciduous, amends: true, closes: {at: date, date: 01-01}, opens: {at: date, date: 05-01}}]": `ada:1:53: rule repot-deciduous: closes: the window closes before it opens, whatever the weather; want a later end, or next: true for one in the season after`,
		"rules: [{id: repot-deciduous, amends: true, of: true}]":                                                        "there is no such field",
		"rules: [{amends: true}]":                                                                                       "has no id",
		"species: [{name: Acer campestre, amends: true, crown_hardy: -90}]":                                             `ada:1:61: species Acer campestre: crown_hardy: "-90": want -60 to 15 C`,
	} {
		_, left := ground(t).With([]lore.File{by(calendar.LayerGrower, "ada", text)})
		if len(left) != 1 || !strings.Contains(left[0].Faults.Error(), want) {
			t.Errorf("%s:\ngot  %v\nwant %s", text, left, want)
		}
	}
}

func BenchmarkWith(b *testing.B) {
	g := ground(b)
	for _, c := range []struct{ name, text string }{
		{"one rule", "rules: [{id: repot-deciduous, amends: true, rest: 2}]"},
		{"a fault", "rules: [{id: repot-deciduous, amends: true, rest: 7}]"},
	} {
		b.Run(c.name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				g.With([]lore.File{by(calendar.LayerGrower, "ada", c.text)})
			}
		})
	}
}
