package climate

import (
	"fmt"
	"math"
	"time"
)

// Site is a place with a climate.
type Site struct {
	Name string // as the grower calls it

	Lat       float64 // degrees north, -90 to 90
	Lon       float64 // degrees east, -180 to 180
	Elevation float64 // metres above sea level, -430 to 6000
	Zone      string  // IANA time zone, such as "Europe/Zurich"
}

// Range of elevations that a site or station may have, in metres: the shore of
// the lowest lake on land to above the highest tree line (from memory).
const (
	minElevation = -430
	maxElevation = 6000
)

// Validate reports the first field of s that is out of range.
func (s Site) Validate() error {
	switch {
	case math.IsNaN(s.Lat) || s.Lat < -90 || s.Lat > 90:
		return fmt.Errorf("site %q: lat %v: want degrees north from -90 to 90", s.Name, s.Lat)
	case math.IsNaN(s.Lon) || s.Lon < -180 || s.Lon > 180:
		return fmt.Errorf("site %q: lon %v: want degrees east from -180 to 180", s.Name, s.Lon)
	case math.IsNaN(s.Elevation) || s.Elevation < minElevation || s.Elevation > maxElevation:
		return fmt.Errorf("site %q: elevation %v: want metres from %d to %d", s.Name, s.Elevation, minElevation, maxElevation)
	}
	if _, err := s.Location(); err != nil {
		return err
	}
	return nil
}

// Location returns the site's time zone.
func (s Site) Location() (*time.Location, error) {
	if s.Zone == "" {
		return nil, fmt.Errorf("site %q: tz is empty: want an IANA time zone such as Europe/Zurich", s.Name)
	}
	loc, err := time.LoadLocation(s.Zone)
	if err != nil {
		return nil, fmt.Errorf("site %q: tz %q: want an IANA time zone such as Europe/Zurich", s.Name, s.Zone)
	}
	return loc, nil
}

// Kilometres returns how far two sites are from one another over the globe, at sea level.
// Source: the haversine formula, from memory.
func (s Site) Kilometres(to Site) float64 {
	const earth, degree = 6371, math.Pi / 180
	half := func(a, b float64) float64 { s := math.Sin((b - a) * degree / 2); return s * s }
	h := half(s.Lat, to.Lat) + math.Cos(s.Lat*degree)*math.Cos(to.Lat*degree)*half(s.Lon, to.Lon)
	return 2 * earth * math.Asin(math.Sqrt(min(h, 1)))
}

// Southern reports whether the site's spring falls in September.
func (s Site) Southern() bool { return s.Lat < 0 }

// Season returns the growing season that d belongs to, named by the calendar
// year of its spring. A season begins in midwinter: on 1 January in the north,
// on 1 July in the south, so that in the south season 2026 runs from 2026-07-01
// to 2027-06-30.
func (s Site) Season(d Date) int {
	if s.Southern() && d.Month() < time.July {
		return d.Year() - 1
	}
	return d.Year()
}

// SeasonStart returns the first day of a season; see [Site.Season].
func (s Site) SeasonStart(season int) Date {
	if s.Southern() {
		return NewDate(season, time.July, 1)
	}
	return NewDate(season, time.January, 1)
}

// Midsummer returns the first day of the second half of a season, which parts
// spring frosts from autumn frosts.
func (s Site) Midsummer(season int) Date {
	if s.Southern() {
		return NewDate(season+1, time.January, 1)
	}
	return NewDate(season, time.July, 1)
}

// Turn returns the day in season on which a northern calendar day falls at this
// site: the day itself in the north, half a year later in the south, where
// 1 March stands for 1 September. It is for dates of the trade that are bound
// to the calendar; weather decides all others.
func (s Site) Turn(m MonthDay, season int) Date {
	if s.Southern() {
		return NewDate(season, m.Month+6, m.Day)
	}
	return m.In(season)
}
