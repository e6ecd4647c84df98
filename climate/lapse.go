package climate

import (
	"fmt"
	"math"
)

// LapseRate is how much colder it is a metre higher up, C: the mean of the lower
// atmosphere in the International Standard Atmosphere (ISO 2533). Valleys on
// clear nights do not keep to it; see [Lapse].
const LapseRate = 0.0065

// Lapse is how much colder it is a metre higher up about a site, C, by month of the
// year; less than 0 where it is warmer there, as over valleys in winter.
type Lapse struct{ Tmin, Tmax [12]float64 }

// levelWithin is how many metres make no difference worth an adjustment.
const levelWithin = 10

// at returns s as it would be at the elevation of site, by the rates of lapse, nil
// being [LapseRate] all year.
func (s Series) at(site Site, lapse *Lapse) (Series, string) {
	if s.Elevation == nil || math.IsNaN(*s.Elevation) || math.Abs(*s.Elevation-site.Elevation) < levelWithin {
		return s, ""
	}
	up := *s.Elevation - site.Elevation
	out := make([]Reading, len(s.Readings))
	for i, r := range s.Readings {
		low, high := LapseRate, LapseRate
		if lapse != nil {
			m := r.On.Time().Month() - 1
			low, high = lapse.Tmin[m], lapse.Tmax[m]
		}
		r.Tmin, r.Tmax = bounded(r.Tmin+up*low), bounded(r.Tmax+up*high)
		if r.Tmin > r.Tmax { // a small range where nights and days are taken apart
			r.Tmin, r.Tmax = r.Tmax, r.Tmin
		}
		out[i] = r
	}
	s.Readings = out
	if lapse == nil {
		return s, fmt.Sprintf("temperatures of %s are for %.0f m and were taken %+.1f C for the %.0f m of the site, at 6.5 C a kilometre",
			s.Source, *s.Elevation, up*LapseRate, site.Elevation)
	}
	return s, fmt.Sprintf("temperatures of %s are for %.0f m and were taken %s by night and %s by day, by the month, for the %.0f m of the site",
		s.Source, *s.Elevation, fromTo(up, &lapse.Tmin), fromTo(up, &lapse.Tmax), site.Elevation)
}

// fromTo writes the least and the most that months are taken by.
func fromTo(up float64, rates *[12]float64) string {
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, r := range rates {
		lo, hi = min(lo, up*r), max(hi, up*r)
	}
	return fmt.Sprintf("%+.1f to %+.1f C", lo, hi)
}
