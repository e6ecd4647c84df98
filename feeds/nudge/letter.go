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
	in *wording.Tongue // of whoever reads it

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
	return letter{in: m.in, Chapters: []chapter{{Head: m.Plan.Site.Name + ", " + m.in.WeekDay(m.Plan.On), Lead: lead}}, Last: []string{m.rests()}}
}

func (l *letter) part(p part) {
	c := &l.Chapters[len(l.Chapters)-1]
	c.Parts = append(c.Parts, p)
}

// caution adds what is not there yet. That the tree is to be looked at stands in
// every letter anyway.
func (l *letter) caution(texts ...string) {
	for _, c := range l.in.Cautions(texts) {
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
	for _, c := range other.Cautions { // in the reader's language already
		if !slices.Contains(l.Cautions, c) {
			l.Cautions = append(l.Cautions, c)
		}
	}
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
		line("", l.TakeCare())
		for _, c := range l.Cautions {
			line("- ", c)
		}
	}
	gap()
	for _, s := range append([]string{l.Look()}, l.Last...) {
		line("", s)
	}
	return b.String()
}

// letterHTML is the same as HTML. Colours and sizes are left to the mail program.
var letterHTML = template.Must(template.New("").Funcs(template.FuncMap{"clean": clean}).Parse(
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
{{end}}{{end}}{{end}}{{if .Cautions}}<p><strong>{{.TakeCare}}</strong></p>
<ul>
{{range .Cautions}}<li>{{clean .}}</li>
{{end}}</ul>
{{end}}<p>{{.Look}}{{range .Last}}<br>
{{clean .}}{{end}}</p>
`))

// TakeCare stands over the cautions.
func (l *letter) TakeCare() string { return l.in.Say("Take care:") }

// Look stands in every letter.
func (l *letter) Look() string { return l.in.Say(wording.LookFirst) }

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
	in := l.in
	out := item{Text: w.name + ": " + joined(w.trees)}
	note := func(words string) { out.Notes = append(out.Notes, words) }
	for _, b := range w.work.Blocked {
		until := ""
		if b.Until.Valid() && !strings.Contains(b.Reason, "until about") {
			until = in.Say(" (until about {1})", in.Day(b.Until))
		}
		note(in.Say("Not yet: {1}{2}.", strings.TrimSuffix(in.Told(b.Reason), "."), until))
	}
	if len(out.Notes) > 0 {
		return out
	}
	win := &w.work.Window
	switch {
	case w.work.Due.Valid() && w.work.Due < today:
		note(in.Say("Due since {1}.", in.WeekDay(w.work.Due)))
	case w.work.Due.Valid():
		note(in.Say("Due {1}.", in.WeekDay(w.work.Due)))
	case win.Likely >= today:
		note(in.Say("Best about {1}: open that day {2}.", in.WeekDay(win.Likely), in.HowSure(win.Certainty)))
	}
	switch open := in.HowSure(wording.Open(w.work, today)); {
	case win.Opens.P50 > today:
	case win.Likely < today:
		note(in.Say("Still open today: {1}.", open))
	case win.Likely > today:
		note(in.Say("Open today: {1}.", open))
	}
	note(in.Say("Opens {1}; closes {2}.", when(in, win.Opens), when(in, win.Closes)))
	if w.work.Why != "" {
		note(in.Say("Why: {1}", reason(in, w.work)))
	}
	l.caution(w.work.Cautions...)
	return out
}

// reason is the first sentence of why a work is planned when it is.
func reason(in *wording.Tongue, w *calendar.Planned) string { return wording.First(in.Told(w.Why)) }

// rests says what the days rest on.
func (m *Morning) rests() string {
	out := m.in.Say("The days rest on this: {1}", m.in.Rests(m.Plan.Basis))
	if m.Nights != nil && m.Nights.Source != "" {
		out += " " + m.in.Say("Weather forecast: {1}", wording.Sentence(m.Nights.Source))
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
func when(in *wording.Tongue, s climate.Spread) string {
	switch {
	case !s.P50.Valid():
		return in.Say("on no day that is known")
	case s.P10 == s.P90:
		return in.Say("on {1} (the same in all cases)", in.Day(s.P50))
	}
	return in.Say("about {1} (8 of 10 cases: {2} to {3})", in.Day(s.P50), in.ShortDay(s.P10), in.ShortDay(s.P90))
}

// some names the first of several things, and how many more there are.
func some(in *wording.Tongue, names []string) string {
	if len(names) > 2 {
		return in.Say("{1} and {2} more", names[0], fmt.Sprint(len(names)-1))
	}
	return in.And(names)
}

// called returns what people call a species, with its botanical name.
func called(in *wording.Tongue, s *calendar.Species) string {
	if name := in.Common(s.Name, s.Common); name != "" {
		return name + " (" + s.Name + ")"
	}
	return s.Name
}
