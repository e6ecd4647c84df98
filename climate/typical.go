package climate

import "math"

// TypicalYear is what years made from normals bring.
type TypicalYear struct {
	Frost      FrostDates
	LastError  float64 // half the band, days, about the last frost's days in which 80 % of places have theirs; 0 without frost
	FirstError float64 // the same of the first frost
	DegreeDays float64 // of a calendar year, above the base given; mean
}

// typicalYears is how many years are made: their quantiles are good to a day or two.
const typicalYears = 400

// Typical makes years from n and tells their frosts at a level, C, and their degree-days
// by simple average above a base, C. It is the same every time.
func (n *Normals) Typical(site Site, level, base float64) (*TypicalYear, error) {
	c, err := n.Cycle(site)
	if err != nil {
		return nil, err
	}
	const season = 2001
	o := &Outlook{Site: site, First: site.SeasonStart(season)}
	o.Members = c.generate(0, o.First, 365, typicalYears)
	out := &TypicalYear{Frost: o.Frost(season, level)}
	out.LastError, out.FirstError = n.dateError(c, out.Frost.Spring.P50), n.dateError(c, out.Frost.Autumn.P50)
	warmth := DegreeDays{Method: SimpleAverage, Lower: base, Upper: math.Inf(1)}
	for i := range o.Members {
		for k, tmin := range o.Members[i].Tmin {
			out.DegreeDays += warmth.Day(tmin, o.Members[i].Tmax[k]) / typicalYears
		}
	}
	return out, nil
}

// madeDates is how far, in days, the median days of frost of years made from a place's own
// normals stray from those that its monthly numbers of frost days tell: a standard error with which
// 80 % of some 1,400 stations lie within the band (TestGeneratorOfTheWorld).
const madeDates = 5.7

// nightError is the standard error of a mean minimum over that of all means of looked-up
// normals, which maxima share (climate/atlas/testdata/surface.txt).
const nightError = 1.1

// dateError returns half the band about a day of frost in which 80 % of places have
// theirs: what years made stray, and the error of the normals over how fast nights
// get warmer or colder at that time of year.
func (n *Normals) dateError(c *Cycle, day *MonthDay) float64 {
	if day == nil {
		return 0
	}
	const (
		band80  = 1.28
		about   = 15   // days
		slowest = 0.05 // C a day: in flat seasons dates say little
	)
	i := cycleDay(day.In(2004))
	pace := math.Abs(c.tmin[mod(i+about, cycleDays)]-c.tmin[mod(i-about, cycleDays)]) / (2 * about)
	return math.Round(band80 * math.Hypot(madeDates, nightError*n.Error/max(pace, slowest)))
}
