package climate

import (
	"fmt"
	"math"
	"slices"
)

// Report is what a weather record holds, for the person who is to rely on it.
type Report struct {
	Source string   `json:"source"`
	First  Date     `json:"first"`
	Last   Date     `json:"last"`
	Days   int      `json:"days"`
	Notes  []string `json:"notes,omitempty"` // what the reader left out

	MissingTmin int   `json:"missing_tmin"` // days
	MissingTmax int   `json:"missing_tmax"`
	MissingPrcp int   `json:"missing_prcp"`
	Gaps        []Gap `json:"gaps"` // without either temperature, the longest first
	LongestGap  int   `json:"longest_gap"`

	Odd []Odd `json:"odd"` // in order of days

	Frost   []FrostDates `json:"frost"`   // at [FrostLevels]
	Seasons []SeasonSum  `json:"seasons"` // every season that the record touches

	// Typical is the typical year; nil, with the reason in NoTypical, where the
	// record does not have enough of every month.
	Typical   *Normals `json:"typical,omitempty"`
	NoTypical string   `json:"no_typical,omitempty"`
}

// Gap is a run of days of which one temperature at least is missing.
type Gap struct {
	First Date `json:"first"`
	Last  Date `json:"last"`
	Days  int  `json:"days"`
	Tmin  int  `json:"tmin"` // days without a minimum
	Tmax  int  `json:"tmax"` // days without a maximum
}

// Odd is a value that does not look right against its time of year and the days
// around it. It is kept: that it is odd does not make it wrong.
type Odd struct {
	Date     Date    `json:"date"`
	Field    string  `json:"field"`
	Value    float64 `json:"value"`    // C
	Expected float64 `json:"expected"` // from the season and the days around, C
	Why      string  `json:"why"`
}

// SeasonSum is the warmth of a season.
type SeasonSum struct {
	Season     int     `json:"season"`
	DegreeDays float64 `json:"degree_days"` // above 5 C, simple average, of the days that were read
	Measured   int     `json:"measured"`    // days with both temperatures
	Length     int     `json:"length"`      // days that the season has
}

// reportBase is the base of the degree-days of a report, C, customary for the
// growing season of cool climates.
const reportBase = 5

// Check reports what r holds, as weather of site.
func Check(r *Record, site Site) Report {
	out := Report{
		Source: r.Source, First: r.First, Last: r.Last(), Days: len(r.Days), Notes: r.Notes,
		Gaps: []Gap{}, Odd: []Odd{}, Frost: []FrostDates{}, Seasons: []SeasonSum{},
	}
	if len(r.Days) == 0 {
		out.First = NoDate
		return out
	}
	for _, d := range r.Days {
		if d.TminOrigin == Missing {
			out.MissingTmin++
		}
		if d.TmaxOrigin == Missing {
			out.MissingTmax++
		}
		if d.PrcpOrigin == Missing {
			out.MissingPrcp++
		}
	}
	out.Gaps = append(out.Gaps, r.gaps()...)
	if len(out.Gaps) > 0 {
		out.LongestGap = out.Gaps[0].Days
	}
	c, err := r.Cycle()
	if err != nil {
		out.NoTypical = err.Error()
	} else {
		out.Typical, _ = r.Normals()
		out.Odd = append(out.Odd, r.odd(c)...)
	}
	for _, level := range FrostLevels {
		out.Frost = append(out.Frost, r.Frost(site, level))
	}
	warmth := DegreeDays{Method: SimpleAverage, Lower: reportBase, Upper: math.Inf(1)}
	for s := site.Season(r.First); s <= site.Season(r.Last()); s++ {
		first, last := site.SeasonStart(s), site.SeasonStart(s+1)-1
		sum, missing := warmth.Sum(r, first, last)
		n := int(last-first) + 1
		out.Seasons = append(out.Seasons, SeasonSum{s, math.Round(sum*10) / 10, n - missing, n})
	}
	return out
}

// gaps lists the gaps of r, the longest first.
func (r *Record) gaps() []Gap {
	var out []Gap
	for i := 0; i < len(r.Days); i++ {
		if !r.Days[i].holed() {
			continue
		}
		g := Gap{First: r.First + Date(i)}
		for ; i < len(r.Days) && r.Days[i].holed(); i++ {
			g.Days++
			if r.Days[i].TminOrigin == Missing {
				g.Tmin++
			}
			if r.Days[i].TmaxOrigin == Missing {
				g.Tmax++
			}
		}
		g.Last = g.First + Date(g.Days) - 1
		out = append(out, g)
	}
	slices.SortStableFunc(out, func(a, b Gap) int { return b.Days - a.Days })
	return out
}

// holed reports whether d lacks a temperature.
func (d Day) holed() bool { return d.TminOrigin == Missing || d.TmaxOrigin == Missing }

// oddness is how many standard errors a value may lie from what its neighbours
// say: of 28,000 Gaussian values, those of 38 years, two lie farther.
const oddness = 4

// odd lists the values that stand alone: those that lie far from what the
// departures of the days before and after let expect. Between neighbours of an
// autoregression with correlation a, the expected departure is
// a/(1+a*a) times their sum, and its variance (1-a*a)/(1+a*a).
func (r *Record) odd(c *Cycle) []Odd {
	var out []Odd
	a := c.lag1
	weight, se := a/(1+a*a), math.Sqrt((1-a*a)/(1+a*a))
	look := func(i int, field string, value func(Day) (float64, bool), mean, sd *[cycleDays]float64) {
		at := func(k int) (z float64, ok bool) {
			if k < 0 || k >= len(r.Days) {
				return 0, false
			}
			v, ok := value(r.Days[k])
			j := cycleDay(r.First + Date(k))
			if !ok {
				return 0, false
			}
			return (v - mean[j]) / sd[j], true
		}
		z, ok := at(i)
		if !ok {
			return
		}
		before, ok1 := at(i - 1)
		after, ok2 := at(i + 1)
		expect, err := 0.0, 1.0
		if ok1 && ok2 {
			expect, err = weight*(before+after), se
		} else if ok1 || ok2 {
			expect, err = a*(before+after), math.Sqrt(1-a*a) // at returns 0 for the one that is missing
		}
		if math.Abs(z-expect) <= oddness*err {
			return
		}
		j := cycleDay(r.First + Date(i))
		v, _ := value(r.Days[i])
		e := mean[j] + expect*sd[j]
		way := "above"
		if v < e {
			way = "below"
		}
		out = append(out, Odd{
			r.First + Date(i), field, v, math.Round(e*10) / 10,
			fmt.Sprintf("%.0f C %s what the season and the days around let expect", math.Abs(v-e), way),
		})
	}
	for i := range r.Days {
		look(i, "tmin", func(d Day) (float64, bool) { return d.Tmin, d.TminOrigin == Measured }, &c.tmin, &c.tminSD)
		look(i, "tmax", func(d Day) (float64, bool) { return d.Tmax, d.TmaxOrigin == Measured }, &c.tmax, &c.tmaxSD)
	}
	return out
}
