package calendar

import (
	"fmt"
	"math"

	"budswell/calendar/sums"
	"budswell/climate"
	"budswell/climate/phenology"
)

// WireSum is when the wire on a tree is likely to mark the bark.
type WireSum struct {
	Since  climate.Date   `json:"since"`  // the wire is on
	Marks  climate.Spread `json:"marks"`  // the first day of a mark, where it comes
	ByNow  float64        `json:"by_now"` // probability that it marks already, 0 to 1
	Chance float64        `json:"chance"` // that it marks within the plan's weather at all
}

// String says it in a sentence.
func (s *WireSum) String() string {
	if s.ByNow >= 0.9 {
		return fmt.Sprintf("Wire on since %v: it has marked, all but surely, since about %v. Look today, and cut it off where it bites.", s.Since, s.Marks.P50)
	}
	if s.ByNow >= 0.5 {
		return fmt.Sprintf("Wire on since %v: by now it marks as likely as not (%s; marks begin about %v). Look today.", s.Since, percent(s.ByNow), s.Marks.P50)
	}
	return fmt.Sprintf("Wire on since %v: marks are likely between %v and %v, most of all about %v; by today %s.", s.Since, s.Marks.P10, s.Marks.P90, s.Marks.P50, percent(s.ByNow))
}

// thickening is by which part of its thickness a branch of a strong tree that is being
// built thickens in a whole growing season: one branch in ten less than the first, half of
// them less than the second, one in ten more than the third. All are judged, no
// published source: nobody has measured them; that deciduous trees mark first, within
// weeks of the spring flush, and pines and junipers after a season or so is common practice.
var thickening = map[phenology.Group][3]float64{
	phenology.Deciduous:          {0.15, 0.30, 0.50},
	phenology.DeciduousConifer:   {0.12, 0.25, 0.40},
	phenology.SingleFlushPine:    {0.06, 0.11, 0.20},
	phenology.MultiFlushPine:     {0.09, 0.16, 0.28},
	phenology.SpruceFir:          {0.06, 0.11, 0.20},
	phenology.JuniperCypress:     {0.06, 0.11, 0.22},
	phenology.BroadleafEvergreen: {0.08, 0.15, 0.28},
	phenology.FrostTender:        {0.15, 0.30, 0.60},
}

// Parts of that thickening (judged).
const (
	thickensRefined    = 0.5 // pinched and trimmed all season
	thickensRecovering = 0.6
	thickensWeak       = 0.3
)

// thickens returns the part that growth adds at the tree's stage and strength.
func (s *State) thickens() float64 {
	part := 1.0
	if s.Stage.rank() >= StageRefining.rank() {
		part = thickensRefined
	}
	switch s.Strength {
	case Weak:
		part *= thickensWeak
	case Recovering:
		part *= thickensRecovering
	}
	return part
}

// bites returns after how many growing seasons wire of the usual gauge, a third of the
// branch's thickness, marks a branch that thickens by a part of its thickness in a
// season: [sums.BitesAfter], in which the thickness cancels out. NaN where that is out
// of its range.
func bites(part float64) float64 {
	const branch = 12 // mm
	seasons, err := sums.BitesAfter(branch/3.0, part*branch)
	if err != nil {
		return math.NaN()
	}
	return seasons
}

// wireSum draws, member by member and over how fast branches thicken, the day on which the
// growth since the wire was put on is as much as it takes to mark. Warmth counts as in
// [Growth].
func (b *bench) wireSum() *WireSum {
	since, g := b.state.WireSince, b.history.growth
	rates, known := thickening[b.species.Group]
	if !since.Valid() || !known || g == nil || g.whole == 0 {
		return nil
	}
	part := b.state.thickens()
	low, usual, high := part*rates[0], part*rates[1], part*rates[2]
	targets := []float64{bites(high), bites(math.Sqrt(usual * high)), bites(usual), bites(math.Sqrt(low * usual)), bites(low)} // rising
	o := b.planner.outlook
	from := max(since, o.First)
	var marks climate.Sample
	for i := range o.Members {
		grown := g.Seasons(since, from)
		next := 0
		for ; next < len(targets) && grown >= targets[next]; next++ { // before what the members cover
			marks = append(marks, g.reaches(since, targets[next]))
		}
		season := o.Site.Season(from)
		start, end := o.Site.SeasonStart(season), o.Site.SeasonStart(season+1)
		for day := from; day <= o.Last() && next < len(targets); day++ {
			if day == end {
				season++
				start, end = end, o.Site.SeasonStart(season+1)
			}
			if g.leafOn.on(int(day - start)) {
				grown += degreeDays(&o.Members[i], int(day-o.First)) / g.whole
			}
			for next < len(targets) && grown >= targets[next] {
				marks = append(marks, day)
				next++
			}
		}
		for ; next < len(targets); next++ {
			marks = append(marks, climate.NoDate)
		}
	}
	spread, ok := marks.Spread()
	if !ok {
		return nil
	}
	return &WireSum{Since: since, Marks: spread, ByNow: marks.By(o.Issue), Chance: marks.Chance()}
}
