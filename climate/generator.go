package climate

import (
	"math"
	"math/rand/v2"
)

// How departures behave where only normals are known. The day-to-day
// correlation and that of minimum and maximum are those of Harvard Forest
// 1964-2002. The slow share is such that monthly means vary as they do at the
// median of 900 stations of the WMO Climatological Normals 1991-2020, whose monthly
// means have a fifth of the variance of single days.
const (
	defaultLag1  = 0.6
	defaultCross = 0.64
	defaultSlow  = 0.14
)

// generate makes years of weather about c, beginning on first: a stochastic
// generator of the kind of Richardson (1981, Water Resources Research 17, 182-190;
// from memory), without its wet and dry days. The departures of minimum and
// maximum are Gaussian, correlated with each other, and each the sum of a fast and a slow
// first-order autoregression: weather, and spells of months. Members come in
// pairs with opposite departures, so that the mean of an even number of members
// is the cycle.
//
// What it cannot know: trends; how long cold and warm spells of the place last;
// that winter minima have a longer tail on the cold side; frost hollows and walls,
// for it knows only the screen that the normals come from; anything that links
// temperature with cloud, rain or snow.
//
// The same seed, cycle and first day give the same members, and fewer members
// are the first of more.
func (c *Cycle) generate(seed uint64, first Date, n, members int) []Member {
	out := make([]Member, members)
	for i := range out {
		sign := 1.0
		if i%2 == 1 {
			sign = -1
		}
		m := Member{Tmin: make([]float64, n), Tmax: make([]float64, n)}
		z := newDepartures(c, seed, uint64(i/2))
		for k := range n {
			lo, hi := z.next()
			m.Tmin[k], m.Tmax[k] = c.weather(cycleDay(first+Date(k)), sign*lo, sign*hi)
		}
		out[i] = m
	}
	return out
}

// weather returns the temperatures of day k of the cycle that stray by lo and hi
// standard deviations. The daily range is kept from falling below nought, by
// narrowing its variation where the mean range is less than two of its standard
// deviations.
func (c *Cycle) weather(k int, lo, hi float64) (tmin, tmax float64) {
	lo, hi = lo*c.tminSD[k], hi*c.tmaxSD[k]
	width := c.tmax[k] - c.tmin[k]
	sd := math.Sqrt(c.tminSD[k]*c.tminSD[k] + c.tmaxSD[k]*c.tmaxSD[k] - 2*c.cross*c.tminSD[k]*c.tmaxSD[k])
	narrow := min(1, width/2/max(sd, 1e-9))
	mean := (c.tmin[k] + c.tmax[k] + lo + hi) / 2
	half := max(0, width+narrow*(hi-lo)) / 2
	return ordered(mean-half, mean+half)
}

// ordered returns a day's temperatures within the range of [Day]: no lower or
// higher than they can be, and their mean for both where they would cross.
func ordered(tmin, tmax float64) (float64, float64) {
	if tmin > tmax {
		tmin = (tmin + tmax) / 2
		tmax = tmin
	}
	return min(max(tmin, lowest), highest), min(max(tmax, lowest), highest)
}

// departures draws correlated standard departures day by day.
type departures struct {
	rng              *rand.Rand
	cross            float64
	fastLag1         float64
	fastPart, slow   float64 // amplitudes
	fastLo, fastHi   float64
	slowLo, slowHi   float64
	fastKick, slowOn float64 // amplitudes of a day's news
}

func newDepartures(c *Cycle, seed, stream uint64) *departures {
	lag1 := min(max((c.lag1-c.slow*slowLag1)/(1-c.slow), 0), 0.98)
	z := &departures{
		rng: rand.New(rand.NewPCG(seed, stream)), cross: c.cross, fastLag1: lag1,
		fastPart: math.Sqrt(1 - c.slow), slow: math.Sqrt(c.slow),
		fastKick: math.Sqrt(1 - lag1*lag1), slowOn: math.Sqrt(1 - slowLag1*slowLag1),
	}
	z.fastLo, z.fastHi = z.pair()
	z.slowLo, z.slowHi = z.pair()
	return z
}

// pair draws two standard normal numbers with the cross-correlation.
func (z *departures) pair() (lo, hi float64) {
	lo = z.rng.NormFloat64()
	return lo, z.cross*lo + math.Sqrt(1-z.cross*z.cross)*z.rng.NormFloat64()
}

func (z *departures) next() (lo, hi float64) {
	lo, hi = z.pair()
	z.fastLo, z.fastHi = z.fastLag1*z.fastLo+z.fastKick*lo, z.fastLag1*z.fastHi+z.fastKick*hi
	lo, hi = z.pair()
	z.slowLo, z.slowHi = slowLag1*z.slowLo+z.slowOn*lo, slowLag1*z.slowHi+z.slowOn*hi
	return z.fastPart*z.fastLo + z.slow*z.slowLo, z.fastPart*z.fastHi + z.slow*z.slowHi
}
