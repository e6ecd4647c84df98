package climate

import "gonum.org/v1/gonum/stat/distuv"

// NightLevels are the minima of which the nights ahead are told, C: frost, and what harms
// growth that has opened. They are the first two of [FrostLevels].
var NightLevels = [2]float64{FrostLevels[0], FrostLevels[1]}

// Night is how likely frost is in the night that ends on a day.
type Night struct {
	On     Date
	Chance [2]float64 // of a minimum at or below each of [NightLevels], 0 to 1

	// Foretold says that the chance rests on Tmin, the minimum of a weather forecast, C; else
	// it rests on the other years.
	Foretold bool
	Tmin     float64
}

// FrostAhead is the next last frost of a spring or first frost of an autumn, at a level.
type FrostAhead struct {
	Level  float64 // C
	Spread         // of the years with such a frost
	Chance float64 // of such a frost at all in that half of the season, 0 to 1
}

// Error of the minimum that a weather forecast gives, a standard deviation, C: of the first
// night, what each further night adds, and what it comes to at most, which is how far
// nights stray anyhow. Judged, no published source.
const (
	nightErrorFirst = 1.5
	nightErrorMore  = 0.25
	nightErrorMost  = 4
)

// nights tells the nights from the day after issue to last. Foretold returns the minimum of a weather
// forecast, where there is one. Of nights that are not foretold those about them count as well, as in a [Band].
func (o *Outlook) nights(last Date, foretold func(Date) (float64, bool)) []Night {
	var out []Night
	known := o.Issue // the last night that something is known of
	for d := o.Issue + 1; d <= last; d++ {
		if _, ok := foretold(d); ok {
			known = d
		}
	}
	for d := o.Issue + 1; d <= last; d++ {
		n := Night{On: d}
		n.Tmin, n.Foretold = foretold(d)
		for i, level := range NightLevels {
			if !n.Foretold {
				n.Chance[i] = o.cold(max(known+1, d-bandPool), d+bandPool, level)
				continue
			}
			sd := min(nightErrorFirst+nightErrorMore*float64(d-o.Issue-1), nightErrorMost)
			n.Chance[i] = distuv.UnitNormal.CDF((level - n.Tmin) / sd)
		}
		out = append(out, n)
	}
	return out
}

// cold returns the share of the members' nights, from first to last, at or below a level.
func (o *Outlook) cold(first, last Date, level float64) float64 {
	first, last = max(first, o.First), min(last, o.Last())
	cold, all := 0, 0
	for i := range o.Members {
		for d := first; d <= last; d++ {
			all++
			if o.Members[i].Tmin[d-o.First] <= level {
				cold++
			}
		}
	}
	return float64(cold) / float64(max(all, 1))
}

// frostAhead tells of a sample of frosts.
func frostAhead(level float64, s Sample) FrostAhead {
	f := FrostAhead{Level: level, Chance: s.Chance()}
	f.Spread, _ = s.Spread()
	return f
}
