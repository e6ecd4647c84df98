package phenology

import (
	"math"

	"budswell/climate"
)

// Form is how a day's warmth makes buds develop.
type form string

const (
	// sigmoid development saturates in warmth: 1/(1 + exp(-q (T - m))).
	// Sources, from memory: Haenninen 1990; Kramer 1994; Chuine 2000.
	sigmoid form = "sigmoid"
	// linear development is the degree-days above a base m, in tens of degrees.
	linear form = "linear"
	// calendar development is the same every day: the clock is the calendar. With it
	// among the curves, a place whose springs warmth does not tell falls back to
	// its mean dates.
	calendar form = "calendar"
)

// Curve turns the weather of a season into forcing, the sum of the days'
// development. A day's development is that of its forcing temperature
// T = (1-w) Tmin + w Tmax, times the weight of its length, times the buds'
// competence by the chill of the winter before.
type curve struct {
	Form form
	W    float64 // share of the daily maximum in T, 0.5 (the mean) to 1.25: beyond 1 the day's range counts, as sun on buds does
	M    float64 // sigmoid: the T of half development; linear: the base; C
	Q    float64 // sigmoid: steepness, 1/C

	// Start is the day of the season, from 0, on which forcing begins. P is the
	// power of day length over twelve hours by which a day counts.
	// Source of the latter, from memory: Bluemel and Chmielewski 2012.
	Start int
	P     float64

	// Chill is the sum of chill portions with which buds are fully competent; 0
	// for a curve that asks no chill. Competence rises with chill in a straight
	// line from leastCompetence. Source, from memory: Landsberg 1974; Haenninen 1990.
	Chill float64

	Weight float64 // prior weight among all curves, which sum to 1
}

const (
	leastCompetence = 0.3

	// Days longer than this count as this long: the trees that the curves were
	// fitted to break bud before days are longer, and nothing is known beyond.
	longestDay = 14.5 // hours
)

// rate returns the development of a day at temperatures tmin and tmax, C, as if
// its length and the chill did not limit it.
func (c *curve) rate(tmin, tmax float64) float64 {
	t := (1-c.W)*tmin + c.W*tmax
	switch c.Form {
	case linear:
		return max(0, t-c.M) / 10
	case calendar:
		return 1
	}
	return 1 / (1 + math.Exp(-c.Q*(t-c.M)))
}

// dayWeight returns by how much a day of the given hours counts.
func (c *curve) dayWeight(day int, hours float64) float64 {
	if day < c.Start {
		return 0
	}
	if c.P == 0 {
		return 1
	}
	return math.Pow(min(hours, longestDay)/12, c.P)
}

// competence returns how far buds that had so many chill portions respond.
func (c *curve) competence(portions float64) float64 {
	if c.Chill == 0 {
		return 1
	}
	return leastCompetence + (1-leastCompetence)*min(1, portions/c.Chill)
}

// respondsAs reports whether c and o develop alike in warmth, day length and
// chill apart.
func (c *curve) respondsAs(o *curve) bool {
	return c.Form == o.Form && c.W == o.W && c.M == o.M && c.Q == o.Q
}

// sum adds up development at the given rates into out. The chill portions by
// each day may be nil for curves that ask no chill.
func (c *curve) sum(rates, dayWeights []float64, chill, out course) {
	sum := 0.0
	for i, rate := range rates {
		if c.Chill > 0 {
			rate *= c.competence(chill[i])
		}
		sum += rate*dayWeights[i] + creep
		out[i] = sum
	}
}

// creep is development that every day adds, so that a course always rises and
// the clock stays defined in the depth of winter.
const creep = 1e-4

// course is a sum at the end of each day of a season, rising from day to day.
type course []float64

// at returns the sum at the end of day x of the season, which may be a
// fraction; before the season and after it the sum goes on by creep alone.
func (c course) at(x float64) float64 {
	last := float64(len(c) - 1)
	switch {
	case x <= -1:
		return (x + 1) * creep
	case x >= last:
		return c[len(c)-1] + (x-last)*creep
	}
	i := int(math.Floor(x))
	before := 0.0
	if i >= 0 {
		before = c[i]
	}
	return before + (c[i+1]-before)*(x-float64(i))
}

// day returns when the sum reaches v, in days of the season with a fraction,
// and false when the season ends before.
func (c course) day(v float64) (float64, bool) {
	n := len(c)
	if n == 0 || v > c[n-1] {
		return float64(n), false
	}
	i := first(c, v)
	before := 0.0
	if i > 0 {
		before = c[i-1]
	} else if v <= 0 {
		return -1 + v/creep, true
	}
	return float64(i-1) + (v-before)/(c[i]-before), true
}

// first returns the index of the first value of a rising series that is at
// least v, and its length when none is.
func first(rising []float64, v float64) int {
	lo, hi := 0, len(rising)
	for lo < hi {
		mid := int(uint(lo+hi) >> 1)
		if rising[mid] < v {
			lo = mid + 1
		} else {
			hi = mid
		}
	}
	return lo
}

// lengths returns the day lengths of n days from first on, in hours.
func lengths(lat float64, first climate.Date, n int) []float64 {
	out := make([]float64, n)
	for i := range out {
		out[i] = climate.DayLength(lat, first+climate.Date(i))
	}
	return out
}

// lineTo goes on from the last day of c in a straight line to the sum v by the
// end of the given day.
func (c course) lineTo(day int, v float64) course {
	n, before := len(c), 0.0
	if n > 0 {
		before = c[n-1]
	}
	for i := n; i <= day; i++ {
		c = append(c, before+(v-before)*float64(i-n+1)/float64(day-n+1))
	}
	return c
}
