package calendar

import (
	"fmt"
	"math"
	"strings"

	"budswell/climate"
	"budswell/climate/phenology"
)

// why says in words what the days of a window rest on.
func (t *timing) why(r *Rule, w Window, season int) string {
	var parts []string
	say := func(s string) {
		if s = strings.TrimSpace(s); s != "" {
			if !strings.ContainsAny(s[len(s)-1:], ".!?") {
				s += "."
			}
			parts = append(parts, s)
		}
	}
	say(r.Why)
	told := map[string]bool{}
	for _, end := range []*Anchor{&r.Opens, &r.Closes} {
		end.some(func(a *Anchor) bool {
			s := t.reason(a, season)
			key := s
			if a.At == AtPhase {
				key = "phase" // of a second phase about the same would be said
			}
			if s != "" && !told[key] {
				told[key] = true
				say(s)
			}
			return false
		})
	}
	if w.AnyTime {
		say("Growth does not stop here in winter: there is no first day, and any time in growth will do, out of the heat")
	}
	if w.Chance < 0.95 {
		say(fmt.Sprintf("The window comes in %.0f of 100 years", math.Floor(100*w.Chance)))
	}
	const farAhead = "More than a month ahead"
	given := r.ForShow() && r.Opens.hangsOnWorkOnly() && r.Closes.hangsOnWorkOnly() // counted from the show alone
	if !given && w.Likely-t.planner.outlook.Issue > skilfulDays && !strings.Contains(strings.Join(parts, " "), farAhead) {
		say(farAhead + ": little better than the average of other years")
	}
	return strings.Join(parts, " ")
}

// soFar tells how much of what the first phase among the ends of r waits for has
// come by the day of the plan. It stands apart from why, since it moves every day.
func (t *timing) soFar(r *Rule, season int) (s string) {
	for _, end := range []*Anchor{&r.Opens, &r.Closes} {
		end.some(func(a *Anchor) bool {
			year := season
			if a.Next {
				year++
			}
			if a.At == AtPhase && s == "" {
				s = t.phases.forecast(a.Phase, year).SoFar
			}
			return s != ""
		})
	}
	return s
}

// skilfulDays is how far ahead what is known of this season says more of a phase
// than the other years do.
const skilfulDays = 31

// reason tells what one anchor rests on.
func (t *timing) reason(a *Anchor, season int) string {
	if a.Next {
		season++
	}
	switch a.At {
	case AtPhase:
		return t.phases.forecast(a.Phase, season).Why
	case AtLastFrost, AtFirstFrost:
		name := "Last frost"
		if a.At == AtFirstFrost {
			name = "First frost"
		}
		s := t.planner.weather(event{at: a.At, level: t.level(a), season: season})
		dates := make(climate.Sample, len(s))
		for i, d := range s {
			dates[i] = d
			if d == beforeAll || d == afterAll {
				dates[i] = climate.NoDate
			}
		}
		sp, ok := dates.Spread()
		if !ok {
			return fmt.Sprintf("%s (%g C): none here", name, t.level(a))
		}
		out := fmt.Sprintf("%s (%g C) about %v, 10-90 %%: %v to %v", name, t.level(a), sp.P50, sp.P10, sp.P90)
		if c := dates.Chance(); c < 1 {
			out += fmt.Sprintf("; none in %.0f of 100 years", math.Ceil(100*(1-c)))
		}
		return out
	case AtDegreeDays:
		return t.soMuchWarmth(a, season)
	case AtShow:
		if t.show != nil {
			return t.show.reason()
		}
	case AtWork, AtShade:
		if d := t.worked(a.Work); d.Valid() {
			w, _ := t.planner.lore.WorkByID(a.Work)
			name := "hard work"
			switch {
			case w != nil:
				name = "\"" + w.Title + "\""
			case a.Work == AnyRootWork:
				name = "root work"
			}
			return fmt.Sprintf("Counted from %s on %v", name, d)
		}
	}
	return ""
}

// forecast returns that of a phase, an empty one outside the outlook.
func (f *phases) forecast(ph phenology.Phase, season int) phenology.Forecast {
	if first, last := f.planner.span(season); first < f.planner.outlook.First || last > f.planner.outlook.Last() {
		return phenology.Forecast{}
	}
	return f.season(season).Phases[ph]
}

// count writes a number of things.
func count(n float64, thing string) string {
	if n == 1 {
		return "one " + thing
	}
	return fmt.Sprintf("%g %ss", n, thing)
}

// lower returns s with a small first letter, to stand within a sentence.
func lower(s string) string {
	if s == "" {
		return s
	}
	return strings.ToLower(s[:1]) + s[1:]
}
