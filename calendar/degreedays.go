package calendar

import (
	"fmt"
	"math"
	"slices"

	"budswell/climate"
)

// WarmthMethod is how the degree-days of an anchor are reckoned from a day's two
// temperatures. A sum holds only for the method that it was published for: on days
// that the base cuts the average counts least and the sine most.
type WarmthMethod string

// The methods.
const (
	ByAverage  WarmthMethod = "average"  // the mean of maximum and minimum less the base
	ByTriangle WarmthMethod = "triangle" // single triangle
	BySine     WarmthMethod = "sine"     // single sine: Baskerville and Emin (1969), Ecology 50: 514-517
)

// WarmthMethods lists the methods.
func WarmthMethods() []WarmthMethod { return []WarmthMethod{ByAverage, ByTriangle, BySine} }

// degreeDays returns the reckoning of a method above a base, C, without an upper
// threshold; that of the average where no method is given.
func (m WarmthMethod) degreeDays(base float64) climate.DegreeDays {
	k := climate.DegreeDays{Method: climate.SimpleAverage, Lower: base, Upper: math.Inf(1)}
	switch m {
	case ByTriangle:
		k.Method = climate.SingleTriangle
	case BySine:
		k.Method = climate.SingleSine
	}
	return k
}

// warmthSum is what an anchor of degree-days waits for: a sum, C d, from the day
// counted from the start of a season.
type warmthSum struct {
	method WarmthMethod
	sum    float64
	from   int
}

// summed returns, member by member, the first day of a season by whose end the
// degree-days above base since the day from reach the sum; NoDate where they do not
// by the season's last day.
func summed(o *climate.Outlook, base float64, w warmthSum, first, last climate.Date) climate.Sample {
	k := w.method.degreeDays(base)
	first = max(first+climate.Date(w.from), o.First)
	last = min(last, o.Last())
	out := make(climate.Sample, len(o.Members))
	for i := range o.Members {
		m := &o.Members[i]
		out[i] = climate.NoDate
		sum := 0.0
		for d := first; d <= last; d++ {
			sum += k.Day(m.Tmin[d-o.First], m.Tmax[d-o.First])
			if sum >= w.sum {
				out[i] = d
				break
			}
		}
	}
	return out
}

// warmthOf returns the event that an anchor of degree-days waits for in a season.
func (t *timing) warmthOf(a *Anchor, season int) event {
	site := t.planner.outlook.Site
	from := 0
	if a.Date != nil {
		from = int(site.Turn(*a.Date, season) - site.SeasonStart(season))
	}
	return event{at: AtDegreeDays, level: t.level(a), season: season, warmth: warmthSum{a.Method, a.Sum, from}}
}

// untilCold ends what degree-days end, yet in years that do not bring so many: what lives
// by warmth rests when the mean of a week falls below the base of its sum.
func (t *timing) untilCold(a *Anchor, season int, ends climate.Sample) climate.Sample {
	if !slices.Contains(ends, climate.NoDate) {
		return ends
	}
	cold := t.planner.weather(event{at: AtCold, level: t.level(a), season: season})
	out := slices.Clone(ends)
	for i, d := range out {
		if !d.Valid() {
			out[i] = cold[i%len(cold)]
		}
	}
	return out
}

// soMuchWarmth tells what an anchor of degree-days rests on.
func (t *timing) soMuchWarmth(a *Anchor, season int) string {
	s, ok := t.planner.weather(t.warmthOf(a, season)).Spread()
	what := fmt.Sprintf("%g degree-days above %g C", a.Sum, t.level(a))
	if !ok {
		return what + fmt.Sprintf(" do not come here in a season; what ends with them ends when the mean of a week falls below %g C", t.level(a))
	}
	return fmt.Sprintf("%s about %v, 10-90 %%: %v to %v", what, s.P50, s.P10, s.P90)
}

// warmthWords says what an anchor of degree-days waits for, as people read it.
func (a *Anchor) warmthWords() string {
	base := 0.0
	if a.C != nil {
		base = *a.C
	}
	out := fmt.Sprintf("%g degree-days above %g °C", a.Sum, base)
	if a.Date != nil {
		out += fmt.Sprintf(" since %s (of the northern year)", a.Date)
	} else {
		out += " since the start of the season"
	}
	if i := slices.Index(WarmthMethods(), a.Method); i > 0 {
		out += fmt.Sprintf(", by the single %s", a.Method)
	}
	return out
}
