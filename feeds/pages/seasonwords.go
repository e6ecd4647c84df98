package pages

import (
	"strings"

	"budswell/climate"
	"budswell/feeds/wording"
)

// Told is what is said of something: what counts, and what that rests on.
type Told struct{ Lead, Rest string }

// words says how a sum stands, in short and in full; unit is what is added up.
func (t *Tally) words(in *wording.Tongue, unit string) (short, full Told) {
	switch {
	case t.None:
		return Told{"", in.Say("none counts up here, in any year.")}, Told{"", in.Say("No {1} come together here, this year or in others.", unit)}
	case t.At.ISO == "":
		return Told{"", in.Say("not told of this year: too little of it was measured.")},
			Told{"", in.Say("Of this year nothing is told: its days would have to be measured from the beginning, and two of three at least. The band shows what is usual.")}
	}
	days := wording.Amount{N: t.Days.N, Thing: "day"}
	switch {
	case t.Told && t.Days.N == 0:
		short.Lead = in.Say("level with the middle year")
	case t.Told && t.Days.Ahead:
		short.Lead = in.Say("{1} ahead of the middle year", days)
	case t.Told:
		short.Lead = in.Say("{1} behind the middle year", days)
	case t.Off == "0":
		short.Lead = in.Say("as many {1} as in the middle year", unit)
	case t.More:
		short.Lead = in.Say("{1} {2} more than in the middle year", t.Off, unit)
	default:
		short.Lead = in.Say("{1} {2} fewer than in the middle year", t.Off, unit)
	}
	switch {
	case t.Told && t.Rough:
		short.Rest = in.Say("on {1}; {2} in 8 of 10 cases, roughly.", t.At.Words, t.between(in))
	case t.Told:
		short.Rest = in.Say("on {1}; {2} in 8 of 10 cases.", t.At.Words, t.between(in))
	default:
		short.Rest = in.Say("on {1}.", t.At.Words)
	}
	return short, t.full(in, unit)
}

func (t *Tally) full(in *wording.Tongue, unit string) Told {
	days := wording.Amount{N: t.Days.N, Thing: "day"}
	var out Told
	switch {
	case t.Off == "0":
		out.Lead = in.Say("{1} {2} by {3}: as many as in the middle year", t.Sum, unit, t.At.Words)
	case t.More:
		out.Lead = in.Say("{1} {2} by {3}: {4} more than in the middle year", t.Sum, unit, t.At.Words, t.Off)
	default:
		out.Lead = in.Say("{1} {2} by {3}: {4} fewer than in the middle year", t.Sum, unit, t.At.Words, t.Off)
	}
	switch {
	case !t.Told || t.Days.N == 0:
		out.Lead += "."
	case t.Days.Ahead:
		out.Lead = in.Say("{1}, which has as many {2} later.", out.Lead, days)
	default:
		out.Lead = in.Say("{1}, which had as many {2} earlier.", out.Lead, days)
	}
	var rest []string
	switch {
	case !t.Told:
		rest = append(rest, in.Say("It is not told in days, for the middle year gathers next to none at this time, or never comes to so many."))
	case t.Rough:
		rest = append(rest, in.Say("Part of the other years is made from the usual one, so this is rough: beside 8 of 10 single years this season is {1}.", t.between(in)))
	default:
		rest = append(rest, in.Say("The middle year itself is known from {1} years only: in 8 of 10 cases this season is {2}.", t.Others, t.between(in)))
	}
	rest = append(rest, in.Say("By that day {1} of {2} other years had fewer.", t.Less, t.Others))
	switch {
	case t.Filled == 1:
		rest = append(rest, in.Say("1 of the days was not measured, and taken from the days around or the usual year."))
	case t.Filled > 1:
		rest = append(rest, in.Say("{1} of the days were not measured, and taken from the days around or the usual year.", t.Filled))
	}
	out.Rest = strings.Join(rest, " ")
	return out
}

// between says how far a sum is ahead or behind in 8 of 10 cases.
func (t *Tally) between(in *wording.Tongue) string {
	days := func(o Off) wording.Amount { return wording.Amount{N: o.N, Thing: "day"} }
	off := func(o Off) string {
		switch {
		case o.N == 0:
			return in.Say("level")
		case o.Ahead:
			return in.Say("{1} ahead", days(o))
		}
		return in.Say("{1} behind", days(o))
	}
	switch {
	case t.Never:
		return in.Say("from {1} to more than some years bring at all", off(t.Low))
	case t.Low.Ahead && t.High.Ahead:
		return in.Say("{1} to {2}", in.Number(float64(t.Low.N), 0), off(t.High))
	case !t.Low.Ahead && !t.High.Ahead:
		return in.Say("{1} to {2}", in.Number(float64(t.High.N), 0), off(t.Low))
	}
	return in.Say("from {1} to {2}", off(t.Low), off(t.High))
}

// words says when a frost is to come.
func (f *FrostEnd) words(in *wording.Tongue) Told {
	switch {
	case !f.Comes:
		return Told{"", in.Say("none in any of these years.")}
	case f.Past:
		return Told{"", in.Say("was on {1}.", f.P50.Words)}
	case f.Over:
		return Told{"", in.Say("over by now; in 8 of 10 years it is between {1} and {2}.", f.P10.Words, f.P90.Words)}
	case f.Chance != "":
		return Told{f.P50.Words, in.Say("as likely as not, {1} to {2} in 8 of 10 cases; comes at all: {3}.", f.P10.Words, f.P90.Words, f.Chance)}
	}
	return Told{f.P50.Words, in.Say("as likely as not, {1} to {2} in 8 of 10 cases.", f.P10.Words, f.P90.Words)}
}

// words says when a sign was seen, beside what was foretold of it as the season began.
func (s *Sign) words(in *wording.Tongue, start climate.Date) Told {
	out := Told{Lead: in.Say("{1} was seen on {2}", s.Name, s.Seen.Words)}
	if !s.Before.Told() {
		return out
	}
	days, from := wording.Amount{N: s.Off.N, Thing: "day"}, in.ShortDay(start)
	switch {
	case s.Off.N == 0:
		out.Rest = in.Say("on the middle day of what was foretold on {1}", from)
	case s.Off.Ahead:
		out.Rest = in.Say("{1} before the middle of what was foretold on {2}", days, from)
	default:
		out.Rest = in.Say("{1} after the middle of what was foretold on {2}", days, from)
	}
	if s.Outside {
		out.Rest = in.Say("{1}, outside of 8 of 10 cases ({2} to {3})", out.Rest, s.Before.P10.Words, s.Before.P90.Words)
	} else {
		out.Rest = in.Say("{1}, within 8 of 10 cases ({2} to {3})", out.Rest, s.Before.P10.Words, s.Before.P90.Words)
	}
	return out
}
