package climate

import "math"

// TypicalYear is what years made from normals bring.
type TypicalYear struct {
	Frost      FrostDates
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
	warmth := DegreeDays{Method: SimpleAverage, Lower: base, Upper: math.Inf(1)}
	for i := range o.Members {
		for k, tmin := range o.Members[i].Tmin {
			out.DegreeDays += warmth.Day(tmin, o.Members[i].Tmax[k]) / typicalYears
		}
	}
	return out, nil
}
