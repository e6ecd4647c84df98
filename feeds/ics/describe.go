package ics

import (
	"fmt"
	"strings"

	"budswell/calendar"
	"budswell/climate"
	"budswell/feeds/wording"
)

// describe writes what a person needs to know of a work: when and how sure, why,
// with what, and what to beware of.
func describe(s subject, w *calendar.Planned, c choice, on climate.Date, basis climate.Basis) string {
	var b paragraphs
	b.add("", s.about)
	if w.Done.Valid() {
		b.gap()
		b.add("", "Done on "+wording.WeekDay(w.Done)+".")
		b.add("Why it was right", w.Why)
		return b.String()
	}
	if w.Show != nil {
		b.add("For the show", w.Show.Name+", "+wording.WeekDay(w.Show.On)+", "+w.Show.Look.Words())
	}
	b.gap()
	b.chosen(w, c)
	b.when(w, c, on)
	b.gap()
	b.add("Why", w.Why)
	if r := w.Rule; r != nil {
		b.add("Needs", needs(r))
		b.add("Not", r.Not)
	}
	if s.plan != nil {
		for _, sum := range s.plan.SumsFor(w) {
			b.add("Reckoned", sum)
		}
	}
	for _, block := range w.Blocked {
		b.add("Wait until "+wording.Day(block.Until), block.Reason)
	}
	for _, c := range wording.Cautions(w.Cautions) {
		b.add("Caution", c)
	}
	b.gap()
	b.add("", wording.LookFirst)
	b.add("They rest on", wording.Rests(basis))
	return b.String()
}

// when writes the days of a window that is not over and how sure they are.
func (b *paragraphs) when(w *calendar.Planned, c choice, on climate.Date) {
	win := &w.Window
	if w.Due.Valid() {
		b.add("Due", wording.WeekDay(w.Due))
		if w.Rule != nil && w.Rule.Every > 0 {
			b.add("", fmt.Sprintf("Every %s while the window is open.", wording.Count(w.Rule.Every, "day")))
		}
	}
	b.add("Likely day", wording.WeekDay(win.Likely)+"; the window is open that day: "+wording.HowSure(win.Certainty))
	b.add("Opens", wording.Spread(win.Opens))
	b.add("Closes", wording.Spread(win.Closes))
	if win.Chance < 0.95 {
		b.add("", "The window comes at all this season: "+wording.HowSure(win.Chance))
	}
	if len(c.days) == 0 && !w.Due.Valid() && long(win.Opens.P50, win.Closes.P50) {
		week := "that suits best"
		if bestIsPast(win, on) {
			week = "before it is as likely as not to close, since the best is past"
		}
		b.add("", "The window is long: this entry marks the week "+week+", not all of it.")
	}
}

func needs(r *calendar.Rule) string {
	parts := make([]string, 0, 2)
	if len(r.Materials) > 0 {
		parts = append(parts, strings.Join(r.Materials, ", "))
	}
	if r.Minutes > 0 {
		parts = append(parts, "about "+wording.Effort(r.Minutes))
	}
	return strings.Join(parts, "; ")
}

// paragraphs collects labelled lines with empty lines between groups of them.
type paragraphs struct {
	lines []string
}

// add writes one line; without a text, none.
func (b *paragraphs) add(label, s string) {
	s = wording.Sentence(s)
	switch {
	case s == "":
	case label == "":
		b.lines = append(b.lines, s)
	default:
		b.lines = append(b.lines, label+": "+s)
	}
}

func (b *paragraphs) gap() {
	if n := len(b.lines); n > 0 && b.lines[n-1] != "" {
		b.lines = append(b.lines, "")
	}
}

func (b *paragraphs) String() string { return strings.Join(b.lines, "\n") }
