package atlas

import (
	"errors"
	"fmt"
	"math"

	"budswell/climate"
)

// Climate is what the atlas says of a place.
type Climate struct {
	Lat, Lon  float64 // degrees north and east
	Elevation float64 // m
	Assumed   bool    // the elevation is that of the stations around, for want of the place's own

	Normals climate.Normals // with the atlas as their source, and their standard error

	// Error is half the width of the band, C, about each monthly mean within
	// which the means of 80 % of stations lie that the atlas was made without.
	Error float64

	Nearest float64 // distance to the nearest station that the atlas rests on, km
}

// Source is what normals of the atlas say they come from.
const Source = "climate atlas (WMO normals 1991-2020)"

// ErrNoClimate is wrapped by what [At] returns for seas and ice caps.
var ErrNoClimate = errors.New("no land climate here")

const (
	ice      = -60 // degrees: south of it trees have no business
	offshore = 25  // km: islands that the outlines lack, piers, errors of coordinates
)

// Elevations of places, m, as [climate.Site] has them.
const (
	lowest  = -430
	highest = 6000
)

// At returns the climate of a place, from latitude and longitude in degrees
// north and east and elevation in metres. Without an elevation, nil, that of the
// stations around is taken and the error widened. For seas and ice caps it
// returns [ErrNoClimate].
func At(lat, lon float64, elevation *float64) (*Climate, error) {
	switch {
	case math.IsNaN(lat) || lat < -90 || lat > 90:
		return nil, fmt.Errorf("place: lat %v: want degrees north from -90 to 90", lat)
	case math.IsNaN(lon) || lon < -180 || lon > 180:
		return nil, fmt.Errorf("place: lon %v: want degrees east from -180 to 180", lon)
	case elevation != nil && (math.IsNaN(*elevation) || *elevation < lowest || *elevation > highest):
		return nil, fmt.Errorf("place: elevation %v: want metres from %d to %d", *elevation, lowest, highest)
	}
	return theSurface().climate(theCoast(), lat, lon, elevation)
}

func (s *surface) climate(sea coast, lat, lon float64, elevation *float64) (*Climate, error) {
	out := &Climate{Lat: lat, Lon: lon}
	p := spotAt(sea, lat, lon, 0)
	if lat < ice {
		return nil, fmt.Errorf("%v, %v: %w: ice cap", lat, lon, ErrNoClimate)
	}
	distance := sea.at(lat, lon)
	if distance < -offshore && !s.island(&p) {
		return nil, fmt.Errorf("%v, %v: %w: open water", lat, lon, ErrNoClimate)
	}
	if greenland(lat, lon) && distance > iceFree {
		return nil, fmt.Errorf("%v, %v: %w: ice cap", lat, lon, ErrNoClimate)
	}
	height, unsure := 0.0, 0.0
	if elevation != nil {
		height = *elevation
	} else {
		height, unsure = s.elevation(&p)
		out.Assumed = true
	}
	out.Elevation = math.Round(height)
	p.h = out.Elevation / 1000
	months, ok := s.months(&p)
	if !ok {
		return nil, fmt.Errorf("%v, %v: %w: open water", lat, lon, ErrNoClimate)
	}
	warmest := math.Inf(-1)
	for m := range 12 {
		lo, hi := tidy(months[m], months[m+12])
		out.Normals.Tmin[m], out.Normals.Tmax[m] = lo, hi
		warmest = max(warmest, (lo+hi)/2)
	}
	if warmest < 0 { // the climate of ice caps, EF, of Koppen and Geiger
		return nil, fmt.Errorf("%v, %v, %v m: %w: no month above freezing", lat, lon, out.Elevation, ErrNoClimate)
	}
	se, km := s.spread(&p, nil)
	const lapse = 0.006 // C a metre
	se = math.Hypot(se, lapse*unsure)
	out.Normals.Source, out.Normals.Error = Source, roundTo(se, 0.01)
	out.Error = roundTo(band80*se, 0.01)
	out.Nearest = roundTo(km, 0.1)
	return out, nil
}

// tidy rounds a month's means to the tenths that stations report, and keeps them
// in order where the fit is poor.
func tidy(lo, hi float64) (float64, float64) {
	const least = 1 // C of daily range
	if hi-lo < least {
		mid := (lo + hi) / 2
		lo, hi = mid-least/2., mid+least/2.
	}
	return roundTo(lo, 0.1), roundTo(hi, 0.1)
}

func roundTo(v, unit float64) float64 {
	per := math.Round(1 / unit)
	return math.Round(v*per) / per
}

// island reports whether a station stands close by, on land too small for the
// outlines.
func (s *surface) island(p *spot) (yes bool) {
	s.about(p, offshore, func(*centre, float64) { yes = true })
	return yes
}

// iceFree is how far from the sea Greenland's ice begins at the latest, km: the
// outlines have the larger fjords (from memory; the widest ice-free land is by the
// longest of them).
const iceFree = 60

func greenland(lat, lon float64) bool { return lat > 60 && lon > -60 && lon < -20 && lat+lon*0.3 > 50 }

// elevation returns the mean elevation of the stations about p, the near ones
// counting most, and their spread, m.
func (s *surface) elevation(p *spot) (mean, sd float64) {
	var n, sum, squares float64
	for radius := 100.0; n == 0; radius *= 3 {
		s.about(p, radius, func(c *centre, km float64) {
			w := 1 / (100 + km*km) // within ten kilometres they are as good as one another
			n += w
			sum += w * c.h * 1000
			squares += w * c.h * c.h * 1e6
		})
		if radius > 2*earth {
			break
		}
	}
	if n == 0 {
		return 0, 0
	}
	mean = sum / n
	const least = 50 // m: towns lie on slopes
	return mean, math.Hypot(least, math.Sqrt(max(0, squares/n-mean*mean)))
}
