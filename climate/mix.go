package climate

import "math"

// slowVariance is the share of the variance of single days that monthly means
// have: the median of 900 stations, see generator.go. The error of a mean over years comes from it.
const slowVariance = 0.2

// weight returns how much c, the cycle of a record with so many measured days,
// counts beside one whose means have the standard error given, C: each by the inverse square
// of its error. The variance of a month's mean over n years is an nth of that of single
// months. At a standard deviation of single days of 4.5 C and an error of 1 C, a year's own
// record has a weight of 0.20, three years 0.43, nine 0.69.
func (c *Cycle) weight(days int, err float64) float64 {
	variance := 0.0
	for i := range c.tminSD {
		variance += (c.tminSD[i]*c.tminSD[i] + c.tmaxSD[i]*c.tmaxSD[i]) / 2 / cycleDays
	}
	own := slowVariance * variance / (float64(days) / 365)
	return err * err / (err*err + own)
}

// mix returns the mean of c, with the weight given, and d.
func (c *Cycle) mix(d *Cycle, weight float64) *Cycle {
	out := &Cycle{}
	of := func(a, b float64) float64 { return weight*a + (1-weight)*b }
	for i := range out.tmin {
		out.tmin[i], out.tmax[i] = of(c.tmin[i], d.tmin[i]), of(c.tmax[i], d.tmax[i])
		out.tminSD[i] = math.Sqrt(of(c.tminSD[i]*c.tminSD[i], d.tminSD[i]*d.tminSD[i]))
		out.tmaxSD[i] = math.Sqrt(of(c.tmaxSD[i]*c.tmaxSD[i], d.tmaxSD[i]*d.tmaxSD[i]))
		out.tminSkew[i] = d.tminSkew[i] // a short record cannot tell
	}
	out.lag1, out.cross, out.slow = of(c.lag1, d.lag1), of(c.cross, d.cross), of(c.slow, d.slow)
	return out
}
