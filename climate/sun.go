package climate

import (
	"math"
	"time"
)

// Sun is the sun's day at a site. The day is the solar day, from one lower
// culmination ("midnight") to the next. Times are good to a minute where the
// sun crosses the horizon at a slant that deserves the name, and to a few at the
// edge of the polar day and night; they hold for a flat horizon at the height
// of the eye and for mean refraction.
type Sun struct {
	Noon time.Time // upper culmination, UTC

	// Rise and Set are in UTC, and zero where the sun does not cross the horizon
	// that way between the two midnights: both on a polar day or night, one of
	// them on a day at the edge of it.
	Rise, Set time.Time

	// Hours is how long the sun is up, 0 to 24: exactly 24 on a polar day and
	// exactly 0 in polar night.
	Hours float64
}

// Sun returns sunrise, solar noon, sunset and day length of d, the day whose
// mean solar noon at the site's longitude is at 12 h on d.
//
// Source: the low-accuracy sun of Meeus, Astronomical Algorithms (1998), chapter
// 25 (0.01 degrees), as in NOAA's solar calculator, and its standard altitude of
// -0.833 degrees; but each event is sought with the sun's
// place at that event.
func (s Site) Sun(d Date) Sun {
	noon := d.meanNoon(s.Lon)
	day := newSolarDay(s.Lat, noon)
	instant := func(x float64) time.Time {
		return epochJ2000.Add(time.Duration((noon + x) * float64(24*time.Hour))).Round(time.Second)
	}
	sun := Sun{Noon: instant(day.noon), Hours: day.hours()}
	for _, h := range day.halves {
		switch h.kind {
		case rises:
			sun.Rise = instant(h.event)
		case sets:
			sun.Set = instant(h.event)
		}
	}
	return sun
}

// DayLength returns for how many hours the sun is up on d at a latitude in
// degrees north: 0 to 24, exactly 24 on a polar day and exactly 0 in polar
// night. It differs from [Sun].Hours only by the sun's motion in the hours
// between the site's noon and that of Greenwich.
func DayLength(lat float64, d Date) float64 {
	day := newSolarDay(lat, d.meanNoon(0))
	return day.hours()
}

// epochJ2000 is noon of 1 January 2000, from which times of this file are
// counted in days. Terrestrial Time is taken for UTC: in the minute or so
// between them the sun moves by less than 0.001 degrees.
var epochJ2000 = time.Date(2000, time.January, 1, 12, 0, 0, 0, time.UTC)

// horizon is the sine of the standard altitude at which the sun's centre stands
// at sunrise and sunset: 34' of refraction and 16' of the sun's own radius.
var horizon = math.Sin(-0.833 * radian)

const radian = math.Pi / 180

// solarDay is the sun's day at a place. Its times are in days since mean solar
// noon.
type solarDay struct {
	noon   float64
	halves [2]halfDay
}

// halfDay is the morning or the afternoon of a solar day.
type halfDay struct {
	kind  halfKind
	event float64 // when the sun crosses the horizon, where kind is rises or sets
	hours float64 // for which the sun is up, 0 to 12
}

type halfKind uint8

const (
	staysDown halfKind = iota
	staysUp
	rises
	sets
)

// newSolarDay finds noon, and in each half of the day the moment at which the
// sun crosses the horizon, if it does. Between its culminations the sun climbs
// or falls steadily, so a half in which it is on the same side at both ends has
// no crossing. (Its highest point is not quite the culmination, since it also
// moves north or south, but by less than 0.001 degrees in altitude.)
func newSolarDay(lat float64, meanNoon float64) solarDay {
	sky := newSky(lat, meanNoon)
	var noon float64
	for range 2 { // the first step leaves an error of a fraction of a second
		noon = -sky.equation.at(noon) / (2 * math.Pi)
	}
	before, at, after := sky.height(noon-0.5), sky.height(noon), sky.height(noon+0.5)
	return solarDay{noon, [2]halfDay{
		sky.half(noon-0.5, noon, before, at),
		sky.half(noon, noon+0.5, at, after),
	}}
}

func (d *solarDay) hours() float64 { return d.halves[0].hours + d.halves[1].hours }

// meanNoon returns mean solar noon of d at a longitude, in days since J2000.
func (d Date) meanNoon(lon float64) float64 { return float64(d-j2000) - lon/360 }

var j2000 = DateOf(epochJ2000)

// sky is what a place sees of the sun during a solar day, as functions of the
// days since mean solar noon. The sun's place is computed at noon and at both
// midnights and interpolated in between, as Meeus does in chapter 15; that adds
// an error below 0.0001 degrees.
type sky struct {
	sinLat, cosLat float64
	sinDecl        quadratic // sine of the declination
	equation       quadratic // equation of time: apparent less mean solar time, radians
}

func newSky(lat, meanNoon float64) sky {
	var s sky
	s.sinLat, s.cosLat = math.Sincos(lat * radian)
	var sinDecl, equation [3]float64
	for i := range 3 {
		sinDecl[i], equation[i] = sunAt(meanNoon + float64(i-1)/2)
	}
	s.sinDecl, s.equation = through(sinDecl), through(equation)
	return s
}

// quadratic is a parabola, its coefficients in rising order.
type quadratic [3]float64

// through returns the parabola with the given values at -1/2, 0 and 1/2.
func through(y [3]float64) quadratic {
	return quadratic{y[1], y[2] - y[0], 2 * (y[0] - 2*y[1] + y[2])}
}

func (q *quadratic) at(x float64) float64 { return q[0] + x*(q[1]+x*q[2]) }

// height returns the sine of the sun's altitude at x, less that of the horizon.
func (s *sky) height(x float64) float64 {
	h, _ := s.heightAndSlope(x)
	return h
}

// heightAndSlope adds the part of the slope that comes from the turning Earth,
// per day.
func (s *sky) heightAndSlope(x float64) (height, slope float64) {
	sinDecl := s.sinDecl.at(x)
	cosDecl := math.Sqrt(1 - sinDecl*sinDecl)
	sinH, cosH := math.Sincos(2*math.Pi*x + s.equation.at(x)) // of the hour angle
	height = s.sinLat*sinDecl + s.cosLat*cosDecl*cosH - horizon
	return height, -2 * math.Pi * s.cosLat * cosDecl * sinH
}

// half looks at the half day between from and to, at whose ends the sun stands
// at heights a and b.
func (s *sky) half(from, to, a, b float64) halfDay {
	switch {
	case a >= 0 && b >= 0:
		return halfDay{kind: staysUp, hours: 12}
	case a < 0 && b < 0:
		return halfDay{kind: staysDown}
	case a < 0:
		x := s.crossing(from, to, 1)
		return halfDay{kind: rises, event: x, hours: 24 * (to - x)}
	default:
		x := s.crossing(from, to, -1)
		return halfDay{kind: sets, event: x, hours: 24 * (x - from)}
	}
}

// crossing returns when between lo and hi the sun passes the horizon, upwards
// (way 1) or downwards (way -1). It takes Newton's steps, and halves the
// interval where a step would leave it: at the edge of the polar day, where the
// slope nearly vanishes, and near the poles, where the sun's own motion carries
// it over the horizon.
func (s *sky) crossing(lo, hi, way float64) float64 {
	const tolerance = 1e-6 // days, a tenth of a second
	x := (lo + hi) / 2
	for hi-lo > tolerance {
		height, slope := s.heightAndSlope(x)
		if height*way < 0 {
			lo = x
		} else {
			hi = x
		}
		next := x - height/slope
		if !(lo < next && next < hi) { // also when next is not a number
			next = (lo + hi) / 2
		}
		if math.Abs(next-x) < tolerance {
			return next
		}
		x = next
	}
	return x
}

// sunAt returns the sine of the sun's apparent declination and the equation of
// time in radians, at t days since J2000. Equation numbers are those of Meeus
// (1998), from memory; angles are in degrees where not said otherwise.
func sunAt(t float64) (sinDecl, equation float64) {
	c := t / 36525                                                // (25.1) Julian centuries
	meanLon := 280.46646 + c*(36000.76983+c*0.0003032)            // (25.2)
	anomaly := (357.52911 + c*(35999.05029-c*0.0001537)) * radian // (25.3)
	sinM, cosM := math.Sincos(anomaly)
	sin2M := 2 * sinM * cosM
	sin3M := sinM * (3 - 4*sinM*sinM)
	center := sinM*(1.914602-c*(0.004817+c*0.000014)) + sin2M*(0.019993-c*0.000101) + sin3M*0.000289

	sinNode, cosNode := math.Sincos((125.04 - 1934.136*c) * radian)
	nutation := -0.00478 * sinNode
	lon := meanLon + center - 0.00569 + nutation                                    // less aberration
	obliquity := 23.4392911 - c*(0.0130042+c*(1.64e-7-c*5.04e-7)) + 0.00256*cosNode // (22.2), (25.8)

	sinLon, cosLon := math.Sincos(lon * radian)
	sinObl, cosObl := math.Sincos(obliquity * radian)
	ascension := math.Atan2(cosObl*sinLon, cosLon) // (25.6), radians
	sinDecl = sinObl * sinLon                      // (25.7)

	// The hour angle at Greenwich is sidereal time (12.4) less right ascension;
	// what it has above the 360 degrees a day of the mean sun is the equation.
	sidereal := 280.46061837 + 0.98564736629*t + c*c*0.000387933 + nutation*cosObl
	return sinDecl, math.Remainder(sidereal*radian-ascension, 2*math.Pi)
}
