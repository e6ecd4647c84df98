package pages

import (
	"cmp"
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
	Materials    string // as the lore names them
	Effort       string
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

func workOf(in *wording.Tongue, w *calendar.Planned, on climate.Date) Work {
	win := &w.Window
	out := Work{
		Title: in.Title(w.Title), Why: in.Told(w.Why), SoFar: in.Told(w.SoFar), likely: win.Likely,
		Likely: in.Say("{1}: open that day {2}", in.WeekDay(win.Likely), in.HowSure(win.Certainty)),
		Opens:  in.Spread(win.Opens), Closes: in.Spread(win.Closes), Bar: bar(in, w, on),
	}
	out.Cautions = in.Cautions(w.Cautions)
	for _, c := range out.Cautions {
		out.Caution += " " + wording.First(c)
	}
	if w.Work != nil {
		out.Class, out.Kind = in.Name(string(w.Work.Class)), string(w.Work.Class)
		if out.Title == "" {
			out.Title = in.Title(w.Work.Title)
		}
	}
	if win.Chance < 0.95 {
		out.Chance = in.Say("That it comes at all this season is {1}.", in.HowSure(win.Chance))
	}
	if r := w.Rule; r != nil {
		out.Not = wording.Sentence(r.Not)
		if out.From = fromOf(in, r.From); out.From != "" && r.From.Layer != calendar.LayerClub {
			out.RuleLink = "/lore/rules/" + r.ID
		}
		out.Materials = strings.Join(r.Materials, ", ")
		if r.Minutes > 0 {
			out.Effort = in.Say("about {1}", in.Effort(r.Minutes))
		}
	}
	for _, b := range w.Blocked {
		out.Blocked = append(out.Blocked, reason(in, b))
	}
	out.State, out.Sure = state(in, w, on)
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

// reason says what stands against a work, in the words of the calendar, which are English.
func reason(in *wording.Tongue, b calendar.Block) string {
	if b.Until.Valid() {
		return strings.TrimSuffix(in.Told(b.Reason), ".") + " (until " + in.AsEnglish().Day(b.Until) + ")."
	}
	return in.Told(b.Reason)
}

// state says what a work means today and how sure that is.
func state(in *wording.Tongue, w *calendar.Planned, on climate.Date) (words, sure string) {
	win := &w.Window
	open := wording.Open(w, on)
	switch {
	case w.Done.Valid():
		return in.Say("Done on {1}", in.Day(w.Done)), ""
	case len(w.Blocked) > 0:
		return in.Say("Not now"), ""
	case w.Due.Valid():
		sure = in.Say("right that day: {1}", in.HowSure(wording.Open(w, w.Due)))
		switch {
		case w.Due < on && w.Unlogged:
			return in.Say("Due now"), in.Say("right today: {1}", in.HowSure(open))
		case w.Due < on:
			return in.Say("Overdue by {1}", wording.Amount{N: int(on - w.Due), Thing: "day"}), in.Say("right today: {1}", in.HowSure(open))
		case w.Due == on:
			return in.Say("Due today"), sure
		}
		return in.Say("Due {1}", in.WeekDay(w.Due)), sure
	case open >= 0.5:
		return in.Say("Open now"), in.HowSure(open)
	case win.Opens.P50 > on:
		return in.Say("Opens in about {1}", wording.Amount{N: int(win.Opens.P50 - on), Thing: "day"}), in.Say("8 of 10 cases: {1} to {2}", in.ShortDay(win.Opens.P10), in.ShortDay(win.Opens.P90))
	}
	return in.Say("Closing"), in.Say("still open: {1}", in.HowSure(open))
}

func age(in *wording.Tongue, known, on climate.Date) string {
	switch {
	case !known.Valid():
		return in.Say("No weather is measured for this place: dates rest on typical years, and are wide.")
	case on-known <= 1:
		return in.Say("Weather is measured up to {1}.", in.Day(known))
	}
	return in.Say("Weather is measured up to {1}, {2} ago.", in.Day(known), wording.Amount{N: int(on - known), Thing: "day"})
}

func weeks(in *wording.Tongue, on climate.Date) []string {
	out := make([]string, 0, shownDays/7)
	for d := on; d < on+shownDays; d += 7 {
		out = append(out, in.ShortDay(d))
	}
	return out
}

// worksOf lays out the works that touch the days shown, those to be done first.
func worksOf(in *wording.Tongue, all []calendar.Planned, on climate.Date) []Work {
	var out []Work
	for i := range all {
		if w := &all[i]; shows(w, on) {
			out = append(out, workOf(in, w, on))
		}
	}
	slices.SortStableFunc(out, func(a, b Work) int { return cmp.Or(cmp.Compare(a.order, b.order), cmp.Compare(a.likely, b.likely)) })
	said := ""
	for i := range out {
		if w := &out[i]; !w.Done() && w.Caution != "" {
			if w.Caution == said {
				w.Caution = " " + in.Say("As above.") // in full it stands in the folded part
			} else {
				said = w.Caution
			}
		}
	}
	return out
}

// BenchOf names a bench, and how it stands.
func BenchOf(in *wording.Tongue, b *calendar.Bench) string {
	return b.Name + " (" + in.Lower(cmp.Or(b.Exposure, climate.Open)) + ")"
}
