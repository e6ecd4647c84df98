package calendar

import (
	"bytes"
	"encoding/json"
	"errors"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"budswell/climate"
	"budswell/climate/phenology"
)

// showLore is the small lore with works that lead up to a show.
func showLore() *Lore {
	l := smallLore()
	no := false
	show := func(days int) Anchor { return Anchor{At: AtShow, Days: days} }
	phase := func(ph phenology.Phase, days int) Anchor { return Anchor{At: AtPhase, Phase: ph, Days: days} }
	l.Works = append(l.Works, Work{ID: "moss", Title: "Dress the surface with moss", Class: Showing}, Work{ID: "show-after", Title: "Bring it home", Class: Showing})
	l.Rules = append(l.Rules,
		Rule{
			ID: "show-pot", Work: WorkPotChange, Opens: phase(phenology.BudSwell, 0), Within: 800,
			Closes: Anchor{Earliest: []Anchor{phase(phenology.LeafOut, -1), show(-280)}}, Rest: 1,
			Needs: []Need{{FieldSoil: &no}}, Why: "The surface settles.", TooLate: "Show it as it stands.", Not: "Heavy root work.",
		},
		Rule{ID: "show-moss", Work: "moss", Opens: show(-28), Closes: show(-14), Why: "It knits.", TooLate: "Lay it thin.", Cautions: []string{"look-first"}},
		Rule{
			ID: "show-day", Work: WorkShow, Opens: show(0), Closes: show(0), Rest: 1, Why: "The day.", TooLate: "Over.",
			Needs: []Need{{Stage: StageExhibition}, {Wired: &no}, {Since: AnyRootWork, Weeks: 40}, {Since: WorkShow, Seasons: 1}},
		},
		Rule{ID: "show-after", Work: "show-after", Opens: show(1), Closes: show(14), Why: "It rests.", TooLate: "Now, then."},
	)
	return l
}

func sampleShows(t *testing.T) *Plan {
	t.Helper()
	p := smallPlannerOf(t, showLore(), "2026-04-10")
	p.outlook.Basis = climate.Basis{Source: "station 7", Years: 30}
	p.Shows = []Show{
		{"winter show", day(t, "2027-02-13"), WinterSilhouette, []string{"ridge"}},
		{"autumn show", day(t, "2026-09-26"), AutumnColour, []string{"ridge"}},
	}
	plan, err := p.Plan([]Tree{{
		ID: "ridge", Name: "ridge maple", Species: maple.Name, Origin: Collected,
		Log: []Entry{
			did(t, "2019-03-20", "collected"), did(t, "2019-06-20", WorkFirstStyle), did(t, "2021-03-28", WorkRepot),
			judged(t, "2024-01-01", StageRefining, Strong),
		},
	}})
	if err != nil {
		t.Fatal(err)
	}
	return plan
}

func TestShowsAsText(t *testing.T) {
	var b bytes.Buffer
	if err := sampleShows(t).WriteText(&b); err != nil {
		t.Fatal(err)
	}
	for line := range strings.Lines(b.String()) {
		if n := len([]rune(line)) - 1; n > 80 {
			t.Errorf("%d characters wide: %s", n, line)
		}
	}
	golden(t, "show.txt", b.Bytes())
}

func TestShowsAsJSON(t *testing.T) {
	data, err := json.MarshalIndent(sampleShows(t), "", "  ")
	if err != nil {
		t.Fatal(err)
	}
	golden(t, "show.json", append(data, '\n'))
	if strings.Contains(string(data), `"none"`) || strings.Contains(string(data), `: ""`) {
		t.Error("holds a day that is no day, or an empty text")
	}
}

func TestReadFileWithShows(t *testing.T) {
	text := goodFile + `shows:
  - {name: winter show, on: 2028-02-12, look: winter-silhouette, trees: [ridge-maple, ridge-maple-the-2nd]}
  - {name: Autumn show, on: 2027-10-20, look: autumn-colour, trees: [ridge-maple]}
`
	f, err := ReadFile("plan.yaml", []byte(text), smallLore(), day(t, "2026-04-01"))
	if err != nil {
		t.Fatal(err)
	}
	want := []Show{
		{"winter show", day(t, "2028-02-12"), WinterSilhouette, []string{"ridge-maple", "ridge-maple-the-2nd"}},
		{"Autumn show", day(t, "2027-10-20"), AutumnColour, []string{"ridge-maple"}},
	}
	if d := cmp.Diff(want, f.Shows, cmpopts.EquateEmpty()); d != "" {
		t.Error(d)
	}
	if err := f.CheckShows(day(t, "2027-10-20")); err != nil {
		t.Errorf("on the day of a show: %v", err)
	}
	err = f.CheckShows(day(t, "2028-02-20"))
	wantErr := `plan.yaml:25:29: shows[1].on: "2028-02-12": lies before today, 2028-02-20; want a day to come (of a show that was, log did: show for each tree and take it out here)
plan.yaml:26:29: shows[2].on: "2027-10-20": lies before today, 2028-02-20; want a day to come (of a show that was, log did: show for each tree and take it out here)`
	if err == nil || !errors.Is(err, ErrInvalid) || err.Error() != wantErr {
		t.Errorf("past shows: %v", err)
	}
	if err := f.CheckShows(day(t, "2012-01-01")); err == nil || strings.Count(err.Error(), "more than 15 years ahead; want a day up to 2027-01-01") != 2 {
		t.Errorf("far shows: %v", err)
	}
}

func TestReadFileWithFaultyShows(t *testing.T) {
	for _, c := range []struct{ shows, want string }{
		{
			`
  - {name: a, on: 2028-02-12, look: bare, trees: [ridge-mapel, ridge maple, nobody, ridge-maple, ridge-maple]}
  - {name: " ", on: 2028-02-12, look: evergreen, trees: [ridge-maple]}
  - {name: a, on: 2028-02-12, look: in-leaf, trees: []}
  - {name: A, on: 2028-02-12, look: in-leaf, trees: [ridge-maple]}
`,
			`plan.yaml:25:37: shows[1].look: "bare": want one of in-leaf, winter-silhouette, autumn-colour, flowering, evergreen
plan.yaml:25:51: shows[1].trees[1]: "ridge-mapel": there is no tree of this id; did you mean ridge-maple?
plan.yaml:25:64: shows[1].trees[2]: "ridge maple": there is no tree of this id; did you mean ridge-maple?
plan.yaml:25:77: shows[1].trees[3]: "nobody": there is no tree of this id
plan.yaml:25:98: shows[1].trees[5]: "ridge-maple": is given twice
plan.yaml:26:12: shows[2].name: " ": want a name of 1 to 200 letters
plan.yaml:26:58: shows[2].trees[1]: "ridge-maple": Acer campestre is never shown "evergreen"; want a show with a look that it gives: in-leaf, winter-silhouette, autumn-colour
plan.yaml:27:12: shows[3].name: "a": show 1 has the same name; give another
plan.yaml:27:53: shows[3].trees: want the ids of the trees that are to be shown
plan.yaml:28:12: shows[4].name: "A": show 1 has the same name; give another`,
		},
		{
			`
  - {name: a, on: 2028-02-30, look: in-leaf, tree: x}
  - none
`,
			`plan.yaml:25:5: shows[1].trees: is missing
plan.yaml:25:19: shows[1].on: "2028-02-30": date "2028-02-30": want a day that exists, written YYYY-MM-DD
plan.yaml:25:46: shows[1]: "tree": there is no such field; did you mean trees?; the fields are look, name, on, trees
plan.yaml:26:5: shows[2]: "none": want fields, each written name: value`,
		},
		{" soon\n", `plan.yaml:24:8: shows: "soon": want a list, written [a, b] or one item a line after a hyphen`},
	} {
		_, err := ReadFile("plan.yaml", []byte(goodFile+"shows:"+c.shows), smallLore(), climate.NoDate)
		if err == nil || !errors.Is(err, ErrInvalid) {
			t.Fatalf("%s: %v", c.shows, err)
		}
		if d := cmp.Diff(c.want, err.Error()); d != "" {
			t.Error(d)
		}
	}
}

// TestLooksOfSpecies: every species can be shown in some way, and no evergreen bare.
func TestLooksOfSpecies(t *testing.T) {
	weeks := 2.0
	for _, c := range []struct {
		species Species
		want    []Look
	}{
		{Species{Group: phenology.Deciduous}, []Look{InLeaf, WinterSilhouette, AutumnColour}},
		{Species{Group: phenology.DeciduousConifer}, []Look{InLeaf, WinterSilhouette, AutumnColour}},
		{Species{Group: phenology.Deciduous, FlowerWeeks: &weeks}, []Look{InLeaf, WinterSilhouette, AutumnColour, Flowering}},
		{Species{Group: phenology.BroadleafEvergreen, FlowerWeeks: &weeks}, []Look{Evergreen, Flowering}},
		{Species{Group: phenology.SingleFlushPine}, []Look{Evergreen}},
		{Species{Group: phenology.FrostTender, FlowerWeeks: &weeks}, []Look{Evergreen}},
	} {
		if d := cmp.Diff(c.want, c.species.Looks()); d != "" {
			t.Error(d)
		}
	}
}

// TestLookIsCountedDrawByDraw compares the chance of a look with one counted by
// hand: with the usual days the leaves harden on days 150 to 169 of the season and
// colour on days 290 to 309, in the same order of draws.
func TestLookIsCountedDrawByDraw(t *testing.T) {
	p := smallPlannerOf(t, smallLore(), "2026-04-10")
	b := p.bench(&Tree{ID: "t"}, maple)
	start := p.outlook.Site.SeasonStart(2026)
	for _, c := range []struct {
		look   Look
		on     int // day of the season
		chance float64
	}{
		{InLeaf, 149, 0},
		{InLeaf, 150, 1.0 / draws},
		{InLeaf, 159, 10.0 / draws},
		{InLeaf, 169, 1},
		{InLeaf, 289, 1},
		{InLeaf, 290, 19.0 / draws},
		{InLeaf, 309, 0},
		{AutumnColour, 290, 1.0 / draws},
		{AutumnColour, 309, 1},
		{AutumnColour, 310, 19.0 / draws},
		{AutumnColour, 329, 0},
		{WinterSilhouette, 325, 1.0 / draws},
		{WinterSilhouette, 360, 1},
		{WinterSilhouette, 365 + 79, 1},
		{WinterSilhouette, 365 + 80, 19.0 / draws},
	} {
		got := b.timing.lookOn(c.look, start+climate.Date(c.on))
		if diff := got.Chance - c.chance; diff > 1e-9 || diff < -1e-9 {
			t.Errorf("%s on day %d: %v, want %v", c.look, c.on, got.Chance, c.chance)
		}
	}
	l := b.timing.lookOn(AutumnColour, start+260)
	if l.From < start+304 || l.To > start+314 || l.Best != 1 || !strings.Contains(l.Says, "about six weeks later here") && !strings.Contains(l.Says, "about five weeks later here") {
		t.Errorf("%+v", l)
	}
}
