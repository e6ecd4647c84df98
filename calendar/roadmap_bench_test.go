package calendar_test

import (
	"testing"

	"budswell/calendar"
)

func BenchmarkRoadmaps300Trees8Years(b *testing.B) {
	const on = "2026-05-10"
	trees := manyTrees(b, 300, on)
	p := planner(b, "temperate", on)
	if _, err := p.Plan(trees); err != nil { // the forecaster's sums, as a morning has them
		b.Fatal(err)
	}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := p.Roadmaps(trees, calendar.RoadmapOptions{Years: 8}); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkRoadmaps300TreesWithShows(b *testing.B) {
	const on = "2026-05-10"
	trees := manyTrees(b, 300, on)
	shows := map[string][]calendar.ReadyBy{}
	for i := range trees {
		shows[trees[i].ID] = []calendar.ReadyBy{{On: d(b, "2031-11-15")}}
	}
	p := planner(b, "temperate", on)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := p.Roadmaps(trees, calendar.RoadmapOptions{Years: 8, ReadyBy: shows}); err != nil {
			b.Fatal(err)
		}
	}
}
