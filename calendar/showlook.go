package calendar

import (
	"fmt"
	"math"
	"strings"

	"budswell/climate"
	"budswell/climate/phenology"
)

// LookOnDay says how far the place gives a look on the day of a show. The chances
// are shares of the draws of the season's phases; beyond the weather known the
// season is like the last that is covered.
type LookOnDay struct {
	Look   Look
	On     climate.Date
	Chance float64 // that a tree shows the look on the day

	// From and To are the days on which it is likeliest, of the seasons around the
	// one nearest to On, and Best the chance then. NoDate where the place gives the
	// look in hardly any year.
	From, To climate.Date
	Best     float64

	Typical bool // the season lies beyond the weather known
	Says    string
}

const (
	seldomShown = 0.1  // a look whose best chance is lower is taken not to come
	nearlyBest  = 0.8  // of the best chance: the days that count as likeliest
	surelyShown = 0.8  // a chance from which on a look is reckoned with
	lookAround  = 400  // days before and after the show in which likelier ones are sought
	flowerFirst = -5   // days from the height of flowering to the first good day
	flowerLast  = 10   // and to the first that is no more so (common practice, no published source)
	tenderFrom  = 8.0  // C, mean of the nights from which tender trees are out and in full leaf; judged
	hardlyShown = 0.25 // a chance below which it is said that a look is over, or still to come
)

// span is the days on which a look lasts in one draw: the first, and the first
// after it.
type span struct{ from, to climate.Date }

// lookSpans returns when trees of the timing's species show a look in a season,
// draw by draw; a span of NoDate where they do not.
func (t *timing) lookSpans(look Look, season int) []span {
	phase := func(ph phenology.Phase, season int) climate.Sample { return t.phases.of(ph, season) }
	first, last := t.planner.span(season)
	_, lastNext := t.planner.span(season + 1)
	never := span{climate.NoDate, climate.NoDate}
	between := func(from, to climate.Sample, end climate.Date) []span {
		out := make([]span, max(len(from), len(to)))
		for i := range out {
			s := span{from[i%len(from)], to[i%len(to)]}
			if !s.to.Valid() {
				s.to = end + 1
			}
			if !s.from.Valid() || s.to <= s.from {
				s = never
			}
			out[i] = s
		}
		return out
	}
	switch look {
	case InLeaf:
		return between(phase(phenology.LeavesHardened, season), phase(phenology.AutumnColour, season), last)
	case WinterSilhouette:
		return between(phase(phenology.Dormant, season), phase(phenology.BudSwell, season+1), lastNext)
	case AutumnColour:
		return between(phase(phenology.AutumnColour, season), phase(phenology.LeafFall, season), last)
	case Flowering:
		at := phase(phenology.Flowering, season)
		return between(moved(at, flowerFirst), moved(at, flowerLast), last)
	}
	if t.species.Group == phenology.FrostTender {
		c := tenderFrom
		out := between(t.at(&Anchor{At: AtNightsAbove, C: &c}, season), t.at(&Anchor{At: AtNightsBelow, C: &c}, season), last)
		return out
	}
	hardened := phenology.NeedlesHardened
	if t.species.Group == phenology.BroadleafEvergreen {
		hardened = phenology.LeavesHardened
	}
	from, swell := phase(hardened, season), phase(phenology.BudSwell, season)
	ripe := make(climate.Sample, max(len(from), len(swell)))
	for i := range ripe {
		ripe[i] = from[i%len(from)]
		if !ripe[i].Valid() && !swell[i%len(swell)].Valid() {
			ripe[i] = first // where no growth comes at one time none is ever soft
		}
	}
	return between(ripe, phase(phenology.BudSwell, season+1), lastNext)
}

// lookOn says how likely a look is on a day.
func (t *timing) lookOn(look Look, on climate.Date) LookOnDay {
	site := t.planner.outlook.Site
	at := site.Season(on)
	out := LookOnDay{Look: look, On: on, From: climate.NoDate, To: climate.NoDate}
	_, last := t.planner.span(at)
	out.Typical = last > t.planner.outlook.Last()

	n, lo := t.planner.draws, on-lookAround
	change := make([]int, 2*lookAround+2)
	clip := func(d climate.Date) int { return int(min(max(d, lo), on+lookAround+1) - lo) }
	var near []span // those of the season that comes nearest
	for season := at - 2; season <= at+1; season++ {
		spans := t.lookSpans(look, season)
		for i := range n {
			s := spans[i%len(spans)]
			if s.from.Valid() {
				change[clip(s.from)]++
				change[clip(s.to)]--
			}
		}
		if distanceTo(spans, on) < distanceTo(near, on) {
			near = spans
		}
	}
	chances := make([]float64, 2*lookAround+1)
	running := 0
	for i := range chances {
		running += change[i]
		// A draw of one season may reach into that of the next: counted once.
		chances[i] = min(1, float64(running)/float64(n))
		out.Best = max(out.Best, chances[i])
	}
	out.Chance = chances[lookAround]
	if out.Best >= seldomShown {
		out.From, out.To = nearestRun(chances, nearlyBest*out.Best, lo, on)
	}
	out.Says = t.lookSays(&out, near)
	if out.Typical {
		out.Says += " That season is reckoned as a typical one."
	}
	return out
}

// distanceTo returns how many days the median span lies from a day, more than
// any where there is none.
func distanceTo(spans []span, on climate.Date) int {
	m := medianSpan(spans)
	switch {
	case !m.from.Valid():
		return math.MaxInt
	case on < m.from:
		return int(m.from - on)
	case on >= m.to:
		return int(on-m.to) + 1
	}
	return 0
}

// medianSpan returns the median first and last days of those spans that come.
func medianSpan(spans []span) span {
	var from, to climate.Sample
	for _, s := range spans {
		if s.from.Valid() {
			from, to = append(from, s.from), append(to, s.to)
		}
	}
	a, ok := from.Spread()
	if !ok {
		return span{climate.NoDate, climate.NoDate}
	}
	b, _ := to.Spread()
	return span{a.P50, b.P50}
}

// nearestRun returns the first and last day of the run of days with at least that
// chance that lies nearest to on.
func nearestRun(chances []float64, enough float64, lo, on climate.Date) (from, to climate.Date) {
	best := math.MaxInt
	for i := 0; i < len(chances); i++ {
		if chances[i] < enough {
			continue
		}
		k := i
		for k+1 < len(chances) && chances[k+1] >= enough {
			k++
		}
		a, b := lo+climate.Date(i), lo+climate.Date(k)
		far := max(int(a-on), int(on-b), 0)
		if far < best {
			best, from, to = far, a, b
		}
		i = k
	}
	return from, to
}

// lookSays puts what was found in words.
func (t *timing) lookSays(l *LookOnDay, near []span) string {
	name, likely := upper(l.Look.Words()), percent(l.Chance)
	if l.Look == Evergreen {
		name = "Foliage at its best"
	}
	days := fmt.Sprintf("between %v and %v", l.From, l.To)
	m := medianSpan(near)
	switch {
	case !l.From.Valid():
		return fmt.Sprintf("%s comes in hardly any year here: %s likely on %v, and on no day likelier than %s. Choose another look.", name, likely, l.On, percent(l.Best))
	case l.Chance >= surelyShown:
		return fmt.Sprintf("%s: %s likely on %v.", name, likely, l.On)
	case l.Chance < hardlyShown && l.On < l.From && m.from > l.On:
		return fmt.Sprintf("%s comes about %s later here: %s likely on %v; likeliest %s (up to %s).", name, inWords(int(m.from-l.On)), likely, l.On, days, percent(l.Best))
	case l.Chance < hardlyShown && l.On > l.To && m.to <= l.On:
		return fmt.Sprintf("%s is over here about %s before then: %s likely on %v; likeliest %s (up to %s).", name, inWords(int(l.On-m.to)+1), likely, l.On, days, percent(l.Best))
	case l.Best < surelyShown:
		return fmt.Sprintf("%s is not sure here on any day: %s likely on %v; likeliest %s (up to %s).", name, likely, l.On, days, percent(l.Best))
	}
	return fmt.Sprintf("%s: %s likely on %v; likeliest %s (up to %s).", name, likely, l.On, days, percent(l.Best))
}

var fewWords = []string{
	"no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve",
}

// inWords writes a number of days as people say it.
func inWords(days int) string {
	weeks := int(math.Round(float64(days) / 7))
	switch {
	case days <= 10:
		return count(float64(days), "day")
	case weeks >= len(fewWords):
		return fmt.Sprintf("%.0f months", math.Round(float64(days)/30.4))
	}
	return fewWords[weeks] + " weeks"
}

// upper returns s with a capital, to stand at the head of a sentence.
func upper(s string) string { return strings.ToUpper(s[:1]) + s[1:] }
