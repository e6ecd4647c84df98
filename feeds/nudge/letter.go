package nudge

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"unicode"

	"budswell/calendar"
	"budswell/climate"
)

// letter gathers the body of a nudge: plain text, one thing a line.
type letter struct{ b strings.Builder }

func (l *letter) gap() { l.b.WriteString("\n") }

func (l *letter) line(format string, args ...any) {
	l.b.WriteString(clean(fmt.Sprintf(format, args...)) + "\n")
}

func (l *letter) item(format string, args ...any) {
	l.b.WriteString("- " + clean(fmt.Sprintf(format, args...)) + "\n")
}

func (l *letter) heading(text string) {
	if l.b.Len() > 0 {
		l.gap()
	}
	l.line("%s", text)
}

// work writes a work with its trees, its window, and what stands against it.
func (l *letter) work(today climate.Date, name string, trees []string, w *calendar.Planned) {
	l.item("%s: %s", name, strings.Join(trees, ", "))
	indent := func(format string, args ...any) {
		l.b.WriteString("  " + clean(fmt.Sprintf(format, args...)) + "\n")
	}
	indent("opens %s; closes %s", spreadText(w.Window.Opens), spreadText(w.Window.Closes))
	if w.Window.Likely >= today {
		indent("best on %s, %s that the window is open then", long(w.Window.Likely), percent(w.Window.Certainty))
	}
	for _, b := range w.Blocked {
		until := ""
		if b.Until.Valid() {
			until = ", until " + long(b.Until)
		}
		indent("not yet: %s%s", b.Reason, until)
	}
	if w.Why != "" {
		indent("why: %s", w.Why)
	}
}

// compose puts what leads in before what was gathered, and the cautions, each
// once, and what the forecast rests on after it.
func (l *letter) compose(m *Morning, lead string, cautions []string, last string) string {
	var out letter
	out.line("%s, %s", m.Plan.Site.Name, long(m.Plan.On))
	out.gap()
	out.line("%s", lead)
	out.gap()
	out.b.WriteString(l.b.String())
	if len(cautions) > 0 {
		out.gap()
		out.line("Take care:")
	}
	var given []string
	for _, c := range cautions {
		if !slices.Contains(given, c) {
			given = append(given, c)
			out.item("%s", c)
		}
	}
	if last != "" {
		out.gap()
		out.line("%s", last)
	}
	out.gap()
	b := m.Plan.Basis
	if b.Years == 0 {
		out.line("The days rest on %s, not on measured weather, and are the less sure for it.", b.Source)
	} else {
		out.line("The days rest on %s: %d years of measured weather; of the last year's days %d were not measured.",
			b.Source, b.Years, b.Predicted+b.Interpolated+b.Typical)
	}
	return out.b.String()
}

// clean makes one line of text: names and notes may hold anything.
func clean(s string) string {
	s = strings.Map(func(r rune) rune {
		if unicode.IsControl(r) || r == '\u2028' || r == '\u2029' {
			return ' '
		}
		return r
	}, strings.ToValidUTF8(s, "?"))
	return strings.Join(strings.Fields(s), " ")
}

func long(d climate.Date) string { return d.Time().Format("2 January 2006") }

func spreadText(s climate.Spread) string {
	if !s.P50.Valid() {
		return "on no day that is known"
	}
	return fmt.Sprintf("%s (10 %%), %s (50 %%), %s (90 %%)", long(s.P10), long(s.P50), long(s.P90))
}

// percent never says that a forecast is certain.
func percent(p float64) string {
	switch {
	case p > 0.99:
		return "more than 99 % sure"
	case p < 0.01:
		return "less than 1 % sure"
	}
	return fmt.Sprintf("%.0f %% sure", math.Floor(100*p))
}

// some names the first of several things, and how many more there are.
func some(names []string) string {
	if len(names) > 2 {
		return fmt.Sprintf("%s and %d more", names[0], len(names)-1)
	}
	return strings.Join(names, " and ")
}

// called returns a species' botanical name with what people call it.
func called(s *calendar.Species) string {
	if len(s.Common) == 0 {
		return s.Name
	}
	return fmt.Sprintf("%s (%s)", s.Name, s.Common[0])
}
