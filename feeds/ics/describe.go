package ics

import (
	"strings"

	"budswell/calendar"
	"budswell/climate"
	"budswell/feeds/wording"
)

// describe writes what a person needs to know of a work: when and how sure, why,
// with what, and what to beware of.
func describe(s subject, w *calendar.Planned, c choice, on climate.Date, basis climate.Basis) string {
	in := s.in
	b := paragraphs{in: in}
	b.add("", s.about)
	if w.Done.Valid() {
		b.gap()
		b.add("", in.Say("Done on {1}", in.WeekDay(w.Done)))
		b.add("Why it was right", in.Told(w.Why))
		return b.String()
	}
	if w.Show != nil {
		b.add("For the show", w.Show.Name+", "+in.WeekDay(w.Show.On)+", "+in.Lower(string(w.Show.Look)))
	}
	b.gap()
	b.chosen(w, c)
	b.when(w, c, on)
	b.gap()
	b.add("Why", in.Told(w.Why))
	if r := w.Rule; r != nil {
		b.add("Needs", needs(in, r))
		b.add("Not", r.Not)
	}
	if s.plan != nil {
		for _, sum := range s.plan.SumsFor(w) {
			b.add("Reckoned", in.Told(sum))
		}
	}
	for _, block := range w.Blocked {
		b.lines = append(b.lines, in.Say("Wait until {1}", in.Day(block.Until))+": "+in.Told(block.Reason))
	}
	for _, c := range in.Cautions(w.Cautions) {
		b.add("Caution", c)
	}
	b.gap()
	b.add("", in.Say(wording.LookFirst))
	b.add("They rest on", in.Rests(basis))
	return b.String()
}

// when writes the days of a window that is not over and how sure they are.
func (b *paragraphs) when(w *calendar.Planned, c choice, on climate.Date) {
	in, win := b.in, &w.Window
	if w.Due.Valid() {
		b.add("Due", in.WeekDay(w.Due))
		if w.Rule != nil && w.Rule.Every > 0 {
			b.add("", in.Say("Every {1} while the window is open.", wording.Amount{N: w.Rule.Every, Thing: "day"}))
		}
	}
	b.add("Likely day", in.Say("{1}; the window is open that day: {2}", in.WeekDay(win.Likely), in.HowSure(win.Certainty)))
	b.add("Opens", in.Spread(win.Opens))
	b.add("Closes", in.Spread(win.Closes))
	if win.Chance < 0.95 {
		b.add("", in.Say("The window comes at all this season: {1}", in.HowSure(win.Chance)))
	}
	if len(c.days) == 0 && !w.Due.Valid() && long(win.Opens.P50, win.Closes.P50) {
		week := in.Say("The window is long: this entry marks the week that suits best, not all of it.")
		if bestIsPast(win, on) {
			week = in.Say("The window is long: this entry marks the week before it is as likely as not to close, since the best is past, not all of it.")
		}
		b.add("", week)
	}
}

func needs(in *wording.Tongue, r *calendar.Rule) string {
	parts := make([]string, 0, 2)
	if len(r.Materials) > 0 {
		parts = append(parts, strings.Join(r.Materials, ", "))
	}
	if r.Minutes > 0 {
		parts = append(parts, in.Say("about {1}", in.Effort(r.Minutes)))
	}
	return strings.Join(parts, "; ")
}

// paragraphs collects labelled lines with empty lines between groups of them.
type paragraphs struct {
	in    *wording.Tongue
	lines []string
}

// add writes one line, its label given in English; without a text, none.
func (b *paragraphs) add(label, s string) {
	s = wording.Sentence(s)
	switch {
	case s == "":
	case label == "":
		b.lines = append(b.lines, s)
	default:
		b.lines = append(b.lines, b.in.Say(label)+": "+s)
	}
}

func (b *paragraphs) gap() {
	if n := len(b.lines); n > 0 && b.lines[n-1] != "" {
		b.lines = append(b.lines, "")
	}
}

func (b *paragraphs) String() string { return strings.Join(b.lines, "\n") }
