package pages

import (
	"strings"

	"budswell/calendar"
	"budswell/climate"
	"budswell/climate/phenology"
	"budswell/feeds/wording"
)

// seasonDays is what the pages of a region look ahead: twelve weeks.
const seasonDays = 84

// SeasonWork is one work with its window in each band.
type SeasonWork struct {
	Title, Class, Kind string
	State, Sure        string
	Rows               []WindowRow // of each band; then, where there are several, of all
	Chance             string      // empty: it comes every season
	Again              string      // of work that comes again and again; empty: once a season
	Why, Not           string
	Materials, Effort  string
	Blocked            []string
	Cautions           []string
	Caution            string // what they warn of, in short
}

// WindowRow is a window in words and as a picture.
type WindowRow struct {
	Name          string
	When          string // as likely as not open from and to; why there is none
	Likely        string
	Opens, Closes string
	Bar           *WindowBar // nil: no window
	All           bool       // the mixture over all bands
}

// WindowBar is the picture of a window over the days shown, in days from the first: pale
// from the 10 % day of opening to the 90 % day of closing, full between the middle ones.
type WindowBar struct {
	Days         int
	PaleX, PaleW int
	FullX, FullW int
	Mark         int // the likely day; -1: outside
	Rules        []int
	Words        string
}

// inSeason reports whether a window touches the days that a region's pages show.
func inSeason(w *calendar.Planned, on climate.Date) bool {
	switch {
	case !w.Window.Opens.P50.Valid() || w.Window.Chance < leastChance:
		return false
	case w.Rule != nil && w.Rule.Every > 0 && !w.Due.Valid():
		return false
	}
	return w.Window.Opens.P10 < on+seasonDays && w.Window.Closes.P90 >= on
}

func seasonWork(in *wording.Tongue, w *calendar.Planned, p *calendar.RegionPlan, tree int) SeasonWork {
	again := 0
	if w.Rule != nil {
		again = w.Rule.Every
	}
	undated := *w
	undated.Due = climate.NoDate // a tree's log would say when; a group has none
	plain := workOf(in, &undated, p.On)
	out := SeasonWork{
		Title: plain.Title, Class: plain.Class, Kind: plain.Kind, State: plain.State, Sure: plain.Sure,
		Chance: plain.Chance, Why: plain.Why, Not: plain.Not, Materials: plain.Materials, Effort: plain.Effort, Blocked: plain.Blocked, Cautions: plain.Cautions, Caution: plain.Caution,
	}
	for i := range p.Bands {
		b := &p.Bands[i]
		row := WindowRow{Name: b.Band.Name, When: in.Say("Over there, or not to be had.")}
		if o := b.Work(tree, w.Key); o != nil && o.Window.Opens.P50.Valid() && o.Window.Chance >= leastChance {
			row = windowRow(in, b.Band.Name, &o.Window, p.On)
		}
		out.Rows = append(out.Rows, row)
	}
	if again > 0 {
		out.Again = in.Say("Every {1} while the window is open.", wording.Amount{N: again, Thing: "day"})
	}
	if len(p.Bands) > 1 {
		row := windowRow(in, in.Say("All bands"), &w.Window, p.On)
		row.All = true
		out.Rows = append(out.Rows, row)
	}
	return out
}

func windowRow(in *wording.Tongue, name string, w *calendar.Window, on climate.Date) WindowRow {
	return WindowRow{
		Name: name, When: in.Within(w.Opens.P50, w.Closes.P50),
		Likely: in.Say("{1}: open that day {2}", in.WeekDay(w.Likely), in.HowSure(w.Certainty)),
		Opens:  in.Spread(w.Opens), Closes: in.Spread(w.Closes),
		Bar: windowBar(in, name, w, on, seasonDays, 14),
	}
}

// windowBar draws a window over days from first on, with a rule every so many.
func windowBar(in *wording.Tongue, name string, w *calendar.Window, first climate.Date, days, every int) *WindowBar {
	b := &WindowBar{Days: days, Mark: -1}
	clip := func(from, to climate.Date) (x, wide int) {
		lo, hi := min(max(0, int(from-first)), days), min(days, int(to-first)+1)
		return lo, max(0, hi-lo)
	}
	b.PaleX, b.PaleW = clip(w.Opens.P10, w.Closes.P90)
	b.FullX, b.FullW = clip(w.Opens.P50, w.Closes.P50)
	if at := int(w.Likely - first); at >= 0 && at < days {
		b.Mark = at
	}
	if every > 0 {
		for d := every; d < days; d += every {
			b.Rules = append(b.Rules, d)
		}
	}
	b.Words = in.Say("{1}: opens as likely as not by {2}, closes by {3}; in 8 of 10 cases it opens between {4} and {5} and closes between {6} and {7}.",
		name, in.Day(w.Opens.P50), in.Day(w.Closes.P50), in.ShortDay(w.Opens.P10), in.ShortDay(w.Opens.P90), in.ShortDay(w.Closes.P10), in.ShortDay(w.Closes.P90))
	return b
}

// fortnights are the headings of the days shown.
func fortnights(in *wording.Tongue, on climate.Date) []string {
	out := make([]string, 0, seasonDays/14)
	for d := on; d < on+seasonDays; d += 14 {
		out = append(out, in.ShortDay(d))
	}
	return out
}

func soon(in *wording.Tongue, w *calendar.Planned, of string, on climate.Date) Soon {
	plain := workOf(in, w, on)
	return Soon{Title: plain.Title, closes: w.Window.Closes.P50, Of: []SoonOf{{Name: of, When: in.Within(w.Window.Opens.P50, w.Window.Closes.P50), Sure: plain.State + ": " + plain.Sure}}}
}

func metres(m float64) string { return wording.English.Number(m, 0) + " m" }

// SeasonLine says how a season goes beside the usual one.
type SeasonLine struct {
	Name  string
	Of    string // the group or species that it is told by; empty: that is the name
	Says  string
	Phase string
	Sure  []string // sentences without their stops; nothing: nothing can be said
	Bar   *PaceBar
}

// PaceBar is the picture of it: days behind to the left of the middle, ahead to the right.
type PaceBar struct {
	Width, Middle int
	X, W, Mark    int
	Words         string
}

// paceReach is how many days ahead and behind the picture reaches, paceWidth its width
// in its own units.
const (
	paceReach = 28
	paceWidth = 2 * paceReach * 10
)

// alike is by how many days a season may differ and still be as usual.
const alike = 1

func seasonLine(in *wording.Tongue, name string, p *phenology.Pace) SeasonLine {
	out := SeasonLine{Name: name}
	if p == nil {
		out.Says = in.Say("Nothing can be said of this season yet.")
		return out
	}
	days := p.Ahead[1]
	likely := p.Before
	off := true
	switch {
	case days > alike && p.Before >= surelyOff:
		out.Says = in.Say("About {1} ahead of the middle year", wording.Amount{N: days, Thing: "day"})
	case days < -alike && p.Before <= 1-surelyOff:
		out.Says, likely = in.Say("About {1} behind the middle year", wording.Amount{N: -days, Thing: "day"}), 1-p.Before
	default:
		out.Says, off = in.Say("About as in the middle year, so far"), false
	}
	out.Phase = in.Lower(string(p.Phase))
	out.Sure = append(out.Sure, in.Say("8 of 10 cases: {1} to {2}", offBy(in, p.Ahead[0]), offBy(in, p.Ahead[2])))
	switch {
	case off && days > 0:
		out.Sure = append(out.Sure, in.Say("That it is ahead at all: {1}", in.HowSure(likely)), in.Say("Earlier than in about {1} of other years", in.Percent(p.Later)))
	case off:
		out.Sure = append(out.Sure, in.Say("That it is behind at all: {1}", in.HowSure(likely)), in.Say("Later than in about {1} of other years", in.Percent(1-p.Later)))
	}
	x := func(days int) int { return (max(-paceReach, min(days, paceReach)) + paceReach) * 10 }
	out.Bar = &PaceBar{Width: paceWidth, Middle: paceWidth / 2, X: x(p.Ahead[0]), W: max(10, x(p.Ahead[2])-x(p.Ahead[0])), Mark: x(days), Words: strings.Join(append([]string{out.Says}, out.Sure...), "; ") + "."}
	return out
}

// surelyOff is how sure it must be that a season is ahead, or behind, to be told so.
const surelyOff = 0.66

func offBy(in *wording.Tongue, days int) string {
	switch {
	case days > 0:
		return in.Say("{1} ahead", wording.Amount{N: days, Thing: "day"})
	case days < 0:
		return in.Say("{1} behind", wording.Amount{N: -days, Thing: "day"})
	}
	return in.Say("as usual")
}
