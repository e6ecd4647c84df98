package climate

import (
	"math"
	"sync"

	"gonum.org/v1/gonum/mat"
)

// Normals returns the typical year of r: means of the measured days of each
// month, corrected through [Record.Cycle] for the days that are missing, and the
// standard deviations of single days.
func (r *Record) Normals() (*Normals, error) {
	c, err := r.Cycle()
	if err != nil {
		return nil, err
	}
	n := &Normals{TminSD: new([12]float64), TmaxSD: new([12]float64)}
	var lo, hi, nlo, nhi [12]float64
	for i, day := range r.Days {
		d := r.First + Date(i)
		m, k := d.Month()-1, cycleDay(d)
		if day.TminOrigin == Measured {
			lo[m] += day.Tmin - c.tmin[k]
			nlo[m]++
		}
		if day.TmaxOrigin == Measured {
			hi[m] += day.Tmax - c.tmax[k]
			nhi[m]++
		}
	}
	for m, days := range monthOf365() {
		k := float64(len(days))
		for _, i := range days {
			n.Tmin[m] += c.tmin[i] / k
			n.Tmax[m] += c.tmax[i] / k
			n.TminSD[m] += c.tminSD[i] / k
			n.TmaxSD[m] += c.tmaxSD[i] / k
		}
		n.Tmin[m] += lo[m] / nlo[m]
		n.Tmax[m] += hi[m] / nhi[m]
	}
	return n, nil
}

// monthOf365 returns the cycle's days of each month of a year without 29 February.
func monthOf365() (months [12][]int) {
	first := NewDate(2001, 1, 1)
	for d := first; d < first+365; d++ {
		m := d.Month() - 1
		months[m] = append(months[m], cycleDay(d))
	}
	return months
}

// Cycle returns the daily course of n. The means over the days of each month
// are those of n exactly: the twelve means determine five harmonics of the year
// and the sine of the sixth (Epstein 1991, On obtaining daily climatological
// values from monthly means, J. Climate 4, 365-368; from memory). Standard deviations
// where n has none come from [Normals.spread]; how departures last and hang
// together is that of the middle latitudes, see generator.go.
func (n *Normals) Cycle(site Site) (*Cycle, error) {
	if err := n.Validate(); err != nil {
		return nil, err
	}
	c := &Cycle{lag1: defaultLag1, cross: defaultCross, slow: defaultSlow}
	c.tmin, c.tmax = dailyCourse(&n.Tmin), dailyCourse(&n.Tmax)
	for i := range c.tmin {
		c.tmin[i], c.tmax[i] = ordered(c.tmin[i], c.tmax[i]) // months of equal minimum and maximum
	}
	c.vary(n, site)
	return c, nil
}

// vary sets how far days stray as n says, or is likely to.
func (c *Cycle) vary(n *Normals, site Site) {
	tminSD, tmaxSD, skew := n.spread(site)
	if n.TminSD != nil {
		tminSD = *n.TminSD
	}
	if n.TmaxSD != nil {
		tmaxSD = *n.TmaxSD
	}
	c.tminSD, c.tmaxSD, c.tminSkew = midMonths(&tminSD), midMonths(&tmaxSD), midMonths(&skew)
}

// dailyCourse returns the daily values whose monthly means are given.
func dailyCourse(monthly *[12]float64) (daily [cycleDays]float64) {
	m := courseMatrix()
	for i := range daily {
		for j, v := range monthly {
			daily[i] += m.At(i, j) * v
		}
	}
	return daily
}

// courseMatrix maps monthly means to daily values.
var courseMatrix = sync.OnceValue(func() *mat.Dense {
	daily := mat.NewDense(cycleDays, 12, nil)
	for i := range cycleDays {
		h := harmonics(i, 6)
		daily.SetRow(i, append(h[:11], h[12])) // the sixth cosine is nought in mid-month
	}
	means := mat.NewDense(12, 12, nil)
	for m, days := range monthOf365() {
		for _, i := range days {
			for j := range 12 {
				means.Set(m, j, means.At(m, j)+daily.At(i, j)/float64(len(days)))
			}
		}
	}
	var inverse, out mat.Dense
	if err := inverse.Inverse(means); err != nil {
		panic("climate: monthly means of harmonics are dependent: " + err.Error())
	}
	out.Mul(daily, &inverse)
	return &out
})

// midMonths returns straight lines between mid-months.
func midMonths(monthly *[12]float64) (daily [cycleDays]float64) {
	for i := range daily {
		x := (float64(i)+0.5)/cycleDays*12 - 0.5
		m := mod(int(math.Floor(x)), 12)
		w := x - math.Floor(x)
		daily[i] = (1-w)*monthly[m] + w*monthly[(m+1)%12]
	}
	return daily
}
