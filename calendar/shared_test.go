package calendar_test

import (
	"encoding/json"
	"sync"
	"testing"

	"budswell/calendar"
)

// Several goroutines may share a planner, and each gets what it would alone.
func TestPlannerIsSharedByGoroutines(t *testing.T) {
	const on = "2026-05-10"
	trees := manyTrees(t, 12, on)
	ask := func(p *calendar.Planner, k int) string {
		plan, err := p.Plan(trees[k : k+4])
		if err != nil {
			t.Error(err)
			return ""
		}
		years, err := p.Roadmaps(trees[k:k+2], calendar.RoadmapOptions{Draws: 20})
		if err != nil {
			t.Error(err)
			return ""
		}
		groups, err := p.GroupPlan(nil, nil)
		if err != nil {
			t.Error(err)
			return ""
		}
		b, err := json.Marshal([]any{plan, years, groups})
		if err != nil {
			t.Error(err)
		}
		return string(b)
	}
	shared := planner(t, "temperate", on)
	var got [4]string
	var all sync.WaitGroup
	for k := range got {
		all.Go(func() { got[k] = ask(shared, 2*k) })
	}
	all.Wait()
	for k := range got {
		if want := ask(planner(t, "temperate", on), 2*k); got[k] != want {
			t.Errorf("goroutine %d got another plan than alone", k)
		}
	}
}
