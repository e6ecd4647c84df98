package lore_test

import (
	"os"
	"strings"
	"testing"

	"budswell/calendar"
	"budswell/calendar/lore"
	"budswell/climate"
)

// TestReadme checks every example of the README and plans a tree with it: what the text
// above each says is what changes.
func TestReadme(t *testing.T) {
	text, err := os.ReadFile("README.md")
	if err != nil {
		t.Fatal(err)
	}
	var examples []string
	for _, part := range strings.Split(string(text), "```yaml\n")[1:] {
		example, _, _ := strings.Cut(part, "```")
		examples = append(examples, example)
	}
	want := []string{
		"Moves: First repot out of field soil",
		"Goes: First repot out of field soil",
		"Comes: Mist the moss",
	}
	if len(examples) != len(want) {
		t.Fatalf("%d examples, want %d", len(examples), len(want))
	}
	g := ground(t)
	for i, example := range examples {
		l, left := g.With([]lore.File{{Name: "README.md", Text: []byte(example)}})
		if len(left) > 0 {
			t.Fatalf("example %d: %v", i+1, left[0].Faults)
		}
		d := calendar.Differ(mapleYear(t, g.Lore()), mapleYear(t, l))
		var b strings.Builder
		if err := d.WriteText(&b); err != nil {
			t.Fatal(err)
		}
		if !strings.Contains(b.String(), want[i]) {
			t.Errorf("example %d: want %q\n%s", i+1, want[i], &b)
		}
	}
	// The window never opens before the day that the first example names.
	l, _ := g.With([]lore.File{{Name: "README.md", Text: []byte(examples[0])}})
	for _, w := range mapleYear(t, l).Trees[0].Works {
		if w.Rule.ID == "repot-deciduous-field-soil" && w.Window.Opens.P10.Valid() && w.Window.Opens.P10.YearDay() < climate.NewDate(2027, 3, 20).YearDay() {
			t.Errorf("opens %v", w.Window.Opens)
		}
	}
	// And what the last one warns of is said with its work.
	l, _ = g.With([]lore.File{{Name: "README.md", Text: []byte(examples[2])}})
	r, ok := l.RuleByID("my-moss")
	if !ok || !strings.Contains(strings.Join(l.CautionTexts(r, nil), " "), "In the chalk hills: Tap water there") {
		t.Errorf("cautions of %+v", r)
	}
}

// mapleStand is a collected maple, to be planned from February on.
func mapleStand(t *testing.T, l *calendar.Lore) (*calendar.Stand, *calendar.Planner) {
	t.Helper()
	site := climate.Site{Name: "bench", Lat: 50, Lon: 8, Elevation: 120, Zone: "Europe/Berlin"}
	weather := climate.Weather{Normals: &climate.Normals{
		Tmin: [12]float64{-2, -1, 2, 5, 9, 12, 14, 14, 10, 6, 2, -1}, Tmax: [12]float64{3, 5, 10, 15, 20, 23, 25, 25, 20, 14, 8, 4},
	}}
	outlook, err := weather.Outlook(site, climate.NewDate(2027, 2, 1))
	if err != nil {
		t.Fatal(err)
	}
	some := 0.8
	stands, err := calendar.Stands(outlook, nil, []calendar.Tree{{
		ID: "maple", Name: "ridge maple", Species: "Acer campestre", Origin: calendar.Collected, FieldSoil: &some,
		Log: []calendar.Entry{{On: climate.NewDate(2025, 3, 20), Did: "collect"}, {On: climate.NewDate(2026, 10, 1), Judged: &calendar.Judgement{Stage: calendar.StageBaseWork, Strength: calendar.Strong}}},
	}})
	if err != nil {
		t.Fatal(err)
	}
	planner, _, err := stands[0].Planner(l, nil)
	if err != nil {
		t.Fatal(err)
	}
	return &stands[0], planner
}

// mapleYear plans it.
func mapleYear(t *testing.T, l *calendar.Lore) *calendar.Plan {
	t.Helper()
	stand, planner := mapleStand(t, l)
	plan, err := planner.Plan(stand.Trees)
	if err != nil {
		t.Fatal(err)
	}
	return plan
}

// TestEachRuleSwitchedOff: any rule can be switched off, also all of a work at once, and a
// tree is planned, and its years are drawn, without.
func TestEachRuleSwitchedOff(t *testing.T) {
	g := ground(t)
	off := map[string]string{}
	for _, r := range g.Lore().Rules {
		row := "  - {id: " + r.ID + ", amends: true, off: true}\n"
		off[r.Work] += row
		if _, left := g.With([]lore.File{{Name: "off.yaml", Text: []byte("rules:\n" + row)}}); len(left) > 0 {
			t.Errorf("%s cannot be switched off: %v", r.ID, left[0].Faults)
		}
	}
	for _, work := range []string{calendar.WorkShow, calendar.WorkCollect, calendar.WorkRepot, calendar.WorkFirstStyle} {
		l, left := g.With([]lore.File{{Name: "off.yaml", Text: []byte("rules:\n" + off[work])}})
		if len(left) > 0 {
			t.Errorf("%s: %v", work, left[0].Faults)
			continue
		}
		for _, w := range mapleYear(t, l).Trees[0].Works {
			if w.Work.ID == work {
				t.Errorf("%s is planned by %s though it is off", work, w.Rule.ID)
			}
		}
		stand, planner := mapleStand(t, l)
		if _, err := planner.Years(stand.Trees, calendar.RoadmapOptions{}); err != nil {
			t.Errorf("years without %s: %v", work, err)
		}
	}
}

// FuzzWith lays any text over the lore as a grower's: it is taken or left out with faults
// that say where, and nothing else of the lore is lost.
func FuzzWith(f *testing.F) {
	text, err := os.ReadFile("README.md")
	if err != nil {
		f.Fatal(err)
	}
	for _, part := range strings.Split(string(text), "```yaml\n")[1:] {
		example, _, _ := strings.Cut(part, "```")
		f.Add(example)
	}
	f.Add("rules: [{id: repot-deciduous, amends: true, needs: [], opens: {latest: [{at: date, date: 02-29}, {at: show}]}}]")
	f.Add("species: [{name: Acer campestre, amends: true, sources: {repot: from memory}, repot: {young: 1, building: 1, refined: 1}}]")
	g, err := lore.NewGround()
	if err != nil {
		f.Fatal(err)
	}
	other := lore.File{Name: "other", Text: []byte("rules: [{id: pot-change-broadleaf-not-there, amends: true}]")}
	f.Fuzz(func(t *testing.T, text string) {
		l, left := g.With([]lore.File{other, {Name: "own", Text: []byte(text)}})
		if len(l.Rules)+len(l.Off) < len(g.Lore().Rules) || len(l.Species) < len(g.Lore().Species) {
			t.Fatalf("rules are lost by %q", text)
		}
		for _, v := range left {
			for _, fault := range v.Faults {
				if fault.Line < 1 || fault.Wrong == "" {
					t.Errorf("fault without a place or a reason: %#v", fault)
				}
			}
		}
		lore.Subjects([]byte(text))
	})
}
