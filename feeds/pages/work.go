package pages

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"budswell/calendar"
	"budswell/climate"
	"budswell/feeds/wording"
)

// shownDays is what the page looks ahead: six weeks.
const shownDays = 42

// Order of works on a tree.
const (
	toDo = iota
	waits
	done
)

// Work is one work in the days shown.
type Work struct {
	Title, Class string
	Kind         string // class as an id, for the style sheet
	State        string // what it means today, in words
	Sure         string // of that state
	Likely       string
	Opens        string
	Closes       string
	Chance       string // empty: it comes every season
	Why          string
	SoFar        string // how far the season has come
	Needs        string
	Not          string
	Blocked      []string
	Cautions     []string
	Caution      string // what the cautions warn of, in short; they stand in full below
	Bar          *Bar

	From     string // where the rule is from; empty: not told
	RuleLink string // the page of the rule; empty: none that all who read this may open

	order  int
	likely climate.Date
}

// Waits reports whether something stands against the work.
func (w Work) Waits() bool { return w.order == waits }

// Done reports whether it is done.
func (w Work) Done() bool { return w.order == done }

// shows reports whether a work touches the days shown.
func shows(w *calendar.Planned, on climate.Date) bool {
	last := on + shownDays - 1
	switch {
	case w.Done.Valid():
		return w.Done >= on-shownDays && w.Done <= last
	case !w.Window.Opens.P50.Valid() || w.Window.Chance < leastChance:
		return false
	case w.Rule != nil && w.Rule.Every > 0 && !w.Due.Valid():
		return false // repeated, and not due any more
	case w.Due.Valid():
		return w.Due <= last
	}
	return w.Window.Opens.P10 <= last && w.Window.Closes.P90 >= on
}

// leastChance is the chance below which a window is not shown.
const leastChance = 0.1

func workOf(w *calendar.Planned, on climate.Date) Work {
	win := &w.Window
	out := Work{
		Title: w.Title, Why: wording.Sentence(w.Why), SoFar: wording.Sentence(w.SoFar), likely: win.Likely,
		Likely: wording.WeekDay(win.Likely) + ": open that day " + wording.HowSure(win.Certainty),
		Opens:  wording.Spread(win.Opens), Closes: wording.Spread(win.Closes), Bar: bar(w, on),
	}
	out.Cautions = wording.Cautions(w.Cautions)
	for _, c := range out.Cautions {
		out.Caution += " " + wording.First(c)
	}
	if w.Work != nil {
		out.Class, out.Kind = wording.Name(string(w.Work.Class)), string(w.Work.Class)
		if out.Title == "" {
			out.Title = w.Work.Title
		}
	}
	if win.Chance < 0.95 {
		out.Chance = "That it comes at all this season is " + wording.HowSure(win.Chance) + "."
	}
	if r := w.Rule; r != nil {
		out.Not = wording.Sentence(r.Not)
		if out.From = r.From.Words(); out.From != "" && r.From.Layer != calendar.LayerClub {
			out.RuleLink = "/lore/rules/" + r.ID
		}
		var needs []string
		if len(r.Materials) > 0 {
			needs = append(needs, strings.Join(r.Materials, ", "))
		}
		if r.Minutes > 0 {
			needs = append(needs, "about "+wording.Effort(r.Minutes))
		}
		out.Needs = strings.Join(needs, "; ")
	}
	for _, b := range w.Blocked {
		out.Blocked = append(out.Blocked, reason(b))
	}
	out.State, out.Sure = state(w, on)
	switch {
	case w.Done.Valid():
		out.order, out.Bar = done, nil
	case len(w.Blocked) > 0:
		out.order, out.Bar = waits, nil
	case w.Due.Valid():
		out.Bar = nil // a day among many, not a season's one window
	}
	return out
}

func reason(b calendar.Block) string {
	if b.Until.Valid() {
		return fmt.Sprintf("%s (until %s).", strings.TrimSuffix(wording.Sentence(b.Reason), "."), wording.Day(b.Until))
	}
	return wording.Sentence(b.Reason)
}

// state says what a work means today and how sure that is.
func state(w *calendar.Planned, on climate.Date) (words, sure string) {
	win := &w.Window
	open := wording.Open(w, on)
	switch {
	case w.Done.Valid():
		return "Done on " + wording.Day(w.Done), ""
	case len(w.Blocked) > 0:
		return "Not now", ""
	case w.Due.Valid():
		sure = "right that day: " + wording.HowSure(wording.Open(w, w.Due))
		switch {
		case w.Due < on:
			return "Overdue by " + wording.Count(int(on-w.Due), "day"), "right today: " + wording.HowSure(open)
		case w.Due == on:
			return "Due today", sure
		}
		return "Due " + wording.WeekDay(w.Due), sure
	case open >= 0.5:
		return "Open now", wording.HowSure(open)
	case win.Opens.P50 > on:
		return "Opens in about " + wording.Count(int(win.Opens.P50-on), "day"), "8 of 10 cases: " + wording.ShortDay(win.Opens.P10) + " to " + wording.ShortDay(win.Opens.P90)
	}
	return "Closing", "still open: " + wording.HowSure(open)
}

func age(known, on climate.Date) string {
	switch {
	case !known.Valid():
		return "No weather is measured for this place: dates rest on typical years, and are wide."
	case on-known <= 1:
		return "Weather is measured up to " + wording.Day(known) + "."
	}
	return "Weather is measured up to " + wording.Day(known) + ", " + wording.Count(int(on-known), "day") + " ago."
}

func weeks(on climate.Date) []string {
	out := make([]string, 0, shownDays/7)
	for d := on; d < on+shownDays; d += 7 {
		out = append(out, wording.ShortDay(d))
	}
	return out
}

// worksOf lays out the works that touch the days shown, those to be done first.
func worksOf(all []calendar.Planned, on climate.Date) []Work {
	var out []Work
	for i := range all {
		if w := &all[i]; shows(w, on) {
			out = append(out, workOf(w, on))
		}
	}
	slices.SortStableFunc(out, func(a, b Work) int { return cmp.Or(cmp.Compare(a.order, b.order), cmp.Compare(a.likely, b.likely)) })
	return out
}
