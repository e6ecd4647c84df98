package calendar

import (
	"math"

	"budswell/climate"
)

// Where a frost never comes, its anchor stands before or after all days.
const (
	beforeAll climate.Date = math.MinInt32 + 1
	afterAll  climate.Date = math.MaxInt32
)

// timing resolves the anchors of rules for one tree: the weather and the dates
// of its phases draw by draw, and what its log holds. A resolved anchor is a
// sample whose length divides the number of draws; draw i takes the day at
// index i modulo its length.
type timing struct {
	planner *Planner
	species *Species
	phases  *phases
	history *history // nil: a tree without a log
	show    *Show    // that rules which hang on a show hang on; nil: none
}

// days resolves a in a growing season.
func (t *timing) days(a *Anchor, season int) climate.Sample {
	if a.Next {
		season++
	}
	var s climate.Sample
	switch {
	case len(a.Earliest) > 0:
		s = t.combine(a.Earliest, season, func(x, y climate.Date) bool { return x < y })
	case len(a.Latest) > 0:
		s = t.combine(a.Latest, season, func(x, y climate.Date) bool { return x > y })
	default:
		s = t.at(a, season)
	}
	if a.Days == 0 {
		return s
	}
	out := make(climate.Sample, len(s))
	for i, d := range s {
		out[i] = shift(d, climate.Date(a.Days))
	}
	return out
}

// shift moves a day; what is no day, before or after all days stays.
func shift(d, days climate.Date) climate.Date {
	if d == climate.NoDate || d == beforeAll || d == afterAll {
		return d
	}
	return d + days
}

// combine takes of every draw the day of the anchors that comes first by the
// given order. Those that do not come are left out.
func (t *timing) combine(anchors []Anchor, season int, first func(x, y climate.Date) bool) climate.Sample {
	n := 1
	samples := make([]climate.Sample, len(anchors))
	for i := range anchors {
		samples[i] = t.days(&anchors[i], season)
		n = max(n, len(samples[i]))
	}
	out := make(climate.Sample, n)
	for i := range out {
		out[i] = climate.NoDate
		for _, s := range samples {
			if d := s[i%len(s)]; d.Valid() && (!out[i].Valid() || first(d, out[i])) {
				out[i] = d
			}
		}
	}
	return out
}

// at resolves what a hangs on.
func (t *timing) at(a *Anchor, season int) climate.Sample {
	site := t.planner.outlook.Site
	switch a.At {
	case AtPhase:
		return t.phases.of(a.Phase, season)
	case AtDate:
		return climate.Sample{site.Turn(*a.Date, season)}
	case AtMidsummer:
		return climate.Sample{site.Midsummer(season)}
	case AtMidwinter:
		return climate.Sample{site.SeasonStart(season+1) - 1}
	case AtSeasonStart:
		return climate.Sample{site.SeasonStart(season)}
	case AtWork:
		return climate.Sample{t.worked(a.Work)}
	case AtShow:
		if t.show != nil {
			return climate.Sample{t.show.On}
		}
		return climate.Sample{climate.NoDate}
	case AtDegreeDays:
		return t.planner.weather(t.warmthOf(a, season))
	case AtShade:
		if d := t.worked(a.Work); d.Valid() {
			return t.planner.shadeEnds(d, t.species)
		}
		return climate.Sample{climate.NoDate}
	}
	return t.planner.weather(event{at: a.At, level: t.level(a), season: season})
}

// worked returns when one of the works that name stands for was last done.
func (t *timing) worked(name string) climate.Date {
	if t.history == nil {
		return climate.NoDate
	}
	return t.history.last(name, beforeAll)
}

// Temperatures that anchors take where the rule or the species gives none, C.
const (
	rootsStand      = -3  // potted roots of a species of which it is not known
	hardyRootsStand = -10 // where it is only known that they stand hard frost
	rootsMargin     = 5   // above what the roots stand
)

// level returns the temperature of an anchor, C.
func (t *timing) level(a *Anchor) float64 {
	switch a.At {
	case AtRootCold, AtRootColdEnd:
		margin := float64(rootsMargin)
		if a.C != nil {
			margin = *a.C
		}
		return t.species.RootsStand() + margin
	}
	if a.C != nil {
		return *a.C
	}
	return 0
}

// hangsOnWork reports whether a or an anchor in it hangs on the tree's log.
func (a *Anchor) hangsOnWork() bool {
	return a.some(func(a *Anchor) bool { return a.At == AtWork || a.At == AtShade })
}

// hangsOnShow reports whether a or an anchor in it hangs on a show.
func (a *Anchor) hangsOnShow() bool {
	return a.some(func(a *Anchor) bool { return a.At == AtShow })
}

// hangsOnWorkOnly reports whether nothing of the season moves a, but only what is
// told of the tree: its log, or the show that it is entered for.
func (a *Anchor) hangsOnWorkOnly() bool {
	return !a.some(func(a *Anchor) bool {
		return a.At != "" && a.At != AtWork && a.At != AtShade && a.At != AtShow
	})
}

// reachesOver reports whether a or an anchor in it is looked for in the season
// after.
func (a *Anchor) reachesOver() bool { return a.some(func(a *Anchor) bool { return a.Next }) }

// some reports whether f holds of a or of an anchor in it.
func (a *Anchor) some(f func(*Anchor) bool) bool {
	if f(a) {
		return true
	}
	for _, list := range [][]Anchor{a.Earliest, a.Latest} {
		for i := range list {
			if list[i].some(f) {
				return true
			}
		}
	}
	return false
}
