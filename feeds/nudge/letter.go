package nudge

import (
	"bytes"
	"fmt"
	"html/template"
	"slices"
	"strings"
	"unicode"

	"budswell/calendar"
	"budswell/climate"
	"budswell/feeds/wording"
)

// letter is what a nudge says, from which its text and its HTML are written. All
// of it is made one line where it is written.
type letter struct {
	Chapters []chapter
	Cautions []string // each once
	Last     []string
}

// chapter is what one kind of nudge says of one place.
type chapter struct {
	Heading string // empty where it is the only one
	Head    string // place and day
	Lead    []string
	Parts   []part
}

type part struct {
	Heading string
	Lines   []string // before the items
	Items   []item
	After   []string
}

type item struct {
	Text  string
	Notes []string
}

// newLetter begins a letter about a place.
func (m *Morning) newLetter(lead ...string) letter {
	return letter{Chapters: []chapter{{Head: m.Plan.Site.Name + ", " + wording.WeekDay(m.Plan.On), Lead: lead}}, Last: []string{m.rests()}}
}

func (l *letter) part(p part) {
	c := &l.Chapters[len(l.Chapters)-1]
	c.Parts = append(c.Parts, p)
}

// caution adds what is not there yet. That the tree is to be looked at stands in
// every letter anyway.
func (l *letter) caution(texts ...string) {
	for _, c := range wording.Cautions(texts) {
		if !slices.Contains(l.Cautions, c) {
			l.Cautions = append(l.Cautions, c)
		}
	}
}

// add puts another letter behind, under a heading.
func (l *letter) add(heading string, other *letter) {
	for _, c := range other.Chapters {
		c.Heading = heading
		l.Chapters = append(l.Chapters, c)
	}
	l.caution(other.Cautions...)
	for _, s := range other.Last {
		if !slices.Contains(l.Last, s) {
			l.Last = append(l.Last, s)
		}
	}
}

// text writes the letter as plain text, complete but for its links.
func (l *letter) text() string {
	var b strings.Builder
	line := func(indent, s string) {
		if s = clean(s); s != "" {
			b.WriteString(indent + s + "\n")
		}
	}
	gap := func() {
		if b.Len() > 0 {
			b.WriteString("\n")
		}
	}
	for _, c := range l.Chapters {
		gap()
		line("== ", c.Heading)
		line("", c.Head)
		gap()
		for _, s := range c.Lead {
			line("", s)
		}
		for _, p := range c.Parts {
			gap()
			line("", p.Heading)
			for _, s := range p.Lines {
				line("", s)
			}
			for _, i := range p.Items {
				line("- ", i.Text)
				for _, n := range i.Notes {
					line("  ", n)
				}
			}
			for _, s := range p.After {
				line("", s)
			}
		}
	}
	if len(l.Cautions) > 0 {
		gap()
		line("", "Take care:")
		for _, c := range l.Cautions {
			line("- ", c)
		}
	}
	gap()
	for _, s := range append([]string{wording.LookFirst}, l.Last...) {
		line("", s)
	}
	return b.String()
}

// letterHTML is the same as HTML. Colours and sizes are left to the mail program.
var letterHTML = template.Must(template.New("").Funcs(template.FuncMap{"clean": clean, "look": func() string { return wording.LookFirst }}).Parse(
	`{{range .Chapters}}{{with .Heading}}<h2>{{clean .}}</h2>
{{end}}<p><strong>{{clean .Head}}</strong></p>
<p>{{range $i, $s := .Lead}}{{if $i}}<br>
{{end}}{{clean $s}}{{end}}</p>
{{range .Parts}}{{with .Heading}}<h3>{{clean .}}</h3>
{{end}}{{range .Lines}}<p>{{clean .}}</p>
{{end}}{{if .Items}}<ul>
{{range .Items}}<li>{{clean .Text}}{{range .Notes}}<br>
{{clean .}}{{end}}</li>
{{end}}</ul>
{{end}}{{range .After}}<p>{{clean .}}</p>
{{end}}{{end}}{{end}}{{if .Cautions}}<p><strong>Take care:</strong></p>
<ul>
{{range .Cautions}}<li>{{clean .}}</li>
{{end}}</ul>
{{end}}<p>{{look}}{{range .Last}}<br>
{{clean .}}{{end}}</p>
`))

func (l *letter) html() string {
	var b bytes.Buffer
	if err := letterHTML.Execute(&b, l); err != nil {
		return "" // the text is complete; a template that parsed does not fail on strings
	}
	return b.String()
}

// work writes a work with its trees, its window or what stands against it, and
// its reason in a sentence; the whole of the reason stands on the page.
func (l *letter) work(today climate.Date, w shared) item {
	out := item{Text: w.name + ": " + joined(w.trees)}
	note := func(format string, args ...any) { out.Notes = append(out.Notes, fmt.Sprintf(format, args...)) }
	for _, b := range w.work.Blocked {
		until := ""
		if b.Until.Valid() && !strings.Contains(b.Reason, "until about") {
			until = " (until about " + wording.Day(b.Until) + ")"
		}
		note("Not yet: %s%s.", b.Reason, until)
	}
	if len(out.Notes) > 0 {
		return out
	}
	win := &w.work.Window
	switch {
	case w.work.Due.Valid() && w.work.Due < today:
		note("Due since %s.", wording.WeekDay(w.work.Due))
	case w.work.Due.Valid():
		note("Due %s.", wording.WeekDay(w.work.Due))
	case win.Likely >= today:
		note("Best about %s: open that day %s.", wording.WeekDay(win.Likely), wording.HowSure(win.Certainty))
	}
	switch open := wording.HowSure(wording.Open(w.work, today)); {
	case win.Opens.P50 > today:
	case win.Likely < today:
		note("Still open today: %s.", open)
	case win.Likely > today:
		note("Open today: %s.", open)
	}
	note("Opens %s; closes %s.", when(win.Opens), when(win.Closes))
	if w.work.Why != "" {
		note("Why: %s", reason(w.work))
	}
	l.caution(w.work.Cautions...)
	return out
}

// reason is the first sentence of why a work is planned when it is.
func reason(w *calendar.Planned) string { return wording.First(wording.Sentence(w.Why)) }

// rests says what the days rest on.
func (m *Morning) rests() string {
	out := "The days rest on this: " + wording.Rests(m.Plan.Basis)
	if m.Nights != nil && m.Nights.Source != "" {
		out += " Weather forecast: " + wording.Sentence(m.Nights.Source)
	}
	return out
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

// when writes a day with how sure it is.
func when(s climate.Spread) string {
	switch {
	case !s.P50.Valid():
		return "on no day that is known"
	case s.P10 == s.P90:
		return "on " + wording.Day(s.P50) + " (the same in all cases)"
	}
	return fmt.Sprintf("about %s (8 of 10 cases: %s to %s)", wording.Day(s.P50), wording.ShortDay(s.P10), wording.ShortDay(s.P90))
}

// degrees writes a temperature.
func degrees(c float64) string {
	s := fmt.Sprintf("%.1f °C", c)
	return strings.Replace(strings.Replace(s, "-0.0", "0.0", 1), "-", "−", 1)
}

// some names the first of several things, and how many more there are.
func some(names []string) string {
	if len(names) > 2 {
		return fmt.Sprintf("%s and %d more", names[0], len(names)-1)
	}
	return strings.Join(names, " and ")
}

// called returns what people call a species, with its botanical name.
func called(s *calendar.Species) string {
	if len(s.Common) == 0 {
		return s.Name
	}
	return fmt.Sprintf("%s (%s)", s.Common[0], s.Name)
}
