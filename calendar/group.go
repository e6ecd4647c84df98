package calendar

import (
	"cmp"
	"slices"

	"budswell/climate/phenology"
)

// GroupPlan says which works the trees of each growth group, and of each species, want
// at the site in the next eighteen months: strong trees in the stages of building and
// refining, of a group those of a species in its middle, and nobody's. No groups and no
// species stand for all groups. What a single tree's history would add, what it needs and what
// blocks it, is not in it. In the plan a group is a tree whose id is the group's, and a
// species one whose id is the slug of its name.
func (p *Planner) GroupPlan(groups []phenology.Group, species []*Species) (*Plan, error) {
	p.mu.Lock()
	defer p.mu.Unlock()
	if len(groups) == 0 && len(species) == 0 {
		groups = phenology.Groups()
	}
	p.keepDraws()
	plan := &Plan{On: p.outlook.Issue, Site: p.outlook.Site, Basis: p.outlook.Basis, Supply: p.outlook.Supply}
	benches := make([]*bench, 0, len(groups)+len(species))
	for _, g := range groups {
		benches = append(benches, p.bench(&Tree{ID: string(g), Name: string(g), Origin: Nursery}, &Species{Group: g, Flush: phenology.Middle, Answers: middling}))
	}
	for _, s := range species {
		benches = append(benches, p.bench(&Tree{ID: Slug(s.Name), Name: s.Name, Species: s.Name, Origin: Nursery}, s))
	}
	for _, b := range benches {
		b.state.Stage = StageBuilding
		for i := range p.lore.Rules {
			r := &p.lore.Rules[i]
			if b.adrift(r) {
				continue
			}
			w, ok := p.lore.WorkByID(r.Work)
			if !ok || r.Variant != "" ||
				!r.For.Matches(b.species, StageBuilding, Nursery) && !r.For.Matches(b.species, StageRefining, Nursery) {
				continue
			}
			for _, season := range b.seasons(r) {
				if c := b.candidate(r, w, season); c != nil && !b.alreadyThere(c) {
					c.Blocked = blocks([]objection{rarely(b, c)})
					b.works = append(b.works, c)
				}
			}
		}
		if err := b.timing.phases.err; err != nil {
			return nil, err
		}
		plan.Trees = append(plan.Trees, b.plan())
	}
	return plan, nil
}

// alreadyThere reports whether another rule gives a group the same work on the same days, as
// rules for two stages may.
func (b *bench) alreadyThere(c *candidate) bool {
	return slices.ContainsFunc(b.works, func(o *candidate) bool { return o.Title == c.Title && o.Work == c.Work && o.Window == c.Window })
}

// middling is how a species in the middle of its group answers.
var middling = Answers{BackBuds: "some", RootWork: "fairly", NewGrowth: "fairly", Bleeding: "none", Poison: &Poison{}}

// plan puts together what was found for the tree.
func (b *bench) plan() TreePlan {
	t := TreePlan{Tree: b.tree, Species: b.species, State: b.state, Next: b.next(), Doubt: b.planner.winter().doubt(b.species), Works: make([]Planned, len(b.works))}
	for i, c := range b.works {
		t.Works[i] = c.Planned
	}
	slices.SortStableFunc(t.Works, func(x, y Planned) int {
		return cmp.Or(cmp.Compare(x.Window.Likely, y.Window.Likely), cmp.Compare(x.Key, y.Key))
	})
	return t
}
