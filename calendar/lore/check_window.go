package lore

import (
	"math"
	"slices"
	"time"

	"budswell/calendar"
	"budswell/climate/phenology"
)

// checkWindow checks both ends of a rule's window, for the species it is for.
func (s *set) checkWindow(at *spot, r *calendar.Rule, scope []*calendar.Species) {
	before := len(s.faults.all)
	for _, end := range []struct {
		field  string
		anchor *calendar.Anchor
	}{{"opens", &r.Opens}, {"closes", &r.Closes}} {
		if at.has(end.field) {
			s.checkAnchor(at.at(end.field), end.anchor, scope, 0)
		} else {
			s.faults.add(at.at(end.field), "is missing; want an anchor such as {at: phase, phase: bud-swell}")
		}
	}
	if len(s.faults.all) == before && !at.at("opens").broken() && !at.at("closes").broken() && neverOpens(&r.Opens, &r.Closes, scope) {
		s.faults.add(at.at("closes"), "the window closes before it opens, whatever the weather; want a later end, or next: true for one in the season after")
	}
}

// anchorFields says which fields an anchor of each kind must and may have
// besides days.
var anchorFields = map[calendar.At]struct {
	must, may []string
}{
	calendar.AtPhase:       {must: []string{"phase"}, may: []string{"next"}},
	calendar.AtLastFrost:   {may: []string{"c", "next"}},
	calendar.AtFirstFrost:  {may: []string{"c", "next"}},
	calendar.AtNightsAbove: {must: []string{"c"}, may: []string{"next"}},
	calendar.AtNightsBelow: {must: []string{"c"}, may: []string{"next"}},
	calendar.AtWarmth:      {must: []string{"c"}, may: []string{"next"}},
	calendar.AtCold:        {must: []string{"c"}, may: []string{"next"}},
	calendar.AtRootCold:    {may: []string{"c", "next"}},
	calendar.AtRootColdEnd: {may: []string{"c", "next"}},
	calendar.AtDegreeDays:  {must: []string{"c", "sum"}, may: []string{"date", "method", "next"}},
	calendar.AtHeat:        {must: []string{"c"}, may: []string{"next"}},
	calendar.AtHeatEnd:     {must: []string{"c"}, may: []string{"next"}},
	calendar.AtDate:        {must: []string{"date"}, may: []string{"next"}},
	calendar.AtWork:        {must: []string{"work"}},
	calendar.AtShade:       {must: []string{"work"}},
	calendar.AtShow:        {},
	calendar.AtMidsummer:   {may: []string{"next"}},
	calendar.AtMidwinter:   {may: []string{"next"}},
	calendar.AtSeasonStart: {may: []string{"next"}},
}

// kindsOfAnchor lists the kinds in the order in which errors name them.
var kindsOfAnchor = []calendar.At{
	calendar.AtPhase, calendar.AtLastFrost, calendar.AtFirstFrost, calendar.AtNightsAbove, calendar.AtNightsBelow,
	calendar.AtWarmth, calendar.AtCold, calendar.AtRootCold, calendar.AtRootColdEnd, calendar.AtDegreeDays, calendar.AtHeat, calendar.AtHeatEnd,
	calendar.AtDate, calendar.AtWork, calendar.AtShade, calendar.AtShow, calendar.AtMidsummer, calendar.AtMidwinter, calendar.AtSeasonStart,
}

// maxAnchors is how deep anchors may lie in one another.
const maxAnchors = 3

func (s *set) checkAnchor(at *spot, a *calendar.Anchor, scope []*calendar.Species, depth int) {
	var given []string
	for _, k := range []string{"at", "earliest", "latest"} {
		if at.has(k) {
			given = append(given, k)
		}
	}
	if len(given) != 1 {
		s.faults.add(at, "has %d of at, earliest, latest; want exactly one", len(given))
		return
	}
	earliest := -200.0
	if a.At == calendar.AtShow {
		earliest = -longestBeforeShow
	}
	s.checkRange(at.at("days"), float64(a.Days), earliest, 400, " days")
	kind := anchorFields[a.At]
	if at.has("at") && !slices.Contains(kindsOfAnchor, a.At) {
		s.faults.add(at.at("at"), "there is no such anchor; want one of %s", names(kindsOfAnchor))
		return
	}
	for _, f := range kind.must {
		if !at.has(f) {
			s.faults.add(at, "at: %s needs %s", a.At, f)
		}
	}
	for _, f := range []string{"phase", "c", "date", "sum", "method", "work", "next"} {
		if at.has(f) && !slices.Contains(kind.must, f) && !slices.Contains(kind.may, f) {
			s.faults.add(at.at(f), "does not go with %s; leave it out", describe(a))
		}
	}
	if a.C != nil {
		s.checkRange(at.at("c"), *a.C, -30, 45, " C")
	}
	if at.has("sum") {
		s.checkRange(at.at("sum"), a.Sum, 1, 5000, " degree-days (C)")
	}
	if at.has("method") {
		checkList(s, alone(at.at("method")), []calendar.WarmthMethod{a.Method}, "method", calendar.WarmthMethods())
	}
	if a.Work != "" {
		s.checkWork(at.at("work"), a.Work, true)
	}
	if a.Phase != "" {
		s.checkPhase(at.at("phase"), a.Phase, scope)
	}
	list, field := a.Earliest, "earliest"
	if at.has("latest") {
		list, field = a.Latest, "latest"
	}
	if a.At == "" && len(list) < 2 && !at.broken() {
		s.faults.add(at.at(field), "want two anchors or more")
	}
	if depth == maxAnchors {
		s.faults.add(at, "anchors lie in one another more than %d deep", maxAnchors)
		return
	}
	for i := range list {
		s.checkAnchor(at.at(field).item(i), &list[i], scope, depth+1)
	}
}

func describe(a *calendar.Anchor) string {
	switch {
	case a.At != "":
		return "at: " + string(a.At)
	case len(a.Latest) > 0:
		return "latest"
	}
	return "earliest"
}

// checkPhase checks that all trees that a rule is for show a phase.
func (s *set) checkPhase(at *spot, p phenology.Phase, scope []*calendar.Species) {
	known := slices.ContainsFunc(phenology.Groups(), func(g phenology.Group) bool { return slices.Contains(g.Phases(), p) })
	if !known {
		s.faults.add(at, "there is no such phase; want one of %s", names(allPhases()))
		return
	}
	for _, sp := range scope {
		told := p == phenology.Flowering && sp.Has(calendar.WorkedAfterFlowering) // at the species
		if !sp.Shows(p) && !told {
			why := "trees of group " + string(sp.Group) + " have the phases " + names(sp.Group.Phases())
			if slices.Contains(sp.Group.Phases(), p) {
				why = "it has no flower_weeks"
			}
			s.faults.add(at, "%s, which the rule is for, does not show it: %s", sp.Name, why)
			return
		}
	}
}

func allPhases() []phenology.Phase {
	var out []phenology.Phase
	for _, g := range phenology.Groups() {
		for _, p := range g.Phases() {
			if !slices.Contains(out, p) {
				out = append(out, p)
			}
		}
	}
	return out
}

// Days of a season that does not begin in a leap year, counted from its first.
const (
	midsummerDay = 181
	lastDay      = 364
	seasonDays   = 365
)

// neverOpens reports whether closes falls before opens in every year and place.
func neverOpens(opens, closes *calendar.Anchor, scope []*calendar.Species) bool {
	_, high := bounds(closes)
	low, _ := bounds(opens)
	if high < low-1 { // leap days move the halves of a season by one day
		return true
	}
	if opens.At == "" || closes.At == "" || opens.Next != closes.Next || closes.Days > opens.Days {
		return false
	}
	same := *closes
	same.Days = opens.Days
	switch {
	case equal(opens, &same):
		return closes.Days < opens.Days
	case opens.At == calendar.AtDegreeDays && closes.At == calendar.AtDegreeDays:
		same.Sum = opens.Sum
		return equal(opens, &same) && closes.Sum < opens.Sum
	case opens.At == calendar.AtPhase && closes.At == calendar.AtPhase:
		return len(scope) > 0 && !slices.ContainsFunc(scope, func(sp *calendar.Species) bool {
			return !before(sp.Group, closes.Phase, opens.Phase)
		})
	}
	return false
}

// equal reports whether two single anchors hang on the same.
func equal(a, b *calendar.Anchor) bool {
	return a.At == b.At && a.Days == b.Days && a.Next == b.Next && a.Phase == b.Phase && a.Work == b.Work && a.Sum == b.Sum && a.Method == b.Method &&
		(a.C == nil) == (b.C == nil) && (a.C == nil || *a.C == *b.C) &&
		(a.Date == nil) == (b.Date == nil) && (a.Date == nil || *a.Date == *b.Date)
}

// before reports whether p always comes before q in trees of a group. Flowering
// has no place of its own among the phases.
func before(g phenology.Group, p, q phenology.Phase) bool {
	phases := g.Phases()
	return p != phenology.Flowering && q != phenology.Flowering && slices.Index(phases, p) < slices.Index(phases, q)
}

// bounds returns the first and the last day of the season on which an anchor
// can fall.
func bounds(a *calendar.Anchor) (low, high float64) {
	low, high = 0, lastDay
	switch {
	case len(a.Earliest) > 0 || len(a.Latest) > 0:
		low, high = boundsOf(a)
	case a.At == calendar.AtWork || a.At == calendar.AtShade || a.At == calendar.AtShow:
		return math.Inf(-1), math.Inf(1)
	case a.At == calendar.AtLastFrost: // before midsummer, and so before all of the second half, leap year or not
		low, high = math.Inf(-1), midsummerDay-2
	case a.At == calendar.AtFirstFrost:
		low, high = midsummerDay, math.Inf(1)
	case a.At == calendar.AtNightsBelow, a.At == calendar.AtCold, a.At == calendar.AtRootCold:
		low = midsummerDay
	case a.At == calendar.AtRootColdEnd:
		high = midsummerDay
	case a.At == calendar.AtSeasonStart:
		high = 0
	case a.At == calendar.AtMidsummer:
		low, high = midsummerDay, midsummerDay
	case a.At == calendar.AtMidwinter:
		low = lastDay
	case a.At == calendar.AtDate && a.Date != nil:
		day := float64(time.Date(2001, a.Date.Month, a.Date.Day, 0, 0, 0, 0, time.UTC).YearDay() - 1)
		low, high = day, day
	}
	if a.Next {
		low, high = low+seasonDays, high+seasonDays
	}
	return low + float64(a.Days), high + float64(a.Days)
}

// boundsOf returns the bounds of the earliest or the latest of anchors, any of
// which but one may be left out.
func boundsOf(a *calendar.Anchor) (low, high float64) {
	low, high = math.Inf(1), math.Inf(-1)
	for _, list := range [][]calendar.Anchor{a.Earliest, a.Latest} {
		for i := range list {
			l, h := bounds(&list[i])
			low, high = min(low, l), max(high, h)
		}
	}
	return low, high
}
