package calendar

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"budswell/calendar/sums"
	"budswell/climate"
	"budswell/climate/phenology"
)

// WaterSum is in how many hours the pot is dry that is watered tomorrow morning, when it
// does not rain.
type WaterSum struct {
	Hours Amount       `json:"hours"` // after the watering; at most 24 x waterDays less that hour
	Daily float64      `json:"daily"` // litres that tree and pot give off on that day, by the median
	Holds float64      `json:"holds"` // litres that roots can draw when watered
	On    climate.Date `json:"on"`    // tomorrow

	// Guessed lists what was not known and is taken as usual: measures, mix, crown.
	Guessed []string `json:"guessed"`
}

const (
	waterAt   = 7   // o'clock, solar time: when pots are watered
	waterDays = 5   // looked ahead
	leafLayer = 3.0 // leaf area over the ground that a crown in leaf covers; 2 to 4 is usual
	rootBall  = 0.3 // share of the soil that is roots and holds no water (judged)

	// Share of the open bench's evaporation (judged): after root work in the shade, on a
	// bench with a wall or a roof.
	evaporatesShaded, evaporatesOnBench = 0.5, 0.8
)

// near reports whether it dries within the day and the night.
func (s *WaterSum) near() bool { return s.Hours.P10 <= 24 }

// String says it in a sentence.
func (s *WaterSum) String() string {
	guessed := ""
	if len(s.Guessed) > 0 {
		guessed = " Taken as usual: " + strings.Join(s.Guessed, ", ") + "."
	}
	return fmt.Sprintf("Watered at seven on %v and without rain it is dry after %s.%s", s.On, s.Hours.text("hours"), guessed)
}

// waterSum draws how fast a pot dries, see [sums.Dry], with the evapotranspiration of
// the members by the temperatures of the coming days ([climate.Hargreaves]).
func (b *bench) waterSum() *WaterSum {
	o := b.planner.outlook
	v, known := b.tree.Container.Vessel()
	first := o.Issue + 1
	if !known || first < o.First || first+waterDays-1 > o.Last() || b.underGround() {
		return nil
	}
	thirst := sums.Thirst{
		Name: b.tree.Name, Spread: min(max(1.5*v.Length, 5), 300), Leaf: b.leaf(first), Vessel: v, Mix: b.tree.Container.mix(),
		Ball: rootBall, Filled: 1, Shade: b.evaporates(),
	}
	s := &WaterSum{On: first, Guessed: []string{"a crown half as wide again as the pot is long"}}
	if !b.tree.Container.measured() {
		s.Guessed = append(s.Guessed, "the pot's measures")
	}
	if b.tree.Container.Mix == "" {
		s.Guessed = append(s.Guessed, "the mix")
	}
	var hours, daily []float64
	for k := range o.Members {
		m := &o.Members[k]
		et := make([]float64, waterDays)
		for n := range et {
			day := first + climate.Date(n)
			i := day - o.First
			et[n] = min(max(climate.Hargreaves(o.Site.Lat, day, m.Tmin[i], m.Tmax[i]), 0), 20)
		}
		d, err := sums.Dry(&thirst, o.Site, first, waterAt, et)
		if err != nil {
			return nil // a pot that the sum is not made for
		}
		hours, daily = append(hours, d.Hours), append(daily, d.Daily)
		s.Holds = d.Holds
	}
	s.Hours, s.Daily, s.Holds = amountOf(hours), amountOf(daily).P50, amountOf([]float64{s.Holds}).P50
	return s
}

// leaf returns the leaf area over the ground that the crown covers, on a day.
func (b *bench) leaf(on climate.Date) float64 {
	g := b.history.growth
	bare := b.species.Group == phenology.Deciduous || b.species.Group == phenology.DeciduousConifer
	if start := g.site.SeasonStart(g.site.Season(on)); bare && !g.leafOn.on(int(on-start)) {
		return 0
	}
	return leafLayer
}

func (b *bench) evaporates() float64 {
	share := 1.0
	if b.tree.BenchOn(b.planner.outlook.Issue) != "" {
		share = evaporatesOnBench
	}
	if s := b.history.last(AnyRootWork, b.state.Had); s.Valid() && b.planner.outlook.Issue-s < 2*shadeShortest {
		share = evaporatesShaded
	}
	return share
}

// Thirst returns the trees of which it is known how fast their pots dry, those that are dry
// first in front.
func (p *Plan) Thirst() []*TreePlan {
	var out []*TreePlan
	for i := range p.Trees {
		if p.Trees[i].Sums.Water != nil {
			out = append(out, &p.Trees[i])
		}
	}
	slices.SortStableFunc(out, func(a, b *TreePlan) int {
		return cmp.Compare(a.Sums.Water.Hours.P50, b.Sums.Water.Hours.P50)
	})
	return out
}

// water says who is dry first tomorrow, where that is within the day.
func (t *texter) water(trees []*TreePlan) {
	var names []string
	for _, p := range trees {
		if s := p.Sums.Water; s.near() && len(names) < 5 {
			names = append(names, fmt.Sprintf("%s after %.0f h", p.Tree.Name, s.Hours.P50))
		}
	}
	if len(trees) > 1 && len(names) > 0 {
		t.line("", "Dry first tomorrow, watered at seven and without rain: %s.", strings.Join(names, ", "))
	}
}
