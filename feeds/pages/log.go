package pages

import (
	"encoding/json"
	"io"
	"slices"

	"budswell/calendar"
	"budswell/climate"
	"budswell/feeds/wording"
)

// Log is the page on which a grower logs what was seen on a tree or done to it.
type Log struct {
	CSRF     string
	ID, Name string
	Today    string // ISO, the latest day that an entry may have

	Saw, NotYet, Did []Choice
	Moved            []Choice // to another bench
	Past             []Past   // the log so far, the newest first

	// What was typed, and what is wrong with it.
	On, What, Note string
	Fault          string
}

// Past is an entry of the log.
type Past struct {
	Text  string
	Entry string // as JSON, by which it can be taken back
}

// LogOf lays out the log of a tree and what may be added to it.
func LogOf(t *calendar.TreePlan, today climate.Date, works []calendar.Work) *Log {
	l := &Log{ID: t.Tree.ID, Name: t.Tree.Name, Today: today.String(), On: today.String()}
	if t.Species != nil {
		for _, p := range t.Species.Group.Phases() {
			l.Saw = append(l.Saw, Choice{Value: "saw:" + string(p), Label: wording.Name(string(p))})
			l.NotYet = append(l.NotYet, Choice{Value: "not-yet:" + string(p), Label: "No " + wording.Lower(string(p)) + " yet"})
		}
	}
	titles := titlesOf(works)
	for i := range works {
		l.Did = append(l.Did, Choice{Value: "did:" + works[i].ID, Label: works[i].Title})
	}
	for _, e := range t.Tree.Log {
		l.Past = append(l.Past, pastOf(e, titles))
	}
	slices.Reverse(l.Past)
	return l
}

func titlesOf(works []calendar.Work) map[string]string {
	titles := map[string]string{}
	for i := range works {
		titles[works[i].ID] = works[i].Title
	}
	return titles
}

func pastOf(e calendar.Entry, titles map[string]string) Past {
	text, err := json.Marshal(e)
	if err != nil {
		text = nil // a day that is none; it is shown all the same
	}
	return Past{past(e, titles), string(text)}
}

func past(e calendar.Entry, titles map[string]string) string {
	out := wording.WeekDay(e.On) + ": "
	switch {
	case e.Saw != "":
		out += "saw " + wording.Lower(string(e.Saw))
	case e.NotYet != "":
		out += "no " + wording.Lower(string(e.NotYet)) + " yet"
	case e.Moved != "":
		out += "put on the bench " + e.Moved
	case e.Judged != nil:
		out += "judged " + wording.Lower(string(e.Judged.Strength)) + " " + wording.Lower(string(e.Judged.Stage))
	case titles[e.Did] != "":
		out += titles[e.Did]
	default:
		out += wording.Lower(e.Did)
	}
	if e.Note != "" {
		out += " (" + e.Note + ")"
	}
	return out
}

// Benches adds the benches that the tree may be put on.
func (l *Log) Benches(all []calendar.Bench) {
	for _, b := range all {
		l.Moved = append(l.Moved, Choice{Value: "moved:" + b.ID, Label: b.String()})
	}
}

// Log writes the page.
func (p *Pages) Log(w io.Writer, l *Log) error {
	for _, list := range [][]Choice{l.Saw, l.NotYet, l.Did, l.Moved} {
		for i := range list {
			list[i].Picked = list[i].Value == l.What
		}
	}
	return p.write(w, "log.html", l)
}
