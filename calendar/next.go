package calendar

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"budswell/climate"
	"budswell/climate/phenology"
)

// next says what comes next for a tree: what there is to do now, or until when
// to leave it alone and for what.
func (b *bench) next() string {
	on := b.planner.outlook.Issue
	var now, later []*candidate
	for _, c := range b.works {
		free, ok := c.free()
		if !ok || c.Done.Valid() || c.unlikely(on) || c.Rule.Every > 0 && !c.Due.Valid() {
			continue
		}
		c.day = max(c.Window.Opens.P50, free)
		switch {
		case c.Due.Valid():
			c.day = max(c.Due, free)
		case c.day <= on && c.Window.Likely > on+bestSoon:
			c.day = c.Window.Likely
		}
		if c.day <= on {
			now = append(now, c)
		} else {
			later = append(later, c)
		}
	}
	slices.SortStableFunc(now, func(x, y *candidate) int {
		return cmp.Or(cmp.Compare(rankNow(x), rankNow(y)), cmp.Compare(x.Window.Closes.P50, y.Window.Closes.P50))
	})
	slices.SortStableFunc(later, func(x, y *candidate) int {
		return cmp.Or(cmp.Compare(x.day, y.day), cmp.Compare(rankNow(x), rankNow(y)))
	})
	// Health, which is to look and to spray, is the headline only where nothing
	// else comes.
	health := func(c *candidate) bool { return c.Work.Class == Health }
	rest := slices.DeleteFunc(slices.Clone(later), health)
	switch {
	case len(rest) > 0 && !slices.ContainsFunc(now, func(c *candidate) bool { return !health(c) }):
		return leaveUntil(rest[0]) + also("Meanwhile", now) + b.sleepless()
	case len(now) > 0:
		return b.doNow(now) + b.sleepless()
	case len(later) > 0:
		return leaveUntil(later[0]) + b.sleepless()
	}
	return b.leaveAlone() + b.sleepless()
}

// unlikely reports whether a window is not to be reckoned with: as likely as not it
// does not come, or has closed. Protection costs little and is missed dearly: it
// is told of while there is some chance that its window is open.
func (c *candidate) unlikely(on climate.Date) bool {
	const some = 0.2
	if c.Work.Class == Protection && c.today >= some {
		return false
	}
	return c.Window.Chance < 0.5 || c.Window.Closes.P50 < on
}

// bestSoon is how many days before its best time an open window is worth naming
// as the work of now.
const bestSoon = 21

// sleepless says when the place does not bring the buds of the species to swell,
// for want of cold or of warmth: then the works that hang on them never come.
func (b *bench) sleepless() string {
	if d := b.planner.winter().doubt(b.species); d != "" {
		return " " + d
	}
	const seldom = 0.1
	next := b.planner.outlook.Site.Season(b.planner.outlook.Issue) + 1
	if c := b.timing.phases.of(phenology.BudSwell, next).Chance(); c >= seldom {
		return ""
	}
	return " Its buds do not swell here as they should: work that hangs on them does not come."
}

// rankNow orders works that are open: those surely open first; of these shelter
// from winter, then the hard ones, for they have one window a year; then those of
// a day; protection before the rest, and health last.
func rankNow(c *candidate) int {
	rank := 3
	switch {
	case c.Work.ID == WorkWinterShelter:
		rank = -1 // a night of frost kills what a missed window only delays
	case c.Work.Class == Health:
		rank = 8
	case c.Work.Hard != HardOnNothing:
		rank = 0
	case c.Work.Class == Protection:
		rank = 1
	case c.Rule.Every == 0:
		rank = 2
	}
	if !c.sure() {
		rank += 4
	}
	return rank
}

// sure reports whether it can be said that it is time for an open work: its
// window is open as likely as not, it is due on a day, or its window is counted
// from what was logged.
func (c *candidate) sure() bool {
	return c.today >= 0.5 || c.Due.Valid() || c.Rule.Opens.hangsOnWork()
}

func (b *bench) doNow(now []*candidate) string {
	c, on := now[0], b.planner.outlook.Issue
	var sure, unsure []*candidate
	for _, o := range now[1:] {
		if o.sure() {
			sure = append(sure, o)
		} else {
			unsure = append(unsure, o)
		}
	}
	closes, until := c.Window.Closes, "until"
	closes.P50 = max(closes.P50, on)
	if c.Work.ID == WorkWinterShelter {
		until = "to be done by" // it lasts on, all winter
	}
	if c.sure() {
		return fmt.Sprintf("Now: %s, %s about %v (10-90 %%: %v to %v; open today: %s sure).",
			c.Title, until, closes.P50, closes.P10, closes.P90, percent(c.today)) + also("Also", sure) + also("Perhaps", slices.DeleteFunc(unsure, func(o *candidate) bool { return o.Work.Class != Protection }))
	}
	look := "look first"
	if c.Rule.Opens.At == AtPhase {
		look = "look for " + strings.ReplaceAll(string(c.Rule.Opens.Phase), "-", " ") + " first"
	}
	return fmt.Sprintf("It may be time (%s sure today), %s: %s, %s about %v (10-90 %%: %v to %v).",
		percent(c.today), look, c.Title, until, closes.P50, closes.P10, closes.P90) + also("Also", sure) + also("Perhaps", unsure)
}

// also lists works behind a word, or nothing.
func also(word string, works []*candidate) string {
	var titles []string
	for _, o := range works {
		if t := lower(o.Title); !slices.Contains(titles, t) {
			titles = append(titles, t)
		}
	}
	if more := len(titles) - 3; more > 0 {
		titles = append(titles[:3], fmt.Sprintf("%d more", more))
	}
	if len(titles) == 0 {
		return ""
	}
	return " " + word + ": " + strings.Join(titles, ", ") + "."
}

// leaveUntil says when the next work comes. A day that is counted from what was
// done, or from what stands against the work, is not spread as the window is.
func leaveUntil(c *candidate) string {
	opens := c.Window.Opens
	if c.day == c.Window.Likely && c.day > opens.P90 {
		return fmt.Sprintf("Leave it alone until about %v, the best time in a window that opens about %v (10-90 %%: %v to %v) and closes about %v (%v to %v): %s.",
			c.day, opens.P50, opens.P10, opens.P90, c.Window.Closes.P50, c.Window.Closes.P10, c.Window.Closes.P90, c.Title)
	}
	if c.day > opens.P50 {
		opens.P10, opens.P90 = c.day, max(c.day, opens.P90)
	}
	if opens.P10 == opens.P90 {
		return fmt.Sprintf("Leave it alone until %v, a day counted from what was done: %s.", c.day, c.Title)
	}
	return fmt.Sprintf("Leave it alone until about %v (10-90 %%: %v to %v): %s.", c.day, opens.P10, opens.P90, c.Title)
}

// leaveAlone says why nothing comes.
func (b *bench) leaveAlone() string {
	for _, c := range b.works {
		if len(c.Blocked) > 0 && !c.Done.Valid() && c.Window.Closes.P50 >= b.planner.outlook.Issue {
			return fmt.Sprintf("Leave it alone for the next eighteen months. %s: %s.", c.Title, c.Blocked[0].Reason)
		}
	}
	if b.planner.winter().doubt(b.species) != "" {
		return "No day can be planned for it here: look at it every week, and water and feed it as it grows."
	}
	return "Leave it alone for the next eighteen months: no rule asks for work on it."
}

// percent writes a probability, never as certain as 0 or 100 %.
func percent(p float64) string {
	return fmt.Sprintf("%.0f %%", math.Round(100*min(max(p, 0.01), 0.99)))
}
