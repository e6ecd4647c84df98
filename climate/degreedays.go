package climate

import "math"

// Method is a way to reckon a day's degree-days from its two temperatures.
type Method uint8

// The methods. They agree on days that lie between the thresholds and differ on
// days that a threshold cuts, on which the average sees the least warmth.
const (
	SimpleAverage  Method = iota // of the two temperatures
	SingleTriangle               // straight up to the maximum and straight down again
	SingleSine                   // a sine about their mean: Baskerville and Emin (1969), Ecology 50: 514-517
)

// DegreeDays counts warmth between two thresholds.
type DegreeDays struct {
	Method Method
	Lower  float64 // C; warmth below it does not count

	// Upper is the horizontal cutoff, C: warmth above it counts no more than it
	// would at Upper. math.Inf(1) for none; when not above Lower nothing counts.
	Upper float64
}

// Day returns the degree-days of one day, in C times days, never negative. Tmin
// and tmax are in C, tmin not above tmax.
func (k DegreeDays) Day(tmin, tmax float64) float64 {
	switch k.Method {
	case SingleTriangle:
		return belowCutoff(triangleAbove, tmin, tmax, k.Lower, k.Upper)
	case SingleSine:
		return belowCutoff(sineAbove, tmin, tmax, k.Lower, k.Upper)
	default:
		return max(0, (min(tmin, k.Upper)+min(tmax, k.Upper))/2-k.Lower)
	}
}

// Sum returns the degree-days of the days of a record from the first day to the
// last, both included, and how many of these days are missing a temperature or
// lie outside the record; those add nothing to the sum.
func (k DegreeDays) Sum(r *Record, first, last Date) (sum float64, missing int) {
	for d := first; d <= last; d++ {
		day := r.At(d)
		if day.TminOrigin == Missing || day.TmaxOrigin == Missing {
			missing++
			continue
		}
		sum += k.Day(day.Tmin, day.Tmax)
	}
	return sum, missing
}

// belowCutoff takes what a curve has above the upper threshold from what it has
// above the lower.
func belowCutoff(above func(tmin, tmax, threshold float64) float64, tmin, tmax, lower, upper float64) float64 {
	if upper <= lower {
		return 0
	}
	return max(0, above(tmin, tmax, lower)-above(tmin, tmax, upper)) // never below by rounding
}

// triangleAbove returns the area between a threshold and the part above it of a
// line that rises from tmin to tmax and falls back.
func triangleAbove(tmin, tmax, threshold float64) float64 {
	switch {
	case threshold <= tmin:
		return (tmin+tmax)/2 - threshold
	case threshold >= tmax:
		return 0
	}
	top := tmax - threshold
	return top * top / (2 * (tmax - tmin))
}

// sineAbove does the same for a sine about the mean of tmin and tmax, which
// passes the threshold at the angle theta: Baskerville and Emin (1969).
func sineAbove(tmin, tmax, threshold float64) float64 {
	mean, amplitude := (tmin+tmax)/2, (tmax-tmin)/2
	switch {
	case threshold <= tmin:
		return mean - threshold
	case threshold >= tmax:
		return 0
	}
	theta := math.Asin(max(-1, min((threshold-mean)/amplitude, 1))) // rounding may pass 1
	return ((mean-threshold)*(math.Pi/2-theta) + amplitude*math.Cos(theta)) / math.Pi
}
