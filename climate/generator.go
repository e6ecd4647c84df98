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
// The minima are then drawn out on the cold side, as [skewed] says, where winters do so.
//
// What it cannot know: trends; how long cold and warm spells of the place last; frost hollows and walls,
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
// standard deviations. Both keep their own spread. Where the mean daily range is less
// than two of the standard deviations that it would have, they are made to stray more
// alike, so that the range does not fall below nought.
func (c *Cycle) weather(k int, lo, hi float64) (tmin, tmax float64) {
	a, b := c.tminSD[k], c.tmaxSD[k]
	half := (c.tmax[k] - c.tmin[k]) / 2
	if a*a+b*b-2*c.cross*a*b > half*half {
		alike := min((a*a+b*b-half*half)/(2*a*b), 1)
		own := (hi - c.cross*lo) / math.Sqrt(1-c.cross*c.cross) // what hi does not share with lo
		hi = alike*lo + math.Sqrt(1-alike*alike)*own
	}
	return ordered(c.tmin[k]+a*skewed(lo, c.tminSkew[k]), c.tmax[k]+b*hi)
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
