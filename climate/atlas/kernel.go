package atlas

import "math"

// The surface is the mean of a Gaussian process (kriging with a trend): monthly
// means are a trend of a few features of a place, plus departures that are alike
// at places that are alike. What follows says how alike, in C and km.

// earth is the radius of the earth, km.
const earth = 6371

// spot is a place as the surface sees it.
type spot struct {
	lat, lon float64    // degrees
	p        [3]float64 // km from the earth's centre
	h        float64    // elevation, km
	inland   float64    // nought by the sea, 1 at 380 km from it, by the logarithm between
}

func spotAt(c coast, lat, lon, elevation float64) spot {
	const shore, scale = 20, 3
	return spot{lat, lon, onSphere(lat, lon), elevation / 1000, math.Log1p(max(c.at(lat, lon), 0)/shore) / scale}
}

func onSphere(lat, lon float64) [3]float64 {
	sinLat, cosLat := math.Sincos(lat * math.Pi / 180)
	sinLon, cosLon := math.Sincos(lon * math.Pi / 180)
	return [3]float64{earth * cosLat * cosLon, earth * cosLat * sinLon, earth * sinLat}
}

// apart returns the straight distance between two points, km.
func apart(p, q [3]float64) float64 {
	x, y, z := p[0]-q[0], p[1]-q[1], p[2]-q[2]
	return math.Sqrt(x*x + y*y + z*z)
}

// features of the trend: latitude, elevation and the sea, and how the latter two
// change with latitude.
const features = 11

func (s *spot) features() [features]float64 {
	x, h, c := s.lat/60, s.h, s.inland
	return [features]float64{1, x, x * x, x * x * x, x * x * x * x, h, h * math.Abs(x), h * h, c, c * x, c * x * x}
}

// The parts of the covariance: amplitudes, C (of the second and third a km of
// elevation and a unit of inland), and lengths, km. Found by the likelihood of
// leaving stations out of four regions, see TestSurfaceFit.
var (
	broad  = matern{4.80, 2656} // air masses, currents
	lapse  = matern{1.52, 736}  // how temperature falls with height
	inland = matern{2.74, 1545} // how it changes away from the sea
	middle = matern{0.958, 828} // ranges, plains, lakes

	near = local{amplitude: 0.728, radius: 450, h: 1.128, inland: 0.670} // neighbours of like height, as near the sea

	noise = 0.662 // what the screen's own ground adds: hollow, slope, town; and the errors of reading
)

// matern is a covariance of Matern's with smoothness 3/2.
type matern struct{ amplitude, length float64 }

func (m matern) at(km float64) float64 {
	r := math.Sqrt(3) * km / m.length
	return m.amplitude * m.amplitude * (1 + r) * math.Exp(-r)
}

// local is a covariance of Wendland's (1995), smooth and of compact support, in the five
// dimensions of place, height and distance from the sea.
type local struct{ amplitude, radius, h, inland float64 }

func (l local) at(km, h, inland float64) float64 {
	km, h, inland = km/l.radius, h/l.h, inland/l.inland
	r := km*km + h*h + inland*inland
	if r >= 1 {
		return 0
	}
	r = math.Sqrt(r)
	t := 1 - r
	return l.amplitude * l.amplitude * t * t * t * t * t * (5*r + 1)
}

// departures returns the covariance of the departures from the trend of two
// places.
func departures(a, b *spot) float64 {
	km := apart(a.p, b.p)
	return broad.at(km) + a.h*b.h*lapse.at(km) + a.inland*b.inland*inland.at(km) + middle.at(km) +
		near.at(km, a.h-b.h, a.inland-b.inland)
}
