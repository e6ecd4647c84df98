package phenology

import (
	"math"
	"slices"

	"budswell/climate"
)

// Pace is how a season goes beside the usual one of the same place: one phase as the
// model forecasts it now, beside the same model in the weather of the other years.
type Pace struct {
	Phase Phase
	This  climate.Spread // in this season
	Usual climate.Spread // in all other years, moved to this season

	// Ahead is by how many days this season comes before the middle one of the other
	// years, in 10, 50 and 90 % of the draws; negative where it is behind.
	Ahead [3]int

	// Before is the probability that it comes before the middle one, 0 to 1, the same
	// day counting half. Later is the share of the other years that come later, 0 to 1.
	Before, Later float64
}

const (
	// leastMeasured is how many days of a season must have been measured before it is
	// compared, and leastShare which share of those that count.
	leastMeasured = 20
	leastShare    = 2.0 / 3

	// leastComes is in what share of the draws a phase must come to be compared.
	leastComes = 0.9

	// noAutumnWithin is how near to the equator days never shorten enough to tell a tree
	// of a winter, degrees (see [sums]); nothing is then usual.
	noAutumnWithin = 9
)

// flushPhases are those that the warmth of spring brings, in their order; how soon
// leaves age rests on common practice, and is not compared.
func flushPhases(g Group) []Phase {
	return slices.DeleteFunc(slices.Clone(g.Phases()), func(p Phase) bool {
		switch p {
		case BudSwell, BudBreak, LeafOut, CandlesExtending, NeedlesSeparating, LeavesHardened, NeedlesHardened:
			return false
		}
		return true
	})
}

// Pace compares the season at hand with the usual one: by the next phase of spring, or, once
// all have come, by the last. It returns nil where nothing can be said: where the weather of the
// season was not measured, where the phase does not come every year, and where growth never
// stops and so has no first day.
//
// What is left to chance beside the weather is the same in both, draw by draw, and is
// taken out: draws are compared within those that are alike in it (see drawChances).
func (f *Forecaster) Pace(h Habit) (*Pace, error) {
	site, on := f.outlook.Site, f.outlook.Issue
	year := site.Season(on)
	if math.Abs(site.Lat) < noAutumnWithin {
		return nil, nil
	}
	this, err := f.Season(h, "", year)
	if err != nil {
		return nil, err
	}
	usual, err := f.Season(h, "", f.typicalYear())
	if err != nil {
		return nil, err
	}
	var out *Pace
	for _, ph := range flushPhases(h.Group) {
		next := f.pace(ph, this.Phases[ph].Dates, usual.Phases[ph].Dates, year)
		if next == nil {
			continue
		}
		out = next
		if next.This.P50 >= on {
			break
		}
	}
	if out == nil || !f.measuredTo(min(on, out.This.P50, out.Usual.P50), year) {
		return nil, nil
	}
	return out, nil
}

func (f *Forecaster) pace(ph Phase, this, usual climate.Sample, year int) *Pace {
	site := f.outlook.Site
	if len(this) != f.Draws() || len(usual) != f.Draws() || this.Chance() < leastComes || usual.Chance() < leastComes {
		return nil
	}
	start, typical := site.SeasonStart(year), f.typicalYear()
	moved := make(climate.Sample, len(usual))
	atOnce := 0
	for i, d := range usual {
		moved[i] = d
		if d.Valid() {
			moved[i] = sameDay(d, year-typical)
		}
		if moved[i].Valid() && moved[i] <= start+1 || this[i].Valid() && this[i] <= start+1 {
			atOnce++
		}
	}
	if float64(atOnce) > (1-leastComes)*float64(len(usual)) {
		return nil
	}
	out := &Pace{Phase: ph}
	out.This, _ = this.Spread()
	out.Usual, _ = moved.Spread()
	var ahead []int
	pairs, members := 0, len(f.outlook.Members)
	for from := 0; from < len(this); from += members {
		alike := moved[from : from+members]
		middle, ok := alike.Quantile(0.5)
		if !ok {
			continue
		}
		for _, d := range this[from : from+members] {
			if !d.Valid() {
				continue
			}
			ahead = append(ahead, int(middle-d))
			out.Before += comesBefore(d, middle)
			for _, u := range alike {
				if u.Valid() {
					out.Later += comesBefore(d, u)
					pairs++
				}
			}
		}
	}
	if len(ahead) == 0 {
		return nil
	}
	slices.Sort(ahead)
	for i, q := range [...]float64{0.1, 0.5, 0.9} {
		out.Ahead[i] = ahead[int(q*float64(len(ahead)))]
	}
	out.Before /= float64(len(ahead))
	out.Later /= float64(pairs)
	return out
}

func comesBefore(a, b climate.Date) float64 {
	switch {
	case a < b:
		return 1
	case a == b:
		return 0.5
	}
	return 0
}

// sameDay returns the day of the calendar so many years later.
func sameDay(d climate.Date, years int) climate.Date {
	t := d.Time()
	return climate.NewDate(t.Year()+years, t.Month(), t.Day())
}

// measuredTo reports whether enough of the season up to a day was measured.
func (f *Forecaster) measuredTo(last climate.Date, year int) bool {
	r, start := f.outlook.Record, f.outlook.Site.SeasonStart(year)
	if r == nil {
		return false
	}
	n := 0
	for d := start; d <= last; d++ {
		if day := r.At(d); min(day.TminOrigin, day.TmaxOrigin) == climate.Measured {
			n++
		}
	}
	return n >= leastMeasured && float64(n) >= leastShare*float64(last-start+1)
}
