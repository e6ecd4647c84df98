package calendar

import (
	"cmp"
	"errors"
	"fmt"
	"slices"
	"sync"

	"budswell/climate"
	"budswell/climate/phenology"
)

const (
	// horizonDays is how far a plan looks ahead: eighteen months.
	horizonDays = 548

	// stillShown is how many days a window stays in a plan after it has all but
	// surely closed, so that a work of the last days can be seen and logged.
	stillShown = 7
)

// Planner plans the work on the trees of one site on one day. It holds what they
// share: the weather's dates, the forecasts and windows of each species. It may
// be used by several goroutines at once.
type Planner struct {
	// Variants names the ways of doing things that the grower chose where
	// growers disagree. Set it before the first plan.
	Variants []string

	// Shows are those that trees are entered for, each as [Show.Check] has it.
	// Set them before the first plan.
	Shows []Show

	lore     *Lore
	outlook  *climate.Outlook
	draws    int
	forecast func(h phenology.Habit, tree string, season int) (*phenology.Season, error)

	mu        sync.Mutex
	events    map[event]climate.Sample
	shades    map[shadeKey]climate.Sample
	forecasts map[forecastKey]*phases
	windows   map[windowKey]timed
	rules     map[rulesKey][]*Rule
	growths   map[leafOn]*Growth
	roots     map[pot][][]float64
	theWinter *winter

	keeps bool // windows keep their draws

	open, close    []climate.Date // of one window, draw by draw; used again and again
	opened, closed []int          // of one window, day by day
}

type windowKey struct {
	rule   *Rule
	phases *phases
	season int
}

// timed is a window with what else is told of its days.
type timed struct {
	window Window
	open   Curve
	draws  *drawn // nil: not kept
	why    string
	soFar  string
}

type rulesKey struct {
	species string
	stage   Stage
	origin  Origin
}

// NewPlanner prepares to plan by the rules of lore, on the day on which the
// outlook and the forecaster were made.
func NewPlanner(lore *Lore, outlook *climate.Outlook, forecaster *phenology.Forecaster) *Planner {
	return newPlanner(lore, outlook, forecaster.Draws(), forecaster.Season)
}

func newPlanner(lore *Lore, outlook *climate.Outlook, draws int,
	forecast func(phenology.Habit, string, int) (*phenology.Season, error),
) *Planner {
	return &Planner{
		lore: lore, outlook: outlook, draws: draws, forecast: forecast,
		events:    map[event]climate.Sample{},
		shades:    map[shadeKey]climate.Sample{},
		forecasts: map[forecastKey]*phases{},
		windows:   map[windowKey]timed{},
		rules:     map[rulesKey][]*Rule{},
		growths:   map[leafOn]*Growth{},
		roots:     map[pot][][]float64{},
	}
}

// Plan says what each tree needs in the next eighteen months. Entries of a log
// after the day of the plan are left out. It returns an [ErrInvalid] that names
// every tree whose species is not known or whose log cannot be.
func (p *Planner) Plan(trees []Tree) (*Plan, error) {
	p.mu.Lock()
	defer p.mu.Unlock()
	plan := &Plan{On: p.outlook.Issue, Site: p.outlook.Site, Basis: p.outlook.Basis, Supply: p.outlook.Supply, Trees: make([]TreePlan, 0, len(trees))}
	var errs []error
	for i := range trees {
		t := &trees[i]
		for _, f := range t.Check(p.lore, plan.Site, climate.NoDate) {
			errs = append(errs, fmt.Errorf("tree %q: %w", t.Name, f))
		}
		s, err := p.lore.SpeciesNamed(t.Species)
		if err != nil {
			continue // Check told
		}
		b := p.planned(t, s)
		plan.Trees = append(plan.Trees, b.treePlan())
		plan.Shows = append(plan.Shows, b.showPlans()...)
	}
	for _, f := range p.forecasts {
		errs = append(errs, f.err)
	}
	if err := errors.Join(errs...); err != nil {
		return nil, err
	}
	return plan, nil
}

// planned plans one tree.
func (p *Planner) planned(t *Tree, s *Species) *bench {
	b := p.bench(t, s)
	b.addForShows()
	for i := range p.lore.Rules {
		r := &p.lore.Rules[i]
		if w, ok := p.lore.WorkByID(r.Work); ok && r.For.MatchesSpecies(s) {
			for _, season := range b.seasons(r) {
				b.add(r, w, season)
			}
		}
	}
	b.giveWayToShows()
	b.judge()
	return b
}

// treePlan puts together what was found for one tree.
func (b *bench) treePlan() TreePlan {
	plan := TreePlan{Tree: b.tree, Species: b.species, State: b.state, Doubt: b.planner.winter().doubt(b.species), Works: make([]Planned, len(b.works)), Flags: b.planner.flags(b.tree, b.species), growth: b.history.growth}
	for i, c := range b.works {
		plan.Works[i] = c.Planned
	}
	plan.Notice, plan.Next = b.notice(), b.next()
	plan.Sums = b.sums(plan.Works)
	slices.SortStableFunc(plan.Works, func(a, b Planned) int {
		return cmp.Or(cmp.Compare(a.Window.Likely, b.Window.Likely), cmp.Compare(a.Rule.ID, b.Rule.ID))
	})
	return plan
}

// bench makes ready to plan one tree.
func (p *Planner) bench(t *Tree, s *Species) *bench {
	h := newHistory(t, p.lore, s, p.growthOf(s), p.outlook.Issue)
	return &bench{planner: p, tree: t, species: s, history: h, state: h.at(p.outlook.Issue), timing: timing{planner: p, species: s, phases: p.phasesOf(s, t), history: h}, shows: p.showsOf(t)}
}

// growthOf counts the growing seasons of a species: by the warmth while its leaves
// are on, in a usual season of the place. Trees that keep them, or that do not come
// into leaf and lose it here as they should, are counted by all of the year.
func (p *Planner) growthOf(s *Species) *Growth {
	leaves := evergreen
	if s.Group == phenology.Deciduous || s.Group == phenology.DeciduousConifer {
		season := p.outlook.Site.Season(p.outlook.Issue) + 1
		start := p.outlook.Site.SeasonStart(season)
		of := p.phasesOf(s, nil)
		out, fall := of.of(phenology.LeafOut, season), of.of(phenology.LeafFall, season)
		if out.Chance() >= 0.5 && fall.Chance() >= 0.5 {
			from, _ := out.Quantile(0.5)
			to, _ := fall.Quantile(0.5)
			if from >= start && to > from {
				leaves = leafOn{int(from - start), int(to - start)}
			}
		}
	}
	g, ok := p.growths[leaves]
	if !ok {
		g = newGrowth(p.outlook, leaves)
		p.growths[leaves] = g
	}
	return g
}

// holds reports whether r is a rule for such trees.
func (p *Planner) holds(r *Rule, s *Species, stage Stage, origin Origin) bool {
	key := rulesKey{s.Name, stage, origin}
	rules, ok := p.rules[key]
	if !ok {
		rules = p.lore.RulesFor(s, stage, origin, p.Variants...)
		p.rules[key] = rules
	}
	return slices.Contains(rules, r)
}

// seasons returns the growing seasons whose windows a plan may show: the one
// before that of its day, whose windows may reach over midwinter, to that in
// which its eighteen months end.
func (p *Planner) seasons() []int {
	site, on := p.outlook.Site, p.outlook.Issue
	var out []int
	for s := site.Season(on) - 1; s <= site.Season(on+horizonDays); s++ {
		out = append(out, s)
	}
	return out
}

// timed returns the window of a rule in a season; that of rules which do not
// hang on the tree's log is computed once for all trees of a species.
func (p *Planner) timed(r *Rule, t *timing, season int) timed {
	key := windowKey{r, t.phases, season}
	shared := !r.Opens.hangsOnWork() && !r.Closes.hangsOnWork() && !r.ForShow()
	if shared {
		if w, ok := p.windows[key]; ok {
			return w
		}
	}
	var out timed
	if out.window, out.open = p.window(r, t, season); out.window.Chance > 0 {
		out.why, out.soFar = t.why(r, out.window, season), t.soFar(r, season)
		if p.keeps {
			out.draws = &drawn{slices.Clone(p.open), slices.Clone(p.close)}
		}
	}
	if shared {
		p.windows[key] = out
	}
	return out
}
