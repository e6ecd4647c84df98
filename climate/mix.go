package climate

import (
	"fmt"
	"math"
)

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

// Correction is how far normals that were looked up are moved, all the year alike, toward
// the readings of a record too short for a typical year of its own.
type Correction struct {
	Tmin   float64 `json:"tmin"`   // C
	Tmax   float64 `json:"tmax"`   // C
	Weight float64 `json:"weight"` // share of the mean difference that counts, 0 to 1
	Days   int     `json:"days"`   // measured days
}

const (
	// commonError is the share of the square of the error of looked-up normals
	// that all months have in common; only that can be told from other months. Measured
	// at the stations that the atlas was made without (climate/atlas/testdata/surface.txt).
	commonError = 0.74

	// shiftDays is how many days measured tell anything.
	shiftDays = 14
)

// shifted returns c, normals with the standard error given, C, moved toward what known
// reads: by the mean difference of its measured days, times a weight. The weight is the
// variance of what months have in common over that of the mean difference, to which the
// weather of so many days adds, and what the months read have not in common with others.
// At a standard deviation of single days of 4.5 C and an error of 1 C, two weeks have a weight
// of 0.08, three months 0.28, a year 0.53.
func (c *Cycle) shifted(known *Record, err float64) (*Cycle, Correction) {
	var s Correction
	variance := 0.0
	for k, day := range known.Days {
		if !day.measured() {
			continue
		}
		i := cycleDay(known.First + Date(k))
		s.Days++
		s.Tmin += day.Tmin - c.tmin[i]
		s.Tmax += day.Tmax - c.tmax[i]
		variance += (c.tminSD[i]*c.tminSD[i] + c.tmaxSD[i]*c.tmaxSD[i]) / 2
	}
	if s.Days < shiftDays {
		return c, Correction{}
	}
	n := float64(s.Days)
	common, others := commonError*err*err, (1-commonError)*err*err
	s.Weight = common / (common + others*min(1, 30/n) + variance/n*c.meanVariance(s.Days))
	s.Tmin *= s.Weight / n
	s.Tmax *= s.Weight / n
	out := *c
	for i := range out.tmin {
		out.tmin[i], out.tmax[i] = ordered(c.tmin[i]+s.Tmin, c.tmax[i]+s.Tmax)
	}
	return &out, s
}

// meanVariance returns the variance of the mean of n days in a row, as a share of
// that of single days.
func (c *Cycle) meanVariance(n int) float64 {
	fast := min(max((c.lag1-c.slow*slowLag1)/(1-c.slow), 0), 0.98)
	sum := 1.0
	for k := 1; k < n; k++ {
		alike := (1-c.slow)*math.Pow(fast, float64(k)) + c.slow*math.Pow(slowLag1, float64(k))
		sum += 2 * (1 - float64(k)/float64(n)) * alike
	}
	return sum / float64(n)
}

// String says it for people; empty where nothing was moved.
func (s Correction) String() string {
	if s.Days == 0 {
		return ""
	}
	return fmt.Sprintf("moved by %+.1f °C at night and %+.1f °C by day toward the %d days read here, %.0f %% of their difference",
		s.Tmin, s.Tmax, s.Days, 100*s.Weight)
}
