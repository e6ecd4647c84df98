package atlas

import (
	"math"
	"slices"
)

// nearest is how many centres an error is reckoned from.
const nearest = 12

// Parts of the stated error, fitted so that the band of 80 % holds 80 % of the
// values of stations that were left out (TestSurfaceFit prints how many it does).
const (
	band80    = 1.22 // half the band, in errors of rough 1: less than 1.28, since long tails count in the error
	usualness = 4.0  // so many centres' worth of usual roughness is mixed in
)

// spread returns the standard error of the surface at a place: that of kriging
// with the nearest centres, times how rough the country about them is. Centres that skip
// names are left out, as if the surface had been fitted without them.
func (s *surface) spread(p *spot, skip func(*centre) bool) (se, km float64) {
	type neighbour struct {
		*centre
		km float64
	}
	var about []neighbour
	for radius := 300.0; ; radius *= 3 {
		about = about[:0]
		s.about(p, radius, func(c *centre, km float64) {
			if skip == nil || !skip(c) {
				about = append(about, neighbour{c, km})
			}
		})
		if len(about) >= nearest || radius > 2*earth {
			break
		}
	}
	slices.SortFunc(about, func(a, b neighbour) int {
		if a.km < b.km {
			return -1
		}
		return 1
	})
	km = math.Inf(1)
	if len(about) > 0 {
		km = about[0].km
	}
	about = about[:min(nearest, len(about))]

	// The part of the variance that the neighbours leave, by Cholesky's
	// factors of their covariance: each takes away what it adds to those before it.
	var l [nearest][nearest]float64
	var b [nearest]float64
	left := departures(p, p)
	rough, weight := usualness, usualness
	for i, c := range about {
		for j := range i + 1 {
			v := departures(&c.spot, &about[j].spot)
			if i == j {
				v += noise * noise
			}
			for k := range j {
				v -= l[i][k] * l[j][k]
			}
			if i == j {
				l[i][i] = math.Sqrt(v)
			} else {
				l[i][j] = v / l[j][j]
			}
		}
		v := departures(p, &c.spot)
		for k := range i {
			v -= l[i][k] * b[k]
		}
		b[i] = v / l[i][i]
		left -= b[i] * b[i]
		w := near.at(c.km, p.h-c.h, p.inland-c.inland) / (near.amplitude * near.amplitude)
		rough += w * c.rough * c.rough
		weight += w
	}
	return math.Sqrt((max(left, 0)+noise*noise)*rough/weight) * p.terrain(), km
}

// terrain is how much more a place may stray for its height, where slopes and
// hollows are, and less for lying on a great plain; fitted to what stations that were left out strayed.
func (s *spot) terrain() float64 {
	return math.Exp(0.36*min(max(s.h, 0), 1) - 0.19*s.inland)
}
