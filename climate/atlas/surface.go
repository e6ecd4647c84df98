package atlas

import (
	"math"
	"slices"
)

// components is how many numbers a place has: twelve minima and twelve maxima.
const components = 24

// vector holds a value for each component of the surface.
type vector [components]float32

func (v *vector) add(w float32, u *vector) {
	for i := range v {
		v[i] += w * u[i]
	}
}

// surface is the mean of the Gaussian process, made ready for looking up: the trend
// and the smooth parts of the covariance on a grid, the near part as a sum over
// its centres. All of it is in components: the months turned so that the first few
// hold nearly all (principal components of the stations' months).
type surface struct {
	mean  [components]float64 // of the months, C
	turn  [components]vector  // the months of each component
	trend [features]vector

	grid    map[int]*node // by row and column, see gridAt
	centres []centre      // by band of latitude, then longitude
	bands   [181]int      // the first centre of each degree of latitude from 90 S
}

// node holds the smooth parts at a node of the grid: at sea level by the shore, what
// a km of elevation adds, and what a unit of inland adds.
type node [3]vector

// centre is where a kernel of the near part sits.
type centre struct {
	spot
	weight vector
	rough  float64 // how well the surface does there when it must do without: times what it states
}

// The grid's nodes lie so many degrees apart.
const (
	gridStep = 2.5
	gridWide = 144
	gridHigh = 73
)

func gridKey(row, column int) int { return row*gridWide + (column+gridWide)%gridWide }

// cubic returns the weights of four nodes about a point between the middle two, by
// cubic convolution (Keys 1981).
func cubic(x float64) [4]float64 {
	return [4]float64{
		x * (-0.5 + x*(1-0.5*x)),
		1 + x*x*(-2.5+1.5*x),
		x * (0.5 + x*(2-1.5*x)),
		x * x * (-0.5 + 0.5*x),
	}
}

// corners calls f with the nodes about a place and their weights; rows beyond the
// poles are left out, as there is nothing to look up.
func corners(lat, lon float64, f func(key int, weight float64)) {
	y, x := (lat+90)/gridStep, (lon+180)/gridStep
	j, i := int(math.Floor(y)), int(math.Floor(x))
	wy, wx := cubic(y-math.Floor(y)), cubic(x-math.Floor(x))
	for a := range 4 {
		row := min(max(j+a-1, 0), gridHigh-1)
		for b := range 4 {
			f(gridKey(row, i+b-1), wy[a]*wx[b])
		}
	}
}

// months returns the monthly means of a place, minima first, and false where the
// grid does not reach: far from all land.
func (s *surface) months(p *spot) (out [components]float64, ok bool) {
	var z vector
	ok = true
	corners(p.lat, p.lon, func(key int, weight float64) {
		n := s.grid[key]
		if n == nil {
			ok = false
			return
		}
		w := float32(weight)
		z.add(w, &n[0])
		z.add(w*float32(p.h), &n[1])
		z.add(w*float32(p.inland), &n[2])
	})
	if !ok {
		return out, false
	}
	for i, f := range p.features() {
		z.add(float32(f), &s.trend[i])
	}
	s.about(p, near.radius, func(c *centre, km float64) {
		if k := near.at(km, p.h-c.h, p.inland-c.inland); k != 0 {
			z.add(float32(k), &c.weight)
		}
	})
	out = s.mean
	for i := range z {
		for m, v := range s.turn[i] {
			out[m] += float64(z[i]) * float64(v)
		}
	}
	return out, true
}

// about calls f with the centres within a distance of p, km.
func (s *surface) about(p *spot, radius float64, f func(c *centre, km float64)) {
	high := radius / earth * 180 / math.Pi
	wide := 360.0 // degrees of longitude either side
	if far := math.Abs(p.lat) + high; far < 89 {
		wide = math.Asin(math.Sin(radius/earth)/math.Cos(p.lat*math.Pi/180)) * 180 / math.Pi
		if math.IsNaN(wide) {
			wide = 360
		}
	}
	for band := max(0, int(p.lat-high+90)); band <= min(179, int(p.lat+high+90)); band++ {
		row := s.centres[s.bands[band]:s.bands[band+1]]
		within(row, p.lon-wide, p.lon+wide, func(c *centre) {
			if km := apart(p.p, c.p); km < radius {
				f(c, km)
			}
		})
	}
}

// within calls f with the centres of a band between two longitudes, which may lie
// beyond 180 degrees.
func within(row []centre, west, east float64, f func(*centre)) {
	if east-west >= 360 {
		west, east = -180, 180
	}
	run := func(west, east float64) {
		i, _ := slices.BinarySearchFunc(row, west, func(c centre, lon float64) int {
			if c.lon < lon {
				return -1
			}
			return 1
		})
		for ; i < len(row) && row[i].lon <= east; i++ {
			f(&row[i])
		}
	}
	run(west, east)
	if west < -180 {
		run(west+360, 180)
	}
	if east > 180 {
		run(-180, east-360)
	}
}

// order sorts the centres into their bands.
func (s *surface) order() {
	band := func(c centre) int { return min(int(c.lat+90), 179) }
	slices.SortFunc(s.centres, func(a, b centre) int {
		if d := band(a) - band(b); d != 0 {
			return d
		}
		switch {
		case a.lon < b.lon:
			return -1
		case a.lon > b.lon:
			return 1
		}
		return 0
	})
	for k := range s.bands {
		s.bands[k], _ = slices.BinarySearchFunc(s.centres, k, func(c centre, k int) int {
			if band(c) < k {
				return -1
			}
			return 1
		})
	}
}
