package phenology

import (
	"math"
	"sync"

	"budswell/climate"
)

// gauge is a reading that rises through a season, at the end of each of its
// days: a clock in days, or the warmest weeks so far in C.
type gauge []float64

// reach returns the day, with a fraction, on which the gauge reaches v, and
// false when the season, or what is known of it, ends before. Before the season
// the gauge is taken to rise by one a day.
func (g gauge) reach(v float64) (float64, bool) {
	n := len(g)
	if n == 0 || !(v <= g[n-1]) {
		return float64(n), false
	}
	i := first(g, v)
	if i == 0 {
		return v - g[0], true
	}
	return float64(i-1) + (v-g[i-1])/(g[i]-g[i-1]), true
}

// at returns the gauge at the end of day i, which may lie outside the season.
func (g gauge) at(i int) float64 {
	switch {
	case i < 0:
		return g[0] + float64(i)
	case i >= len(g):
		return g[len(g)-1]
	}
	return g[i]
}

// when returns the gauge at a time within the season: that of a day's end is a
// whole number, and the season begins at -1.
func (g gauge) when(day float64) float64 {
	i := int(math.Floor(day))
	return g.at(i) + (g.at(i+1)-g.at(i))*(day-float64(i))
}

// seasonSums is what all trees share of one season: gauges for each member.
type seasonSums struct {
	year  int
	start climate.Date
	end   climate.Date // the first day after the season, or after the outlook

	*seasonAir
	clock []gauge // the place's clock, averaged over curves; days

	forced []float64 // by curve: mean forcing by the end of the issue day
}

// seasonAir is what the weather of a season makes by itself, whatever was seen.
type seasonAir struct {
	hours  []float64 // between sunrise and sunset of each day
	warm   []gauge   // mean temperature of the warmest week so far; C
	nights []gauge   // mean minimum of the warmest week of nights so far; C
	chill  []course  // chill portions
	aging  []course  // of leaves towards autumn
}

// airs are the seasons of an outlook, each made when it is first asked for: those of its
// members, and those of its record, by themselves.
type airs struct {
	mu             sync.Mutex
	seasons, known map[int]func() *seasonAir
}

// of returns a season; ws is its weather, the same whenever it is asked for.
func (a *airs) of(year int, ws []weather) *seasonAir {
	return a.once(&a.seasons, year, func() *seasonAir { return airOf(ws) })
}

// measured returns the lengths of days and the chill of a season of the record, whose
// weather w is.
func (a *airs) measured(year int, w *weather) *seasonAir {
	return a.once(&a.known, year, func() *seasonAir {
		return &seasonAir{hours: lengths(w.lat, w.start, w.days()), chill: []course{w.chill()}}
	})
}

func (a *airs) once(among *map[int]func() *seasonAir, year int, of func() *seasonAir) *seasonAir {
	a.mu.Lock()
	air, ok := (*among)[year]
	if !ok {
		if *among == nil {
			*among = map[int]func() *seasonAir{}
		}
		air = sync.OnceValue(of)
		(*among)[year] = air
	}
	a.mu.Unlock()
	return air()
}

func airOf(ws []weather) *seasonAir {
	s := &seasonAir{hours: lengths(ws[0].lat, ws[0].start, ws[0].days()), chill: chills(ws)}
	for i := range ws {
		w := &ws[i]
		s.warm = append(s.warm, w.warmest(climate.DailyMean))
		s.nights = append(s.nights, w.warmest(climate.DailyMin))
		s.aging = append(s.aging, w.aging(s.hours))
	}
	return s
}

// weathers returns the season of each member, or nil when the outlook does not
// reach into it.
func (f *Forecaster) weathers(year int) []weather {
	o := f.outlook
	start := o.Site.SeasonStart(year)
	from := int(start - o.First - winterDays)
	known := len(o.Members[0].Tmin)
	next := int(o.Site.SeasonStart(year+1) - o.First)
	n := min(next, known) - from - winterDays
	to := min(next+afterDays, known)
	if from < 0 || n <= 0 {
		return nil
	}
	out := make([]weather, len(o.Members))
	for i := range out {
		m := &o.Members[i]
		out[i] = weather{lat: o.Site.Lat, start: start, n: n, tmin: m.Tmin[from:to], tmax: m.Tmax[from:to]}
	}
	return out
}

// sums returns the shared sums of a season of the outlook, building them when
// they are first asked for; nil when the outlook does not reach into it.
func (f *Forecaster) sums(year int) *seasonSums {
	f.mu.Lock()
	once, ok := f.built[year]
	if !ok {
		once = sync.OnceValue(func() *seasonSums { return f.build(year, f.weathers(year)) })
		f.built[year] = once
	}
	f.mu.Unlock()
	return once()
}

func (f *Forecaster) build(year int, ws []weather) *seasonSums {
	if ws == nil {
		return nil
	}
	s := &seasonSums{seasonAir: f.air.of(year, ws), year: year, start: ws[0].start, end: ws[0].start + climate.Date(ws[0].days())}
	for i := range ws {
		s.clock = append(s.clock, make(gauge, ws[i].days()))
	}
	issue := int(f.outlook.Issue - s.start)
	s.forced = make([]float64, len(f.curves))
	eachCurve(f.curves, ws, s.hours, s.chill, func(k int, forcing []course) {
		weight := f.weights[k]
		for i, c := range forcing {
			f.typical[k].addClock(s.clock[i], c, weight)
			s.forced[k] += c.at(float64(issue)) / float64(len(forcing))
		}
	})
	return s
}

// eachCurve hands over the forcing of each member by one curve after another;
// it is overwritten by the next. Neighbours among the curves that respond to
// warmth alike share the work.
func eachCurve(curves []curve, ws []weather, hours []float64, chill []course, each func(k int, forcing []course)) {
	dayWeights := make([]float64, len(hours))
	rates, forcing := make([][]float64, len(ws)), make([]course, len(ws))
	for i := range ws {
		rates[i], forcing[i] = make([]float64, ws[i].days()), make(course, ws[i].days())
	}
	for k := range curves {
		c := &curves[k]
		fresh := k == 0 || !c.respondsAs(&curves[k-1])
		for d := range dayWeights {
			dayWeights[d] = c.dayWeight(d, hours[d])
		}
		for i := range ws {
			if fresh {
				ws[i].rates(c, rates[i])
			}
			c.sum(rates[i], dayWeights, chill[i], forcing[i])
		}
		each(k, forcing)
	}
}

// pastWeather returns a season's weather as far as it is known; false where it
// is not known from the winter before it.
func (f *Forecaster) pastWeather(year int) (weather, bool) {
	r := f.outlook.Record
	start := f.outlook.Site.SeasonStart(year)
	if r == nil || len(r.Days) == 0 || r.Last() < start {
		return weather{}, false
	}
	end := min(r.Last(), f.outlook.Site.SeasonStart(year+1)-1)
	n := int(end-start) + 1
	m, ok := r.Series(start-winterDays, winterDays+n)
	return weather{lat: f.outlook.Site.Lat, start: start, n: n, tmin: m.Tmin, tmax: m.Tmax}, ok
}

// pastClock returns the clock of a season as far as its weather is known.
func (f *Forecaster) pastClock(year int) (gauge, bool) {
	w, ok := f.pastWeather(year)
	if !ok {
		return nil, false
	}
	air := f.air.measured(year, &w)
	out := make(gauge, w.days())
	eachCurve(f.curves, []weather{w}, air.hours, air.chill, func(k int, forcing []course) {
		f.typical[k].addClock(out, forcing[0], f.weights[k])
	})
	return out, true
}

// normal returns the day of the season on which, at this place in a typical
// season, as much forcing is summed as by the given day at the reference place:
// the mean over the curves, and the variance among them. It is false where the
// season ends before by most of the curves. The calendar carries nothing from
// place to place, and is left out.
func (f *Forecaster) normal(day float64) (mean, variance float64, ok bool) {
	var all, reached, sum, square float64
	for k, weight := range f.weights {
		if f.curves[k].Form == calendar && len(f.curves) > 1 {
			continue
		}
		d, ok := f.typical[k].day(f.courses[k].at(day))
		if ok {
			reached += weight
		}
		all += weight
		sum += weight * d
		square += weight * d * d
	}
	mean = sum / all
	return mean, max(0, square/all-mean*mean), reached > all/2
}

// neededShare returns how much of the forcing that is typical by the given day
// at the reference place has been summed by the issue day, 0 to 1.
func (f *Forecaster) neededShare(s *seasonSums, day float64) float64 {
	all, share := 0.0, 0.0
	for k, weight := range f.weights {
		if f.curves[k].Form == calendar && len(f.curves) > 1 {
			continue
		}
		all += weight
		share += weight * math.Min(1, s.forced[k]/f.courses[k].at(day))
	}
	return share / all
}
