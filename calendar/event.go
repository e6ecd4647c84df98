package calendar

import "budswell/climate"

// event is something that the weather of a site brings in a season.
type event struct {
	at     At
	level  float64 // C
	season int
	warmth warmthSum // with AtDegreeDays
}

// week is over how many days means are taken, so that one warm night does not
// count as warm nights.
const week = 7

// weather returns when an event comes, member by member of the outlook.
func (p *Planner) weather(e event) climate.Sample {
	if s, ok := p.events[e]; ok {
		return s
	}
	var s climate.Sample
	if first, last := p.span(e.season); first < p.outlook.First {
		// Before the outlook a season is like the one after it.
		after := e
		after.season++
		s = moved(p.weather(after), first-p.outlook.Site.SeasonStart(after.season))
	} else if last > p.outlook.Last() {
		// Beyond the outlook a season is like the one before it.
		before := e
		before.season--
		s = moved(p.weather(before), first-p.outlook.Site.SeasonStart(e.season-1))
	} else {
		s = p.find(e, first, last)
	}
	p.events[e] = s
	return s
}

// span returns the first and last day of a season.
func (p *Planner) span(season int) (first, last climate.Date) {
	return p.outlook.Site.SeasonStart(season), p.outlook.Site.SeasonStart(season+1) - 1
}

func (p *Planner) find(e event, first, last climate.Date) climate.Sample {
	o, summer := p.outlook, p.outlook.Site.Midsummer(e.season)
	nights := func(above bool) climate.Condition {
		return climate.Condition{Of: climate.DailyMin, Days: week, Above: above, Level: e.level}
	}
	days := func(above bool) climate.Condition {
		return climate.Condition{Of: climate.DailyMean, Days: week, Above: above, Level: e.level}
	}
	hot := climate.Condition{Of: climate.DailyMax, Days: 1, Above: true, Level: e.level}
	switch e.at {
	case AtLastFrost:
		return instead(o.LastFrost(e.season, e.level), beforeAll)
	case AtFirstFrost:
		return instead(o.FirstFrost(e.season, e.level), afterAll)
	case AtNightsAbove:
		return o.FirstDay(nights(true), first, last)
	case AtNightsBelow:
		return o.FirstDay(nights(false), summer, last)
	case AtWarmth:
		return o.FirstDay(days(true), first, last)
	case AtCold:
		return o.FirstDay(days(false), summer, last)
	case AtRootCold:
		return o.FirstDay(nights(false), summer, last)
	case AtRootColdEnd:
		return moved(o.LastDay(nights(false), first, summer-1), 1)
	case AtDegreeDays:
		return summed(o, e.level, e.warmth, first, last)
	case AtHeat:
		return o.FirstDay(hot, first, last)
	case AtHeatEnd:
		return moved(o.LastDay(hot, first, last), 1)
	}
	return climate.Sample{climate.NoDate}
}

// instead puts d for the days that do not come.
func instead(s climate.Sample, d climate.Date) climate.Sample {
	out := make(climate.Sample, len(s))
	for i, v := range s {
		if !v.Valid() {
			v = d
		}
		out[i] = v
	}
	return out
}

// moved returns s so many days later.
func moved(s climate.Sample, days climate.Date) climate.Sample {
	out := make(climate.Sample, len(s))
	for i, d := range s {
		out[i] = shift(d, days)
	}
	return out
}
