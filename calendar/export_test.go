package calendar

import "budswell/climate"

// Life is one drawn way of a tree to the bench, for tests that look at each.
type Life struct {
	Events  []LifeEvent
	Ready   climate.Date // NoDate where it was never ready
	Setback bool         // it was kept back by a setback or a missed window
}

// LifeEvent is a stage entered (Stage) or a work done (Work), and the tree after it.
type LifeEvent struct {
	Stage     Stage
	Work      string
	On        climate.Date
	FieldSoil float64
	Wire      bool
}

// Lives draws one life of each tree, as Roadmaps does.
func (p *Planner) Lives(trees []Tree, years int) ([]Life, error) {
	m := p.newMapper(RoadmapOptions{Years: years, Draws: len(trees)})
	out := make([]Life, len(trees))
	for i := range trees {
		t := &trees[i]
		s, err := p.lore.SpeciesNamed(t.Species)
		if err != nil {
			return nil, err
		}
		h := newHistory(t, p.lore, s, p.growthOf(s), p.outlook.Issue)
		m.life.route = m.route(t, s, h)
		m.life.begin(h, seedOf(t, p.outlook.Issue), i)
		m.life.live()
		out[i] = m.life.told()
	}
	return out, nil
}

// told tells a life, with field soil and wire reckoned anew from its works alone.
func (l *life) told() Life {
	out := Life{Ready: climate.NoDate, Setback: l.strong.why == bySetback || l.late}
	soil, wire := l.soilAtStart, l.wireAtStart.Valid()
	for _, e := range l.way {
		v := LifeEvent{On: e.day}
		if e.stage >= 0 {
			v.Stage = stages[e.stage]
			if v.Stage == StageExhibition {
				out.Ready = e.day
			}
		} else {
			v.Work = l.planner.lore.Works[e.work].ID
		}
		switch v.Work {
		case WorkRepot:
			soil = l.lessSoil(soil)
		case WorkFirstStyle, WorkSecondStyle:
			wire = true
		case WorkUnwire:
			wire = false
		}
		v.FieldSoil, v.Wire = soil, wire
		out.Events = append(out.Events, v)
	}
	return out
}

// Updating reports whether golden files are to be written.
func Updating() bool { return *update }

// Growth returns how growing seasons are counted for the tree.
func (p *TreePlan) Growth() *Growth { return p.growth }
