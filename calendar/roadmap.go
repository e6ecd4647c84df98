package calendar

import (
	"cmp"
	"errors"
	"fmt"
	"hash/fnv"
	"slices"
	"strings"

	"budswell/climate"
)

// RoadmapOptions say how roadmaps are drawn.
type RoadmapOptions struct {
	Years int // how far to look ahead, 1 to 15; 0: 8
	Draws int // lives drawn for each tree, 20 to 2000; 0: 200

	// ReadyBy lists by tree id the days by which trees should be ready to be shown.
	ReadyBy map[string][]ReadyBy
}

// ReadyBy is a day by which a tree should be ready to be shown.
type ReadyBy struct {
	On   climate.Date `json:"on"` // not before the plan's day, at most 15 years after it
	Name string       `json:"name,omitempty"`
	Look string       `json:"look,omitempty"` // how it is to be shown, as people say it; carried through
}

const (
	usualYears = 8
	usualDraws = 200
	mostDraws  = 2000
	leastDraws = 20
)

// Roadmap is one tree's years from the day of the plan to the exhibition bench, as a
// distribution over drawn lives: each goes through the years season by season, with
// the weather of its years, and gives the tree each work in its window of that year if
// its rule, the tree's rest and its strength allow it.
type Roadmap struct {
	Tree     string       `json:"id"`
	Name     string       `json:"name"`
	Species  string       `json:"species"`
	On       climate.Date `json:"on"`
	Until    climate.Date `json:"until"` // the last day looked at
	Southern bool         `json:"southern"`
	Stage    Stage        `json:"stage"` // on the day of the plan
	Strength Strength     `json:"strength"`
	Note     string       `json:"note,omitempty"` // what the roadmap had to assume

	Stages []StageAhead `json:"stages"` // those that are still to come, in order
	Steps  []StepAhead  `json:"steps"`  // works that lead there, by when they are likely done
	Shows  []ShowAhead  `json:"shows"`  // in the order given
	Course []CoursePart `json:"course"` // from the plan's day, at the start of each season of the year
}

// Ahead is when something is reached, over all draws. A quantile is nil where that
// share of the draws does not reach it in the years looked at.
type Ahead struct {
	P10     *SeasonDay `json:"p10"`
	P50     *SeasonDay `json:"p50"`
	P90     *SeasonDay `json:"p90"`
	Reached float64    `json:"reached"` // share of the draws that reach it in the years looked at, 0 to 1
}

// SeasonDay is a day and the season of the year that it falls in; nobody knows the
// day itself years ahead.
type SeasonDay struct {
	Day    climate.Date `json:"day"`
	Season string       `json:"season"` // such as "spring 2029"; see [SeasonOfYear]
}

// StageAhead is a stage that the tree comes to.
type StageAhead struct {
	Stage Stage `json:"stage"`
	Ahead
}

// StepAhead is a work on the way.
type StepAhead struct {
	Step  string `json:"step"` // id of the work, or [StepSoilGone]
	Title string `json:"title"`
	Ahead
}

// StepSoilGone is the repot with which the last of the field soil goes.
const StepSoilGone = "soil-gone"

// CoursePart tells at which stage the tree is on a day, as shares of the draws.
type CoursePart struct {
	SeasonDay
	Shares []float64 `json:"shares"` // of each stage in the order of [Stages]; they sum to 1
}

// Roadmaps draws the coming years of each tree. What the logs of all of them tell of
// how long stages took narrows what is drawn. The same inputs give the same roadmaps.
// It returns an [ErrInvalid] that names every tree and option that cannot be.
func (p *Planner) Roadmaps(trees []Tree, opts RoadmapOptions) ([]Roadmap, error) {
	p.mu.Lock()
	defer p.mu.Unlock()
	opts.Years, opts.Draws = cmp.Or(opts.Years, usualYears), cmp.Or(opts.Draws, usualDraws)
	species, errs := p.checkRoadmaps(trees, &opts)
	if err := errors.Join(errs...); err != nil {
		return nil, err
	}
	m := p.newMapper(opts)
	m.times = p.learn(trees, species)
	out := make([]Roadmap, 0, len(trees))
	for i := range trees {
		out = append(out, m.roadmap(&trees[i], species[i]))
	}
	for _, f := range p.forecasts {
		errs = append(errs, f.err)
	}
	if err := errors.Join(errs...); err != nil {
		return nil, err
	}
	return out, nil
}

// checkRoadmaps returns the species of the trees, and all that is wrong.
func (p *Planner) checkRoadmaps(trees []Tree, o *RoadmapOptions) (species []*Species, errs []error) {
	bad := func(format string, args ...any) {
		errs = append(errs, fmt.Errorf("%s: %w", fmt.Sprintf(format, args...), ErrInvalid))
	}
	if o.Years < 1 || o.Years > mostYears {
		bad("a roadmap over %d years: want 1 to %d", o.Years, mostYears)
	}
	if o.Draws < leastDraws || o.Draws > mostDraws {
		bad("a roadmap of %d draws: want %d to %d", o.Draws, leastDraws, mostDraws)
	}
	issue := p.outlook.Issue
	last := p.yearsOn(mostYears)
	known := map[string]bool{}
	for i := range trees {
		t := &trees[i]
		known[t.ID] = true
		for _, f := range t.Check(p.lore, p.outlook.Site, climate.NoDate) {
			errs = append(errs, fmt.Errorf("tree %q: %w", t.Name, f))
		}
		s, _ := p.lore.SpeciesNamed(t.Species) // Check told
		species = append(species, s)
		for _, s := range o.ReadyBy[t.ID] {
			switch {
			case !s.On.Valid():
				bad("tree %q: a show without a day: want one from %v on", t.Name, issue)
			case s.On < issue:
				bad("tree %q: a show on %v lies before the day of the plan, %v: want a day from then on", t.Name, s.On, issue)
			case s.On > last:
				bad("tree %q: a show on %v is too far ahead: want a day until %v", t.Name, s.On, last)
			}
		}
	}
	var strays []string
	for id := range o.ReadyBy {
		if !known[id] {
			strays = append(strays, id)
		}
	}
	slices.Sort(strays)
	for _, id := range strays {
		bad("a show of the tree %q: there is no tree of that id", id)
	}
	return species, errs
}

// yearsOn returns the day so many years after that of the plan.
func (p *Planner) yearsOn(n int) climate.Date {
	t := p.outlook.Issue.Time()
	return climate.NewDate(t.Year()+n, t.Month(), t.Day())
}

// mapper draws roadmaps of the trees of one site.
type mapper struct {
	planner *Planner
	opts    RoadmapOptions
	until   climate.Date
	coming  *coming
	times   map[string]learnt
	routes  map[routeKey]*route
	life    life

	stages [numStages][]climate.Date // by draw: when each was entered, afterAll where never
	steps  []stepDays
	sorted []climate.Date
}

// stepDays are the days of a step, draw by draw.
type stepDays struct {
	step string
	work int
	days []climate.Date
}

func (p *Planner) newMapper(opts RoadmapOptions) *mapper {
	// Lives always go on to the end of the longest roadmap that is asked for, so that
	// a longer one tells the same of the years that both have.
	years := opts.Years
	for _, shows := range opts.ReadyBy {
		for _, s := range shows {
			for years < mostYears && p.yearsOn(years) < s.On {
				years++
			}
		}
	}
	m := &mapper{
		planner: p, opts: opts, until: p.yearsOn(opts.Years), coming: p.newComing(years, opts.Draws),
		routes: map[routeKey]*route{}, sorted: make([]climate.Date, opts.Draws),
	}
	m.life.hold = -1
	for i := range m.stages {
		m.stages[i] = make([]climate.Date, opts.Draws)
	}
	x := p.lore.workIndex()
	for _, s := range []stepDays{
		{WorkCollect, x.collect, nil},
		{WorkRepot, x.repot, nil},
		{WorkRootFlare, x.flare, nil},
		{WorkFirstStyle, x.first, nil},
		{StepSoilGone, x.repot, nil},
		{WorkSecondStyle, x.second, nil},
		{WorkUnwire, x.unwire, nil},
		{WorkPotChange, x.potChange, nil},
	} {
		s.days = make([]climate.Date, opts.Draws)
		m.steps = append(m.steps, s)
	}
	return m
}

// route returns the way of trees like t.
func (m *mapper) route(t *Tree, s *Species, h *history) *route {
	p := m.planner
	key := routeKey{p.phasesOf(s, t), t.Origin}
	if r, ok := m.routes[key]; ok {
		return r
	}
	r := p.newRoute(&timing{planner: p, species: s, phases: key.phases, history: h}, t.Origin, m.coming, m.times)
	if !slices.ContainsFunc(r.steps, func(s step) bool { return s.rule.Opens.hangsOnWork() || s.rule.Closes.hangsOnWork() }) {
		m.routes[key] = r
	}
	return r
}

// seedOf makes the seed of a tree's chances from its id and the day of the plan.
func seedOf(t *Tree, on climate.Date) uint64 {
	h := fnv.New64a()
	h.Write([]byte(t.ID))
	return mix(h.Sum64() ^ uint64(uint32(on)))
}

// roadmap draws the lives of one tree and tells of them.
func (m *mapper) roadmap(t *Tree, s *Species) Roadmap {
	p := m.planner
	issue := p.outlook.Issue
	h := newHistory(t, p.lore, s, p.growthOf(s), issue)
	now := h.at(issue)
	m.life.route = m.route(t, s, h)
	seed := seedOf(t, issue)
	r := Roadmap{
		Tree: t.ID, Name: t.Name, Species: s.Name, On: issue, Until: m.until, Southern: p.outlook.Site.Southern(),
		Stage: now.Stage, Strength: now.Strength, Stages: []StageAhead{}, Steps: []StepAhead{}, Shows: []ShowAhead{},
	}
	if !h.had.Valid() && t.Origin.dug() {
		r.Note = "Nothing is known of when it was dug: it is reckoned from the next time to dig it."
	}
	if d := p.winter().doubt(s); d != "" {
		r.Note = strings.TrimSpace(r.Note + " " + d + " The years below suppose that it rests and grows here as it should.")
	}
	shows := m.opts.ReadyBy[t.ID]
	paths := make([]pathCount, len(shows))
	for draw := range m.opts.Draws {
		m.life.begin(h, seed, draw)
		m.life.live()
		m.note(draw)
		for i := range shows {
			paths[i].count(&m.life, shows[i].On)
		}
	}
	for k := now.Stage.rank() + 1; k < numStages; k++ {
		r.Stages = append(r.Stages, StageAhead{stages[k], m.ahead(m.stages[k])})
	}
	for _, st := range m.steps {
		if a := m.ahead(st.days); a.Reached > 0.05 {
			r.Steps = append(r.Steps, StepAhead{st.step, m.title(st), a})
		}
	}
	slices.SortStableFunc(r.Steps, func(a, b StepAhead) int { return cmp.Compare(a.middle(), b.middle()) })
	r.Course = m.course(now.Stage.rank())
	for i, s := range shows {
		r.Shows = append(r.Shows, m.show(s, &paths[i], h, seed))
	}
	return r
}

// middle is the median day, after all days where there is none.
func (a *Ahead) middle() climate.Date {
	if a.P50 == nil {
		return afterAll
	}
	return a.P50.Day
}

func (m *mapper) title(s stepDays) string {
	if s.step == StepSoilGone {
		return "Last of the field soil away"
	}
	return m.planner.lore.Works[s.work].Title
}

// note keeps when the life came to each stage and step.
func (m *mapper) note(draw int) {
	l := &m.life
	for k := range m.stages {
		m.stages[k][draw] = afterAll
	}
	for i := range m.steps {
		m.steps[i].days[draw] = afterAll
	}
	soil, repots := l.soilAtStart, 0
	styled := false
	for i := range l.way {
		e := &l.way[i]
		if e.stage >= 0 {
			m.stages[e.stage][draw] = e.day
			continue
		}
		gone := false
		if e.work == l.works.repot {
			repots++
			was := soil
			soil = l.lessSoil(soil)
			gone = was > 0 && soil == 0 && repots > 1
		}
		styled = styled || e.work == l.works.second
		for k := range m.steps {
			s := &m.steps[k]
			if s.work != e.work || s.days[draw] != afterAll {
				continue
			}
			switch {
			case s.step == StepSoilGone && !gone:
			case s.step == WorkUnwire && !styled && l.willStyle():
			default:
				s.days[draw] = e.day
			}
		}
	}
}

// ahead sums up days, of which those after the last that is looked at count as not
// reached.
func (m *mapper) ahead(days []climate.Date) Ahead {
	copy(m.sorted, days)
	slices.Sort(m.sorted)
	n := len(m.sorted)
	at := func(p float64) *SeasonDay {
		d := m.sorted[min(int(p*float64(n)), n-1)]
		if d > m.until {
			return nil
		}
		return &SeasonDay{d, SeasonOfYear(d, m.planner.outlook.Site.Southern())}
	}
	in, _ := slices.BinarySearch(m.sorted, m.until+1)
	return Ahead{at(0.1), at(0.5), at(0.9), float64(in) / float64(n)}
}

// course tells the shares of the stages over the years.
func (m *mapper) course(now int) []CoursePart {
	var out []CoursePart
	n := m.opts.Draws
	for d := m.planner.outlook.Issue; d <= m.until; d = nextQuarter(d) {
		part := CoursePart{SeasonDay{d, SeasonOfYear(d, m.planner.outlook.Site.Southern())}, make([]float64, numStages)}
		var counts [numStages]int
		for draw := range n {
			at := now
			for k := now + 1; k < numStages && m.stages[k][draw] <= d && d > m.planner.outlook.Issue; k++ {
				at = k
			}
			counts[at]++
		}
		for k := range counts {
			part.Shares[k] = float64(counts[k]) / float64(n)
		}
		out = append(out, part)
	}
	return out
}
