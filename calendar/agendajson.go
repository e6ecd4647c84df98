package calendar

import (
	"encoding/json"

	"budswell/climate"
)

// agendaVersion is the version of the form in which agendas are written as JSON.
const agendaVersion = 1

type agendaJSON struct {
	Version int           `json:"version"`
	On      climate.Date  `json:"on"`
	Days    []dayWorkJSON `json:"days"`
	Waiting []waitingJSON `json:"waiting"`
	More    []moreJSON    `json:"more"`
	Worth   float64       `json:"worth"` // days of the trees' roads
	Gap     float64       `json:"gap"`
}

type dayWorkJSON struct {
	Day     climate.Date `json:"day"`
	Free    int          `json:"free"` // minutes, as all times
	Minutes int          `json:"minutes"`
	SetUp   int          `json:"set_up"`
	Chance  float64      `json:"chance"`
	Least   float64      `json:"least_chance"`
	Works   []chosenJSON `json:"works"`
}

// subjectJSON names a work on a tree.
type subjectJSON struct {
	Tree  string `json:"tree"` // id
	Key   string `json:"key"`
	Kind  string `json:"kind"` // id of the work
	Title string `json:"title"`
}

type chosenJSON struct {
	subjectJSON
	Minutes    int           `json:"minutes"`
	Chance     float64       `json:"chance"`
	Best       climate.Date  `json:"best"`
	BestChance float64       `json:"best_chance"`
	Promised   *climate.Date `json:"promised"` // null where it was not
	Missed     bool          `json:"missed"`
}

type waitingJSON struct {
	subjectJSON
	Minutes  int           `json:"minutes"`
	From     climate.Date  `json:"from"`
	To       climate.Date  `json:"to"`
	Best     climate.Date  `json:"best"`
	Chance   float64       `json:"chance"`
	Cost     float64       `json:"cost"` // days of the tree's road
	Reason   string        `json:"reason"`
	Risk     string        `json:"risk"`
	Advice   string        `json:"advice,omitempty"`
	Urgent   bool          `json:"urgent,omitempty"` // to be done whether there are hours or not
	Promised *climate.Date `json:"promised"`
}

type moreJSON struct {
	Day     climate.Date `json:"day"`
	Minutes int          `json:"minutes"`
	Gain    float64      `json:"gain"` // days of the trees' roads
	AtMost  float64      `json:"at_most"`
	Moves   []moveJSON   `json:"moves"`
}

type moveJSON struct {
	subjectJSON
	From       *climate.Date `json:"from"` // null: it waits
	To         *climate.Date `json:"to"`   // null: it would wait
	FromChance float64       `json:"from_chance"`
	Chance     float64       `json:"chance"`
}

// MarshalJSON writes the agenda in the public form, version 1.
func (a *Agenda) MarshalJSON() ([]byte, error) {
	out := agendaJSON{
		Version: agendaVersion, On: a.On, Worth: a.Worth, Gap: a.Gap,
		Days: make([]dayWorkJSON, len(a.Days)), Waiting: make([]waitingJSON, len(a.Waiting)), More: []moreJSON{},
	}
	subject := func(t *TreePlan, p *Planned) subjectJSON { return subjectJSON{t.Tree.ID, p.Key, p.Work.ID, p.Title} }
	for i := range a.Days {
		d := &a.Days[i]
		works := make([]chosenJSON, len(d.Works))
		for k := range d.Works {
			c := &d.Works[k]
			works[k] = chosenJSON{subject(c.Tree, c.Work), c.Minutes, c.Chance, c.Best, c.BestChance, dayJSON(c.Promised), c.Missed}
		}
		out.Days[i] = dayWorkJSON{d.Day, d.Free, d.Minutes, d.SetUp, d.Chance, d.Least, works}
	}
	for i := range a.Waiting {
		w := &a.Waiting[i]
		out.Waiting[i] = waitingJSON{
			subject(w.Tree, w.Work), w.Minutes, w.From, w.To, w.Best, w.Chance, w.Cost, w.Reason, w.Risk(), w.Advice, w.Urgent(), dayJSON(w.Promised),
		}
	}
	for _, d := range a.Scarce(moreDays, moreWithin) {
		m := a.More(d, moreMinutes)
		moves := make([]moveJSON, len(m.Moves))
		for k := range m.Moves {
			v := &m.Moves[k]
			moves[k] = moveJSON{subject(v.Tree, v.Work), dayJSON(v.From), dayJSON(v.Day), v.FromChance, v.Chance}
		}
		out.More = append(out.More, moreJSON{d, m.Minutes, m.Gain, m.AtMost, moves})
	}
	return json.Marshal(out)
}
