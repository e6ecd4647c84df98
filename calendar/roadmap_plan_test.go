package calendar_test

import (
	"slices"
	"strings"
	"testing"

	"budswell/calendar"
)

// leading is the hard work that brings a tree at a stage to the next.
var leading = map[calendar.Stage]string{
	calendar.StageBaseWork: calendar.WorkRepot, calendar.StageFirstStyling: calendar.WorkFirstStyle,
	calendar.StageSecondStyling: calendar.WorkSecondStyle, calendar.StageRefining: calendar.WorkPotChange,
}

// A roadmap begins as the plan does: where the plan gives a tree the work that leads
// on, the roadmap has it by the end of that window as likely as not. The few others
// have logs by which they stand in their show pot already.
func TestRoadmapsBeginAsPlansDo(t *testing.T) {
	const on = "2026-05-10"
	trees := manyTrees(t, 200, on)
	p := planner(t, "temperate", on)
	plan, err := p.Plan(trees)
	if err != nil {
		t.Fatal(err)
	}
	maps, err := p.Roadmaps(trees, calendar.RoadmapOptions{Years: 8})
	if err != nil {
		t.Fatal(err)
	}
	given, kept := 0, 0
	for i, tp := range plan.Trees {
		work := leading[tp.State.Stage]
		w := slices.IndexFunc(tp.Works, func(w calendar.Planned) bool { return w.Work.ID == work && len(w.Blocked) == 0 && !w.Done.Valid() })
		if w < 0 {
			continue
		}
		given++
		ends := tp.Works[w].Window.Closes.P90
		k := slices.IndexFunc(maps[i].Steps, func(s calendar.StepAhead) bool { return s.Step == work && s.P50 != nil && s.P50.Day <= ends })
		switch {
		case k >= 0:
			kept++
		case work != calendar.WorkPotChange:
			t.Errorf("%s (%s), %s: the plan has %s by %v, the roadmap has not: %+v", tp.Tree.Name, tp.Species.Name, tp.State.Stage, work, ends, maps[i].Steps)
		}
	}
	if given < 30 || float64(kept) < 0.9*float64(given) {
		t.Errorf("of %d works that lead on the roadmaps keep %d", given, kept)
	}
}

// Trees dug at every kind of place come to the bench where their kind can live; where
// the buds of a deciduous tree do not swell, the roadmap says that it never does.
func TestRoadmapsAtEveryKindOfPlace(t *testing.T) {
	for place := range places {
		const on, others = "2026-05-10", 30 // whose logs tell how long stages take
		trees := append(manyTrees(t, others, on),
			dugTree("pine", "Pinus sylvestris", d(t, "2026-04-15")), dugTree("larch", "Larix decidua", d(t, "2026-04-15")), dugTree("maple", "Acer campestre", d(t, "2026-04-15")))
		maps, err := planner(t, place, on).Roadmaps(trees, calendar.RoadmapOptions{Years: 15})
		if err != nil {
			t.Fatal(err)
		}
		for _, m := range maps[others:] {
			ready := m.Stages[len(m.Stages)-1]
			if place == "tropical" && m.Tree != "pine" {
				if ready.Reached > 0.01 || !strings.Contains(m.Said(), "all but impossible") {
					t.Errorf("%s, %s: %s", place, m.Tree, m.Said())
				}
				continue
			}
			if ready.Reached < 0.95 || ready.P10.Day < d(t, "2031-04-15") || ready.P50.Day > d(t, "2036-04-15") {
				t.Errorf("%s, %s: %s", place, m.Tree, m.Said())
			}
		}
	}
}
