package calendar

import (
	"fmt"
	"strings"
)

// Words says what an anchor hangs on, as people read it: "10 days before bud
// swell", "the first frost below -2 °C". It names no month, so that it is true
// in both hemispheres.
func (a *Anchor) Words() string {
	join := func(word string, of []Anchor) string {
		parts := make([]string, len(of))
		for i := range of {
			parts[i] = of[i].Words()
		}
		return "the " + word + " of: " + strings.Join(parts, "; ")
	}
	what := ""
	switch {
	case len(a.Earliest) > 0:
		what = join("earliest", a.Earliest)
	case len(a.Latest) > 0:
		what = join("latest", a.Latest)
	default:
		what = a.point()
	}
	if a.Next {
		what += " of the season after"
	}
	n, unit := a.Days, "days"
	if n%7 == 0 && (n >= 14 || n <= -14) {
		n, unit = n/7, "weeks"
	}
	switch {
	case n == 0:
		return what
	case n == 1 || n == -1:
		unit = "day"
	}
	if n > 0 {
		return fmt.Sprintf("%d %s after %s", n, unit, what)
	}
	return fmt.Sprintf("%d %s before %s", -n, unit, what)
}

func (a *Anchor) point() string {
	c := 0.0
	if a.C != nil {
		c = *a.C
	}
	switch a.At {
	case AtPhase:
		return strings.ReplaceAll(string(a.Phase), "-", " ")
	case AtLastFrost:
		return fmt.Sprintf("the last frost below %g °C", c)
	case AtFirstFrost:
		return fmt.Sprintf("the first frost below %g °C", c)
	case AtNightsAbove:
		return fmt.Sprintf("the week from which nights stay above %g °C", c)
	case AtNightsBelow:
		return fmt.Sprintf("the week from which nights stay below %g °C", c)
	case AtWarmth:
		return fmt.Sprintf("the week from which days and nights average above %g °C", c)
	case AtCold:
		return fmt.Sprintf("the week from which days and nights average below %g °C", c)
	case AtRootCold:
		return "the week in which nights near what potted roots stand"
	case AtRootColdEnd:
		return "the last week in which nights are near what potted roots stand"
	case AtDegreeDays:
		return a.warmthWords()
	case AtHeat:
		return fmt.Sprintf("the first day above %g °C", c)
	case AtHeatEnd:
		return fmt.Sprintf("the last day above %g °C", c)
	case AtDate:
		return fmt.Sprintf("%s (of the northern year)", a.Date)
	case AtWork:
		return "the last " + workWords(a.Work)
	case AtShade:
		return "the shade that follows " + workWords(a.Work)
	case AtShow:
		return "the show"
	case AtMidsummer:
		return "midsummer"
	case AtMidwinter:
		return "midwinter"
	case AtSeasonStart:
		return "the start of the season in midwinter"
	}
	return string(a.At)
}

func workWords(id string) string {
	switch id {
	case AnyHard:
		return "hard work"
	case AnyRootWork:
		return "root work"
	}
	return strings.ReplaceAll(id, "-", " ")
}
