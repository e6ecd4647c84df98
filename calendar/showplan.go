package calendar

import (
	"cmp"
	"fmt"
	"slices"

	"budswell/climate"
)

// ShowPlan is the way of one tree to one show: what the place gives on the day,
// every work before and after it, and how ready the tree is.
type ShowPlan struct {
	Show    Show
	Tree    *Tree
	Species *Species

	Look  LookOnDay
	Steps []ShowStep // by the day on which their windows open
	Ready []Criterion

	// RestUntil is the day until which the tree rests after the show; NoDate where
	// that never ends.
	RestUntil climate.Date
}

// ShowStep is a work on the way to a show. Of a work that may be done in one of
// several seasons it is the one that was done, or else the first that is not over
// and that nothing stands against.
type ShowStep struct {
	Planned
	Status StepStatus

	// Latest is the last day on which it is more likely than not still right, in
	// the last season that will do. LastChance is that season's window where it is
	// another than Window, and else nil.
	Latest     climate.Date
	LastChance *Window

	Spared  string // why there is nothing to do, where Status says so
	TooLate string // what it means when it is not done in time
	After   bool   // it comes after the show
}

// StepStatus is how it stands with a step on the day of the plan.
type StepStatus string

// The kinds of status.
const (
	StepDone   StepStatus = "done"
	StepSpared StepStatus = "not-needed" // there is nothing to do
	StepToCome StepStatus = "ahead"
	StepNow    StepStatus = "now"  // its window is as likely as not open
	StepOver   StepStatus = "over" // too late
)

// ShowPlan lays out the way of a tree to a show, which need not be among those
// that the tree is entered for. It returns an [ErrInvalid] where the tree or the
// show cannot be.
func (p *Planner) ShowPlan(show Show, tree Tree) (*ShowPlan, error) {
	p.mu.Lock()
	defer p.mu.Unlock()
	show.Trees = []string{tree.ID}
	for _, f := range append(show.CheckDay(p.outlook.Issue), show.Check(p.lore, []Tree{tree})...) {
		return nil, fmt.Errorf("show %q: %w", show.Name, f)
	}
	for _, f := range tree.Check(p.lore, p.outlook.Site, climate.NoDate) {
		return nil, fmt.Errorf("tree %q: %w", tree.Name, f)
	}
	s, err := p.lore.SpeciesNamed(tree.Species)
	if err != nil {
		return nil, err
	}
	kept := p.Shows
	defer func() { p.Shows = kept }()
	p.Shows = append(slices.DeleteFunc(slices.Clone(kept), func(o Show) bool { return o.Name == show.Name }), show)
	b := p.planned(&tree, s)
	for i := range b.shows {
		if b.shows[i].Name == show.Name {
			plan := b.showPlan(&b.shows[i])
			return &plan, b.timing.phases.err
		}
	}
	return nil, fmt.Errorf("show %q: %w", show.Name, ErrNotFound)
}

// showPlans lays out the ways to all shows that the tree is entered for.
func (b *bench) showPlans() []ShowPlan {
	var out []ShowPlan
	for i := range b.shows {
		if b.shows[i].On >= b.planner.outlook.Issue {
			out = append(out, b.showPlan(&b.shows[i]))
		}
	}
	return out
}

func (b *bench) showPlan(show *Show) ShowPlan {
	b.timing.show = show
	defer func() { b.timing.show = nil }()
	plan := ShowPlan{Show: *show, Tree: b.tree, Species: b.species, Look: b.timing.lookOn(show.Look, show.On), RestUntil: show.On}
	for i := range b.planner.lore.Rules {
		r := &b.planner.lore.Rules[i]
		w, ok := b.planner.lore.WorkByID(r.Work)
		if !ok || !b.planner.forShow(r, b.species, b.tree.Origin, show.Look) {
			continue
		}
		if s := b.step(r, w); s != nil {
			plan.Steps = append(plan.Steps, *s)
		}
		if w.ID == WorkShow {
			if end := b.history.growth.PassedBy(show.On, r.Rest); !end.Valid() || plan.RestUntil.Valid() && end > plan.RestUntil {
				plan.RestUntil = end
			}
		}
	}
	slices.SortStableFunc(plan.Steps, func(x, y ShowStep) int {
		return cmp.Or(cmp.Compare(x.Window.Opens.P50, y.Window.Opens.P50), cmp.Compare(x.Latest, y.Latest), cmp.Compare(x.Key, y.Key))
	})
	plan.Ready = b.ready(show, &plan)
	return plan
}

// step lays out a rule on the way to the show at hand; nil where the place does
// not bring its window before the show.
func (b *bench) step(r *Rule, w *Work) *ShowStep {
	var chances []*candidate
	for _, season := range b.showSeasons(r) {
		if c := b.stepCandidate(r, w, season); c.Window.Chance >= worthShow {
			chances = append(chances, c)
		}
	}
	if len(chances) == 0 {
		return nil
	}
	on := b.planner.outlook.Issue
	pick := slices.IndexFunc(chances, func(c *candidate) bool { return c.Done.Valid() })
	if pick < 0 {
		pick = slices.IndexFunc(chances, func(c *candidate) bool { return c.Window.Closes.P50 >= on && len(c.Blocked) == 0 })
	}
	if pick < 0 {
		pick = slices.IndexFunc(chances, func(c *candidate) bool { return c.Window.Closes.P50 >= on })
	}
	last := chances[len(chances)-1]
	c := last
	if pick >= 0 {
		c = chances[pick]
	}
	s := &ShowStep{Planned: c.Planned, Latest: last.Window.Closes.P50, TooLate: r.TooLate, After: c.Window.Opens.P50 > b.timing.show.On}
	if c != last {
		s.LastChance = &last.Window
	}
	s.Spared = b.spared(r)
	switch {
	case s.Done.Valid():
		s.Status, s.Latest, s.LastChance, s.Spared = StepDone, c.Window.Closes.P50, nil, ""
	case s.Spared != "":
		s.Status = StepSpared
	case s.Latest < on:
		s.Status = StepOver
	case c.today >= 0.5:
		s.Status = StepNow
	default:
		s.Status = StepToCome
	}
	if s.Done.Valid() || s.Spared != "" || w.ID == WorkShow { // what stands against the show itself is how ready the tree is
		s.Blocked = nil
	}
	return s
}

// stepCandidate returns the work of a rule in a season, as the plan has it where
// it reaches so far, and with what stands against it.
func (b *bench) stepCandidate(r *Rule, w *Work, season int) *candidate {
	key := b.key(r, season)
	for _, c := range b.works {
		if c.Key == key {
			return c
		}
	}
	t := b.planner.timed(r, &b.timing, season)
	if t.window.Chance == 0 {
		return &candidate{}
	}
	c := b.candidateOf(r, w, season, t)
	if len(r.For.Stages) > 0 && !slices.Contains(r.For.Stages, c.state.Stage) {
		c.Blocked = []Block{{fmt.Sprintf("it is for trees at the stage %s, and as its log stands the tree is at %q then", quoteStages(r.For.Stages), c.state.Stage), climate.NoDate}}
	}
	c.Blocked = append(c.Blocked, b.against(c)...)
	return c
}

func quoteStages(stages []Stage) string {
	out := ""
	for i, s := range stages {
		if i > 0 {
			out += " or "
		}
		out += fmt.Sprintf("%q", s)
	}
	return out
}

// spared says why there is nothing to do for a rule, empty where there is.
func (b *bench) spared(r *Rule) string {
	if since, ok := b.history.finalPot(); ok && r.Work == WorkPotChange {
		if since.Valid() {
			return fmt.Sprintf("it stands in its final pot since %v", since)
		}
		return "it stands in its final pot"
	}
	for _, n := range r.Needs {
		if n.Wired != nil && *n.Wired && !b.state.WireSince.Valid() {
			return "there is no wire on it"
		}
	}
	return ""
}

// finalPot reports whether the tree stands in the pot in which it is to be shown,
// and since when; NoDate where its log does not say.
func (h *history) finalPot() (since climate.Date, ok bool) {
	since = h.last(WorkPotChange, beforeAll)
	return since, since.Valid() || h.tree.Container.Kind == FinalPot
}
