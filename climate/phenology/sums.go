package phenology

import (
	"slices"

	"budswell/climate"
)

// winterDays is how long before a season starts its chill is counted: from
// 1 September in the north, from 1 March in the south.
const winterDays = 122

// chillDays is how many days of a season, from its start, add to the chill.
const chillDays = 181

// weather is one season of daily temperatures, with the winter before it:
// element winterDays is the first day of the season.
type weather struct {
	lat   float64
	start climate.Date // first day of the season
	n     int          // its days, as far as they are known
	tmin  []float64    // with the weeks after it, for leaves that fall in the new year
	tmax  []float64
}

// afterDays is how long after its season leaves may yet colour and fall.
const afterDays = 60

func (w *weather) days() int { return w.n }

// chill returns the chill portions by the end of each day of the season.
func (w *weather) chill() course {
	n := winterDays + min(w.n, chillDays)
	sum := climate.ChillPortions(w.lat, w.start-winterDays, w.tmin[:n], w.tmax[:n])
	out := make(course, w.days())
	for i := range out {
		out[i] = sum[min(winterDays+i, n-1)]
	}
	return out
}

// chills returns the chill of each member. Members whose winter is the same,
// since it is known, share it.
func chills(ws []weather) []course {
	out := make([]course, len(ws))
	for i := range ws {
		n := winterDays + min(ws[i].n, chillDays)
		if i > 0 && slices.Equal(ws[i].tmin[:n], ws[i-1].tmin[:n]) && slices.Equal(ws[i].tmax[:n], ws[i-1].tmax[:n]) {
			out[i] = out[i-1]
		} else {
			out[i] = ws[i].chill()
		}
	}
	return out
}

// rates computes the unlimited development of each day of the season.
func (w *weather) rates(c *curve, out []float64) {
	for i := range out {
		out[i] = c.rate(w.tmin[winterDays+i], w.tmax[winterDays+i])
	}
}

// What waits for warmth alone waits until it lasts. A warm week in January does not set
// a juniper growing, so its warmth is that of three weeks; of warm nights one week
// will do, since where they come at all they stay (judged).
const (
	warmDays  = 21
	nightDays = 7
)

// warmest returns the highest mean so far in the season of daily means over
// [warmDays], or of daily minima over [nightDays].
func (w *weather) warmest(of climate.Element) gauge {
	span := warmDays
	if of == climate.DailyMin {
		span = nightDays
	}
	value := func(i int) float64 {
		if of == climate.DailyMin {
			return w.tmin[i]
		}
		return (w.tmin[i] + w.tmax[i]) / 2
	}
	out := make(gauge, w.days())
	sum := 0.0
	for i := winterDays - span; i < winterDays; i++ {
		sum += value(i)
	}
	for i := range out {
		k := winterDays + i
		sum += value(k) - value(k-span)
		out[i] = sum / float64(span)
		if i > 0 {
			out[i] = max(out[i], out[i-1])
		}
	}
	return out
}

// Autumn: leaves age on days shorter than agingHours and cooler than agingBelow,
// the faster the shorter and cooler they are.
// Source: Delpierre et al. 2009, Modelling interannual and spatial variability
// of leaf senescence for three deciduous tree species in France, Agricultural
// and Forest Meteorology 149:938-948, with values for deciduous broadleaves that
// models of forests have adopted with it (not seen in the paper itself).
const (
	agingHours = 14.5 // h
	agingBelow = 28.5 // C
	solstice   = 172  // day of the season from which days shorten

	// Where the longest day is no more than so much longer than the shortest, within
	// nine degrees of the equator, nothing tells leaves of a winter (judged): they
	// age, but no season has an end for all.
	steadyHours = 1.0 // h
)

// aging returns the sum of aging, in C^2 days, at the end of each day of the
// season and of some weeks after it. On those the days are as long as at the
// season's beginning.
func (w *weather) aging(hours []float64) course {
	out := make(course, len(w.tmin)-winterDays)
	if slices.Max(hours)-slices.Min(hours) < steadyHours {
		return out
	}
	sum := 0.0
	for i := range out {
		mean := (w.tmin[winterDays+i] + w.tmax[winterDays+i]) / 2
		length := hours[i%len(hours)]
		if i >= solstice && length < agingHours && mean < agingBelow {
			cold, short := agingBelow-mean, length/agingHours
			sum += cold * cold * short * short
		}
		out[i] = sum
	}
	return out
}

// mean returns the mean of courses of the same length.
func mean(courses []course) course {
	out := make(course, len(courses[0]))
	for _, c := range courses {
		for i, v := range c {
			out[i] += v
		}
	}
	for i := range out {
		out[i] /= float64(len(courses))
	}
	return out
}

// addClock adds to out, times weight, for each day of c, the day of the typical
// course by whose end as much has been summed. That is the place's own
// development clock, in days: in a typical season it shows the day of the
// season, in a forward one it runs ahead.
func (typical course) addClock(out gauge, c course, weight float64) {
	const farthest = 60 // days ahead of the end of a typical season
	j, n := 0, len(typical)
	tail := max(creep, typical[n-1]/float64(n)) // a day's development there
	for i, v := range c {
		for j < n && typical[j] < v {
			j++
		}
		day := 0.0
		switch j {
		case n:
			day = float64(n-1) + min((v-typical[n-1])/tail, farthest)
		case 0:
			day = v/typical[0] - 1
		default:
			day = float64(j-1) + (v-typical[j-1])/(typical[j]-typical[j-1])
		}
		out[i] += weight * day
	}
}
