package calendar_test

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"budswell/calendar"
	"budswell/climate"
)

// kinds are the kinds of tree of the simulated population, each dug on a usual day.
var kinds = []struct{ species, dug string }{
	{"Acer campestre", "2026-03-20"},
	{"Carpinus betulus", "2026-03-20"},
	{"Fagus sylvatica", "2026-04-05"},
	{"Larix decidua", "2026-03-20"},
	{"Pinus sylvestris", "2026-04-08"},
	{"Juniperus communis", "2026-04-08"},
	{"Taxus baccata", "2026-04-08"},
}

// populate draws the lives of 1,000 trees of a kind, dug on a day and known by
// nothing else, at the temperate place.
func populate(t testing.TB, species, dug string) []calendar.Life {
	t.Helper()
	trees := make([]calendar.Tree, 1000)
	for i := range trees {
		trees[i] = dugTree(fmt.Sprintf("%s %d", species, i), species, d(t, dug))
	}
	lives, err := planner(t, "temperate", dug).Lives(trees, 15)
	if err != nil {
		t.Fatal(err)
	}
	return lives
}

func dugTree(id, species string, on climate.Date) calendar.Tree {
	return calendar.Tree{ID: id, Name: id, Species: species, Origin: calendar.Collected, Log: []calendar.Entry{{On: on, Did: calendar.WorkCollect}}}
}

// A population of 1,000 trees of each kind comes to the bench as growers know it
// (common practice, no published source): five to ten years from collecting to
// exhibition for healthy trees, deciduous ones on average later than conifers, and in
// every single life at least one repot before the first styling, no field soil left
// before the second, a conifer's field soil gone in no fewer than two steps, two growing
// seasons or more apart, a rest between hard works, and no wire on a tree that is shown.
// How long the timed stages take is data that was chosen with these values in view; the
// windows, needs, rests and orders were not.
func TestPopulationComesToTheBench(t *testing.T) {
	var table strings.Builder
	fmt.Fprintf(&table, "Years from collecting to each stage, 10/50/90 %% of 1,000 trees a kind at a temperate place, as far as they come within 15 years.\n")
	fmt.Fprintf(&table, "healthy: those without setback or missed window.\n\n%-19s", "")
	for _, s := range calendar.Stages()[1:] {
		fmt.Fprintf(&table, " %-14s", s)
	}
	fmt.Fprintf(&table, " %-14s %-7s %s\n", "healthy", "healthy", "in 15 years")
	mean := map[bool][]float64{}
	for _, kind := range kinds {
		l, err := loadLore()
		if err != nil {
			t.Fatal(err)
		}
		s, err := l.SpeciesNamed(kind.species)
		if err != nil {
			t.Fatal(err)
		}
		dug := d(t, kind.dug)
		lives := populate(t, kind.species, kind.dug)
		years := map[calendar.Stage][]float64{}
		var healthy []float64
		for i, life := range lives {
			if why := wrongOrder(life, s.Conifer()); why != "" {
				t.Fatalf("%s, life %d: %s:\n%s", kind.species, i, why, tell(life))
			}
			for _, e := range life.Events {
				if e.Stage != "" {
					years[e.Stage] = append(years[e.Stage], float64(e.On-dug)/365.25)
				}
			}
			if life.Ready.Valid() && !life.Setback {
				healthy = append(healthy, float64(life.Ready-dug)/365.25)
			}
		}
		fmt.Fprintf(&table, "%-19s", kind.species)
		for _, st := range calendar.Stages()[1:] {
			fmt.Fprintf(&table, " %-14s", deciles(years[st]))
		}
		ready := years[calendar.StageExhibition]
		fmt.Fprintf(&table, " %-14s %4.1f %%  %.1f %%\n", deciles(healthy), float64(len(healthy))/10, float64(len(ready))/10)

		if p10, p90 := at10(healthy), at90(healthy); p10 < 5 || p90 > 10 {
			t.Errorf("%s: healthy trees take %.1f to %.1f years, want within 5 to 10", kind.species, p10, p90)
		}
		if len(healthy) < 300 {
			t.Errorf("%s: only %d of 1,000 trees were healthy throughout", kind.species, len(healthy))
		}
		if len(ready) < 950 {
			t.Errorf("%s: only %d of 1,000 trees came to the bench in 15 years", kind.species, len(ready))
		}
		sum := 0.0
		for _, y := range ready {
			sum += y
		}
		mean[s.Conifer()] = append(mean[s.Conifer()], sum/float64(len(ready)))
	}
	if conifers, deciduous := average(mean[true]), average(mean[false]); deciduous <= conifers {
		t.Errorf("deciduous trees take %.2f years on average and conifers %.2f; want deciduous later", deciduous, conifers)
	} else {
		fmt.Fprintf(&table, "\nmean to exhibition: deciduous %.2f years, conifers %.2f\n", deciduous, conifers)
	}
	t.Log("\n" + table.String())
	goldenText(t, "population.txt", table.String())
}

func average(v []float64) float64 {
	sum := 0.0
	for _, x := range v {
		sum += x
	}
	return sum / float64(len(v))
}

func at10(v []float64) float64 { slices.Sort(v); return v[len(v)/10] }

func at90(v []float64) float64 { slices.Sort(v); return v[len(v)*9/10] }

func deciles(v []float64) string {
	if len(v) == 0 {
		return "never"
	}
	return fmt.Sprintf("%.1f/%.1f/%.1f", at10(v), func() float64 { slices.Sort(v); return v[len(v)/2] }(), at90(v))
}

// wrongOrder says what is out of order in a life, or nothing.
func wrongOrder(life calendar.Life, conifer bool) string {
	hard := map[string]bool{calendar.WorkRepot: true, calendar.WorkFirstStyle: true, calendar.WorkSecondStyle: true, calendar.WorkPotChange: true}
	repots, steps := 0, 0
	soil := 1.0
	var lastSoil, lastHard climate.Date = climate.NoDate, climate.NoDate
	reached := calendar.StageCollected
	for i, e := range life.Events {
		if i > 0 && e.On < life.Events[i-1].On {
			return "runs back in time"
		}
		if e.Stage != "" {
			if slices.Index(calendar.Stages(), e.Stage) != slices.Index(calendar.Stages(), reached)+1 {
				return fmt.Sprintf("from %s to %s", reached, e.Stage)
			}
			reached = e.Stage
			if e.Stage == calendar.StageExhibition && e.Wire {
				return "shown in wire" // conifers may have a little, put on later; that of the styling is off
			}
			continue
		}
		if hard[e.Work] {
			// A season's rest that begins in April is over in late summer.
			if lastHard.Valid() && e.On-lastHard < 120 {
				return e.Work + " without a rest since the hard work before"
			}
			lastHard = e.On
		}
		switch e.Work {
		case calendar.WorkRepot:
			repots++
			if e.FieldSoil < soil {
				steps++
				if conifer && soil-e.FieldSoil > 0.5 {
					return "more than half of a conifer's root ball at a time"
				}
				if conifer && lastSoil.Valid() && e.On-lastSoil < 600 {
					return "a conifer's field soil taken twice in two years"
				}
				lastSoil, soil = e.On, e.FieldSoil
			}
		case calendar.WorkFirstStyle:
			if repots == 0 {
				return "styled before it was repotted"
			}
		case calendar.WorkSecondStyle:
			switch {
			case soil > 0:
				return "styled for the second time with field soil left"
			case conifer && steps < 2:
				return "a conifer's field soil went in one step"
			case e.Wire && i > 0 && life.Events[i-1].Wire:
				return "wired over the wire of the first styling"
			}
		}
	}
	if life.Ready.Valid() && reached != calendar.StageExhibition {
		return "ready before the last stage"
	}
	return ""
}

// tell writes a life down.
func tell(life calendar.Life) string {
	var b strings.Builder
	for _, e := range life.Events {
		fmt.Fprintf(&b, "  %v %s%s, field soil %.1f, wire %v\n", e.On, e.Stage, e.Work, e.FieldSoil, e.Wire)
	}
	return b.String()
}

// Each check of the order of a life can fail.
func TestWrongOrderIsSeen(t *testing.T) {
	ev := func(on, what string, soil float64, wire bool) calendar.LifeEvent {
		e := calendar.LifeEvent{On: d(t, on), FieldSoil: soil, Wire: wire}
		if slices.Contains(calendar.Stages(), calendar.Stage(what)) {
			e.Stage = calendar.Stage(what)
		} else {
			e.Work = what
		}
		return e
	}
	for _, test := range []struct {
		why     string
		conifer bool
		events  []calendar.LifeEvent
	}{
		{"styled before it was repotted", false, []calendar.LifeEvent{ev("2028-06-01", "first-style", 1, true)}},
		{"styled for the second time with field soil left", true, []calendar.LifeEvent{ev("2028-04-01", "repot", 0.5, false), ev("2030-06-01", "second-style", 0.5, true)}},
		{"more than half", true, []calendar.LifeEvent{ev("2028-04-01", "repot", 0, false)}},
		{"twice in two years", true, []calendar.LifeEvent{ev("2028-04-01", "repot", 0.5, false), ev("2029-04-01", "repot", 0, false)}},
		{"without a rest", false, []calendar.LifeEvent{ev("2028-04-01", "repot", 0, false), ev("2028-06-01", "first-style", 0, true)}},
		{"wired over", false, []calendar.LifeEvent{ev("2028-04-01", "repot", 0, false), ev("2029-06-01", "first-style", 0, true), ev("2032-02-01", "second-style", 0, true)}},
		{"back in time", false, []calendar.LifeEvent{ev("2028-04-01", "repot", 0, false), ev("2027-06-01", "first-style", 0, true)}},
		{"from collected to building", false, []calendar.LifeEvent{ev("2028-04-01", "building", 0, false)}},
		{"shown in wire", false, []calendar.LifeEvent{
			ev("2027-01-01", "recovering", 0, true), ev("2027-01-01", "base-work", 0, true), ev("2027-01-01", "first-styling", 0, true), ev("2027-01-01", "building", 0, true),
			ev("2027-01-01", "second-styling", 0, true), ev("2027-01-01", "refining", 0, true), ev("2027-01-01", "exhibition", 0, true),
		}},
	} {
		if why := wrongOrder(calendar.Life{Events: test.events, Ready: climate.NoDate}, test.conifer); !strings.Contains(why, test.why) {
			t.Errorf("found %q, want %q", why, test.why)
		}
	}
}

// goldenText compares with a file in testdata.
func goldenText(t *testing.T, name, got string) {
	t.Helper()
	path := filepath.Join("testdata", name)
	if calendar.Updating() {
		if err := os.WriteFile(path, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if got != string(want) {
		t.Errorf("%s differs (go test -update writes it anew); got\n%s", path, got)
	}
}
