package atlas

import (
	"math"
	"testing"
)

// What follows fits every row of the table, whatever it holds, to compare with the
// surface that is embedded: none of it is.

// A country whose stations report something else than the rest of the world has a
// departure of its own, in each of the 24 months: so far, C, and how far its stations
// differ in what they report, as far as that hangs together and otherwise.
var (
	oddMean = 12.0
	oddPart = matern{3, 500}
	oddOwn  = 1.0
)

// oddity is what two stations of one such country have in common beside their places.
func (s *station) oddity(o *station) float64 {
	if s.odd == "" || s.odd != o.odd {
		return 0
	}
	v := oddMean*oddMean + oddPart.at(apart(s.p, o.p))
	if s == o {
		v += oddOwn * oddOwn
	}
	return v
}

// oddCountries are those of whose stations more than half have a wider daily range
// than any place on earth.
func oddCountries(all []*station) map[string]bool {
	wide, n := map[string]int{}, map[string]int{}
	for _, s := range all {
		n[s.country]++
		if s.dailyRange() > widestRange {
			wide[s.country]++
		}
	}
	out := map[string]bool{}
	for c := range wide {
		out[c] = 2*wide[c] > n[c]
	}
	return out
}

// doubted is how many standard errors a row strays from the others before it counts less.
const doubted = 3

// fitEverything fits all rows. First alike; then those that stray by more than
// so many standard errors count less, as much as makes their stray a usual one. With
// countries, those that report something else have a departure of their own.
func fitEverything(t testing.TB, all []*station, countries bool) *process {
	t.Helper()
	odd := oddCountries(all)
	of := make([]*station, len(all))
	for i, s := range all {
		row := *s
		if countries && odd[s.country] {
			row.odd = s.country
		}
		of[i] = &row
	}
	first := fitProcess(t, of)
	for i, s := range of {
		months := first.without([]int{i})[0]
		variance, stray := 1/first.inverse.At(i, i), rms(months[:])
		if stray*stray > doubted*doubted*variance {
			s.doubt = stray*stray - variance
		}
	}
	return fitProcess(t, of)
}

// leftOut judges every station of a process by all others.
func (p *process) leftOut() (out []left) {
	for i, s := range p.stations {
		se := math.Sqrt(1/p.inverse.At(i, i) - s.doubt)
		out = append(out, left{station: s, months: p.without([]int{i})[0], band: band80 * se})
	}
	return out
}

// at returns what the process says of a station that it was fitted without.
func (p *process) at(s *station) [components]float64 {
	out, f := p.mean, s.features()
	for i, c := range p.stations {
		g := c.features()
		k := covariance(&s.spot, &c.spot, &f, &g) + s.oddity(c)
		for m := range out {
			out[m] += k * p.alpha.At(i, m)
		}
	}
	return out
}
