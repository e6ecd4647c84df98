package calendar

import (
	"fmt"

	"budswell/climate"
)

// SeasonSum is how much of the growing season is left for a second growth after candles
// or leaves were cut, or are about to be.
type SeasonSum struct {
	Work       string         `json:"work"`        // id of the work
	Title      string         `json:"title"`       // as people read it
	From       climate.Date   `json:"from"`        // counted from: when it was done, or else the day of the plan
	Frost      climate.Spread `json:"frost"`       // the first of autumn, where it comes
	Chance     float64        `json:"chance"`      // that it comes this season, 0 to 1
	Days       Amount         `json:"days"`        // to the first frost
	DegreeDays Amount         `json:"degree_days"` // above 5 C until then, C d
}

// String says it in a sentence.
func (s *SeasonSum) String() string {
	return fmt.Sprintf("Season left for a second growth (%s), from %v: %s, %s above 5 °C, to the first frost about %v (%v to %v).",
		lower(s.Title), s.From, s.Days.text("days"), s.DegreeDays.text("degree-days"), s.Frost.P50, s.Frost.P10, s.Frost.P90)
}

const (
	seasonSoon = 30 // days ahead from which an opening window is reckoned for
	frostBelow = 0  // C
)

// seasonSum counts days and degree-days from today, or from when the work was done this season, to the first
// frost of each member. Members without one have no part in it.
func (b *bench) seasonSum(works []Planned) *SeasonSum {
	o := b.planner.outlook
	season := o.Site.Season(o.Issue)
	for i := range works {
		w := &works[i]
		if w.Work.Hard != HardOnLeaves || w.Season != season {
			continue
		}
		from := o.Issue
		switch {
		case w.Done.Valid():
			from = w.Done
		case w.Window.Opens.P50 > o.Issue+seasonSoon, w.Window.Closes.P90 < o.Issue, len(w.Blocked) > 0:
			continue
		}
		if from < o.First {
			continue
		}
		frosts := o.FirstFrost(season, frostBelow)
		var days, warmth []float64
		for k, f := range frosts {
			if !f.Valid() || f <= from {
				continue
			}
			sum := 0.0
			for d := from; d < f; d++ {
				sum += degreeDays(&o.Members[k], int(d-o.First))
			}
			days, warmth = append(days, float64(f-from)), append(warmth, sum)
		}
		spread, ok := frosts.Spread()
		if !ok || len(days) == 0 {
			return nil
		}
		return &SeasonSum{Work: w.Work.ID, Title: w.Title, From: from, Frost: spread, Chance: frosts.Chance(), Days: amountOf(days), DegreeDays: amountOf(warmth)}
	}
	return nil
}
