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
func LogOf(in *wording.Tongue, t *calendar.TreePlan, today climate.Date, works []calendar.Work) *Log {
	l := &Log{ID: t.Tree.ID, Name: t.Tree.Name, Today: today.String(), On: today.String()}
	if t.Species != nil {
		for _, p := range t.Species.Group.Phases() {
			l.Saw = append(l.Saw, Choice{Value: "saw:" + string(p), Label: in.Name(string(p))})
			l.NotYet = append(l.NotYet, Choice{Value: "not-yet:" + string(p), Label: in.Say("No {1} yet", in.Lower(string(p)))})
		}
	}
	titles := titlesOf(in, works)
	for i := range works {
		l.Did = append(l.Did, Choice{Value: "did:" + works[i].ID, Label: in.Title(works[i].Title)})
	}
	for _, e := range t.Tree.Log {
		l.Past = append(l.Past, pastOf(in, e, titles))
	}
	slices.Reverse(l.Past)
	return l
}

func titlesOf(in *wording.Tongue, works []calendar.Work) map[string]string {
	titles := map[string]string{}
	for i := range works {
		titles[works[i].ID] = in.Title(works[i].Title)
	}
	return titles
}

func pastOf(in *wording.Tongue, e calendar.Entry, titles map[string]string) Past {
	text, err := json.Marshal(e)
	if err != nil {
		text = nil // a day that is none; it is shown all the same
	}
	return Past{past(in, e, titles), string(text)}
}

func past(in *wording.Tongue, e calendar.Entry, titles map[string]string) string {
	out := in.WeekDay(e.On) + ": "
	switch {
	case e.Saw != "":
		out += in.Say("saw {1}", in.Lower(string(e.Saw)))
	case e.NotYet != "":
		out += in.Say("no {1} yet", in.Lower(string(e.NotYet)))
	case e.Moved != "":
		out += in.Say("put on the bench {1}", e.Moved)
	case e.Judged != nil:
		out += in.Say("judged {1} {2}", in.Lower(string(e.Judged.Strength)), in.Lower(string(e.Judged.Stage)))
	case titles[e.Did] != "":
		out += titles[e.Did]
	default:
		out += in.Lower(e.Did)
	}
	if e.Note != "" {
		out += " (" + e.Note + ")"
	}
	return out
}

// Benches adds the benches that the tree may be put on.
func (l *Log) Benches(in *wording.Tongue, all []calendar.Bench) {
	for _, b := range all {
		l.Moved = append(l.Moved, Choice{Value: "moved:" + b.ID, Label: BenchOf(in, &b)})
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
