package climate

import (
	"math"
	"math/rand/v2"
)

// Cycle returns the daily course of n.
func (n *Normals) Cycle(site Site) (*Cycle, error) {
	if err := n.Validate(); err != nil {
		return nil, err
	}
	c := &Cycle{lag1: 0.6, cross: 0.6, slow: 0.1}
	for i := range cycleDays {
		x := float64(i)/cycleDays*12 - 0.5
		m := mod(int(math.Floor(x)), 12)
		f := x - math.Floor(x)
		c.tmin[i] = n.Tmin[m]*(1-f) + n.Tmin[(m+1)%12]*f
		c.tmax[i] = n.Tmax[m]*(1-f) + n.Tmax[(m+1)%12]*f
		c.tminSD[i], c.tmaxSD[i] = 4, 4
	}
	return c, nil
}

// Normals returns the typical year that f tells of.
func (f *FrostNormal) Normals(site Site) (*Normals, error) {
	if err := f.Validate(); err != nil {
		return nil, err
	}
	n := &Normals{}
	for m := range 12 {
		t := f.Mean - f.Range/2*math.Cos(2*math.Pi*(float64(m)-0.5)/12)
		if site.Southern() {
			t = 2*f.Mean - t
		}
		n.Tmin[m], n.Tmax[m] = t-5, t+5
	}
	return n, nil
}

func (c *Cycle) generate(seed uint64, first Date, n, members int) []Member {
	out := make([]Member, members)
	for i := range out {
		rng := rand.New(rand.NewPCG(seed, uint64(i)))
		m := Member{Tmin: make([]float64, n), Tmax: make([]float64, n)}
		z := rng.NormFloat64()
		for k := range n {
			z = c.lag1*z + math.Sqrt(1-c.lag1*c.lag1)*rng.NormFloat64()
			j := cycleDay(first + Date(k))
			m.Tmin[k], m.Tmax[k] = c.tmin[j]+z*c.tminSD[j], c.tmax[j]+z*c.tmaxSD[j]
			m.Tmax[k] = max(m.Tmin[k], m.Tmax[k])
		}
		out[i] = m
	}
	return out
}
