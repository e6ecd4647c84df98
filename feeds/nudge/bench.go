package nudge

import (
	"cmp"
	"slices"
	"strings"

	"budswell/calendar"
	"budswell/climate"
)

// about returns a day of the open air as it is on a bench; nil is the open.
func about(b *calendar.Bench, day climate.Day) climate.Day {
	if b == nil {
		return day
	}
	air, err := b.Air()
	if err != nil {
		return day // which the store does not let happen; the open is the cautious guess
	}
	low := day.Tmin
	if day.TminOrigin == climate.Missing {
		low = day.Tmax // so that no cover is taken to warm a day of which the night is not known
	}
	day.Tmin, day.Tmax = air.On(low, day.Tmax)
	return day
}

// heated reports whether a heater keeps frost off a bench. The ground there does not
// lose its warmth to a clear sky, so that nothing is added to what the air is.
func heated(b *calendar.Bench) bool {
	if b == nil {
		return false
	}
	air, err := b.Air()
	return err == nil && air.Floor != nil
}

// nightsAhead writes the minima of the nights to come as the weather forecast has them,
// and as they are reckoned to be on the benches of trees.
func (m *Morning) nightsAhead(trees []*calendar.TreePlan) []string {
	return m.aheadOn(m.in.Say("Forecast minima"), m.Plan.On+1, trees, func(day climate.Day, d climate.Date) string {
		if day.TminOrigin < climate.Predicted {
			return ""
		}
		return m.in.Say("night to {1} {2}", m.in.WeekDayShort(d), m.in.Tenths(day.Tmin))
	})
}

// daysAhead does the same for maxima.
func (m *Morning) daysAhead(trees []*calendar.TreePlan) []string {
	return m.aheadOn(m.in.Say("Forecast maxima"), m.Plan.On, trees, func(day climate.Day, d climate.Date) string {
		if day.TmaxOrigin < climate.Predicted {
			return ""
		}
		return m.in.WeekDayShort(d) + " " + m.in.Tenths(day.Tmax)
	})
}

func (m *Morning) aheadOn(what string, first climate.Date, trees []*calendar.TreePlan, say func(climate.Day, climate.Date) string) (out []string) {
	benches := []*calendar.Bench{nil}
	for _, t := range trees {
		if t.Bench != nil && !slices.ContainsFunc(benches, func(b *calendar.Bench) bool { return b != nil && b.ID == t.Bench.ID }) {
			benches = append(benches, t.Bench)
		}
	}
	open := ""
	for _, b := range benches {
		var values []string
		for d := first; d < first+ahead; d++ {
			if words := say(about(b, m.Nights.At(d)), d); words != "" {
				values = append(values, words)
			}
		}
		line := strings.Join(values, "; ") + "."
		switch {
		case b == nil:
			open = line
			out = append(out, what+": "+line)
		case line != open:
			out = append(out, m.in.Say("Reckoned for {1}: {2}", clean(b.Name+" ("+m.in.Lower(cmp.Or(b.Exposure, climate.Open))+")"), line))
		}
	}
	return out
}
