package phenology

import (
	"fmt"
	"math"

	"budswell/climate"
)

// Season forecasts one season of one tree; tree is the name used in its
// sightings, or empty for a tree of which nothing was seen. The outlook must
// reach into the season; days after its end count as not coming.
func (f *Forecaster) Season(h Habit, tree string, year int) (*Season, error) {
	phases := h.Group.Phases()
	if phases == nil {
		return nil, fmt.Errorf("phenology: group %q: want one of %v", h.Group, Groups())
	}
	s := f.sums(year)
	if s == nil {
		return nil, fmt.Errorf("phenology: season %d: the outlook runs from %v to %v", year, f.outlook.First, f.outlook.Last())
	}
	d := &drawing{f: f, s: s, habit: h, tree: tree}
	if t := f.trees[tree]; t != nil && tree != "" {
		d.marks = t.seasons[year]
	}
	if err := d.set(phases); err != nil {
		return nil, err
	}
	for i := range f.chances {
		d.draw(i)
	}
	out := &Season{Year: year, Phases: make(map[Phase]Forecast, len(phases))}
	for _, e := range d.events {
		out.Phases[e.phase] = d.forecast(e)
	}
	if d.flower != nil {
		out.Phases[Flowering] = d.forecast(d.flower)
	}
	return out, nil
}

// drawing is one season of one tree in the making.
type drawing struct {
	f     *Forecaster
	s     *seasonSums
	habit Habit
	tree  string
	marks map[Phase]mark

	bud     distribution // of the reading of the gauge on which growth starts
	resumes normalDist   // the same of what resumes with a week's warmth
	basis   string       // what the clock rests on
	gauges  []gauge      // by member
	byClock bool         // the gauges are the clock, not the warmest weeks so far
	never   bool         // a typical season of the place is too cold for it

	events []*event // in their order
	anchor int      // index of the event that the others of spring are reckoned from

	// lastSeen is the index of the last event of spring, from the anchor on,
	// that was seen on the tree; noDay for none.
	lastSeen int

	// Flowering stands in no fixed order to the others; flowerDays are those of
	// its weeks after leaf-out that are counted by the calendar.
	flower     *event
	flowerDays float64
}

// event is a phase in the making.
type event struct {
	phase Phase
	dates climate.Sample

	// Of spring: clock days after the anchor, and the spread of their logarithm.
	lag, sd float64

	// Of autumn: the sum of aging at which it comes.
	level float64

	// Days of the season on which it was seen, on which it had not come, and by
	// which it had come since a later event was seen; noDay.
	on, notYet, by int
}

const noDay = math.MinInt32

// flowerByClock is how many days before or after leaf-out flowering keeps to the
// clock; what lies farther off is counted by the calendar.
const flowerByClock = 42

// autumn reports whether e hangs on the aging of leaves.
func (e *event) autumn() bool { return e.level > 0 }

// anchorOf returns the phase that the spring of a group is reckoned from.
func anchorOf(g Group) Phase {
	switch g {
	case SingleFlushPine, MultiFlushPine:
		return CandlesExtending
	case JuniperCypress, FrostTender:
		return BudSwell
	}
	return BudBreak
}

// set lays out the events of the season and when they are to be expected.
func (d *drawing) set(phases []Phase) error {
	f := d.f
	prior := f.priors.of(d.habit)
	d.basis = prior.basis // of what is told by the clock
	switch d.habit.Group {
	case JuniperCypress:
		d.resumes = f.warmth(d.habit, d.tree, d.s.year, f.priors.thresholds["days"], climate.DailyMean)
		d.bud, d.gauges = normalDistribution(d.resumes), d.s.warm
	case FrostTender:
		d.resumes = f.warmth(d.habit, d.tree, d.s.year, f.priors.thresholds["nights"], climate.DailyMin)
		d.bud, d.gauges = normalDistribution(d.resumes), d.s.nights
	default:
		bud, ok, err := f.budBreak(d.habit, d.tree, d.s.year)
		if err != nil {
			return err
		}
		d.bud, d.gauges, d.byClock, d.never = bud, d.s.clock, true, !ok
	}
	anchor := anchorOf(d.habit.Group)
	day := func(reference float64) float64 {
		x, _, _ := f.normal(reference)
		return x
	}
	start := day(prior.Day + f.priors.lags[anchor].Days)
	for _, p := range phases {
		e := &event{phase: p, dates: make(climate.Sample, len(f.chances)), on: noDay, notYet: noDay}
		if m, ok := d.marks[p]; ok {
			if m.on.Valid() {
				e.on = int(m.on - d.s.start)
			}
			if m.notYet.Valid() {
				e.notYet = int(m.notYet - d.s.start)
			}
		}
		if p == Flowering {
			if w := d.habit.FlowerWeeks; w != nil {
				byClock := max(-flowerByClock, min(7**w, flowerByClock))
				d.flowerDays = 7**w - byClock
				e.lag = day(prior.Day+f.priors.lags[LeafOut].Days+byClock) - day(prior.Day+f.priors.lags[LeafOut].Days)
				e.sd = f.priors.lags[LeafOut].SD
				d.flower = e
			}
			continue
		}
		if a, ok := f.priors.autumn[p]; ok {
			e.level, e.sd = a.Level, a.SD
		} else {
			e.lag, e.sd = day(prior.Day+f.priors.lags[p].Days)-start, f.priors.lags[p].SD
		}
		if p == anchor {
			d.anchor = len(d.events)
		}
		d.events = append(d.events, e)
	}
	d.reconcile()
	return nil
}

// reconcile makes the marks agree with the order of the phases: who saw a leaf
// open has seen that the bud broke by then.
func (d *drawing) reconcile() {
	d.lastSeen = noDay
	by := noDay
	for k := len(d.events) - 1; k >= 0; k-- {
		e := d.events[k]
		if by != noDay && e.on != noDay {
			e.on = min(e.on, by)
		}
		if e.on != noDay {
			by = e.on
			if !e.autumn() && k >= d.anchor && d.lastSeen == noDay {
				d.lastSeen = k
			}
		}
		e.by = by
		if by != noDay && e.notYet >= by {
			e.notYet = noDay
		}
	}
}
