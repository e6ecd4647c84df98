package climate

import (
	"errors"
	"fmt"
	"math"
	"time"

	"gonum.org/v1/gonum/mat"
)

// cycleDays is the length of a [Cycle]: the days of a leap year, 29 February
// included, which other years skip.
const cycleDays = 366

// Cycle is the seasonal cycle of a site: the smooth daily mean of its minima and
// maxima through the year, how far single days stray from it, and for how long.
type Cycle struct {
	tmin, tmax     [cycleDays]float64 // means, C
	tminSD, tmaxSD [cycleDays]float64 // standard deviations of single days, C
	tminSkew       [cycleDays]float64 // of single minima, see skewed

	lag1  float64 // correlation of a day's departure with the day before
	cross float64 // correlation of the departures of one day's minimum and maximum
	slow  float64 // share of the variance that lasts for weeks, 0 to 1
}

// At returns the mean minimum and maximum of d's time of year, C.
func (c *Cycle) At(d Date) (tmin, tmax float64) {
	i := cycleDay(d)
	return c.tmin[i], c.tmax[i]
}

// cycleDay returns the index of d in a leap year, from 0.
func cycleDay(d Date) int {
	t := d.Time()
	n := t.YearDay() - 1
	if y := t.Year(); n >= 59 && !(y%4 == 0 && (y%100 != 0 || y%400 == 0)) {
		n++
	}
	return n
}

// Harmonics of the year that describe means and variances. Three carry the
// asymmetry of spring and autumn; more would follow single years of a short record.
const (
	meanHarmonics     = 3
	varianceHarmonics = 2
)

// monthDaysForCycle is how many days of each calendar month a record must have
// read before its own cycle can be told.
const monthDaysForCycle = 20

// errShort is the reason why a record has no cycle of its own.
var errShort = errors.New("too short for a typical year")

// Cycle fits the seasonal cycle to the measured days of r by least squares on
// harmonics of the year. Days that stray more than five standard deviations
// are left out. It wants 20 measured days at least of every calendar month.
func (r *Record) Cycle() (*Cycle, error) {
	var months [12]int
	for i, day := range r.Days {
		if day.measured() {
			months[(r.First+Date(i)).Month()-1]++
		}
	}
	for m, n := range months {
		if n < monthDaysForCycle {
			return nil, fmt.Errorf("record %q: %d days of %v measured: %w: want %d or more of every month",
				r.Source, n, time.Month(m+1), errShort, monthDaysForCycle)
		}
	}
	c := &Cycle{}
	fitCycle(r, func(d Day) (float64, bool) { return d.Tmin, d.TminOrigin == Measured }, &c.tmin, &c.tminSD)
	fitCycle(r, func(d Day) (float64, bool) { return d.Tmax, d.TmaxOrigin == Measured }, &c.tmax, &c.tmaxSD)
	for i := range c.tmin {
		c.tmin[i], c.tmax[i] = ordered(c.tmin[i], c.tmax[i])
	}
	c.fitMemory(r)
	return c, nil
}

// measured reports whether both temperatures of d were read.
func (d Day) measured() bool { return d.TminOrigin == Measured && d.TmaxOrigin == Measured }

// fitCycle fits mean and standard deviation of one element through the year.
func fitCycle(r *Record, value func(Day) (float64, bool), mean, sd *[cycleDays]float64) {
	const outlier = 5
	for i := range sd {
		sd[i] = math.Inf(1)
	}
	for pass := range 2 {
		var n, sum, sq [cycleDays]float64
		each := func(f func(i int, v float64)) {
			for k, day := range r.Days {
				v, ok := value(day)
				i := cycleDay(r.First + Date(k))
				if ok && (pass == 0 || math.Abs(v-mean[i]) <= outlier*sd[i]) {
					f(i, v)
				}
			}
		}
		each(func(i int, v float64) { n[i]++; sum[i] += v })
		next := fitHarmonics(&n, &sum, meanHarmonics)
		n = [cycleDays]float64{}
		each(func(i int, v float64) { n[i]++; sq[i] += (v - next[i]) * (v - next[i]) })
		variance := fitHarmonics(&n, &sq, varianceHarmonics)
		*mean = next
		floor := 0.0
		for _, v := range variance {
			floor += v / cycleDays / 10
		}
		for i, v := range variance {
			sd[i] = math.Sqrt(max(v, floor, 0.01))
		}
	}
}

// fitHarmonics fits k harmonics of the year to sum[i]/n[i], weighted by n.
func fitHarmonics(n, sum *[cycleDays]float64, k int) (fit [cycleDays]float64) {
	p := 2*k + 1
	a, b := mat.NewSymDense(p, nil), mat.NewVecDense(p, nil)
	for i := range n {
		if n[i] == 0 {
			continue
		}
		h := harmonics(i, k)
		for j := range p {
			b.SetVec(j, b.AtVec(j)+sum[i]*h[j])
			for l := j; l < p; l++ {
				a.SetSym(j, l, a.At(j, l)+n[i]*h[j]*h[l])
			}
		}
	}
	for j := 1; j < p; j++ { // keeps the fit tame where months are thin
		a.SetSym(j, j, a.At(j, j)*(1+1e-6))
	}
	var x mat.VecDense
	var chol mat.Cholesky
	if !chol.Factorize(a) || chol.SolveVecTo(&x, b) != nil {
		x = *mat.NewVecDense(p, nil) // unreachable with days in every month
	}
	for i := range fit {
		for j, h := range harmonics(i, k) {
			fit[i] += h * x.AtVec(j)
		}
	}
	return fit
}

// harmonics returns 1 and the cosines and sines of the first k harmonics on day
// i of the cycle.
func harmonics(i, k int) []float64 {
	h := make([]float64, 2*k+1)
	h[0] = 1
	for j := 1; j <= k; j++ {
		s, c := math.Sincos(2 * math.Pi * float64(j) * (float64(i) + 0.5) / cycleDays)
		h[2*j-1], h[2*j] = c, s
	}
	return h
}

// slowLag1 is the day-to-day correlation of the slow part of a departure: it
// fades by 1/e in 30 days.
var slowLag1 = math.Exp(-1.0 / 30)

// fitMemory measures how departures hang together from day to day and between
// minimum and maximum.
func (c *Cycle) fitMemory(r *Record) {
	z := make([][2]float64, len(r.Days))
	for i, day := range r.Days {
		k := cycleDay(r.First + Date(i))
		z[i] = [2]float64{math.NaN(), math.NaN()}
		if day.measured() {
			z[i] = [2]float64{(day.Tmin - c.tmin[k]) / c.tminSD[k], (day.Tmax - c.tmax[k]) / c.tmaxSD[k]}
		}
	}
	corr := func(lag, a, b int) float64 {
		n, s := 0.0, 0.0
		for i := lag; i < len(z); i++ {
			if p := z[i][a] * z[i-lag][b]; !math.IsNaN(p) {
				n++
				s += p
			}
		}
		return s / max(n, 1)
	}
	c.cross = min(max(corr(0, 0, 1), 0), 0.95)
	c.lag1 = min(max((corr(1, 0, 0)+corr(1, 1, 1))/2, 0), 0.95)
	const lag = 15 // by now the fast part has died away
	c.slow = min(max((corr(lag, 0, 0)+corr(lag, 1, 1))/2/math.Pow(slowLag1, lag), 0), 0.5*c.lag1)
}
