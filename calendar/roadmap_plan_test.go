package calendar_test

import (
	"slices"
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
	trees := manyTrees(t, 300, on)
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
	if given < 40 || float64(kept) < 0.9*float64(given) {
		t.Errorf("of %d works that lead on the roadmaps keep %d", given, kept)
	}
}
