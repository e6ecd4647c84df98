package calendar

import (
	"encoding/json"

	"budswell/climate"
)

// jsonVersion is the version of the form in which plans are written as JSON.
const jsonVersion = 1

type planJSON struct {
	Version int           `json:"version"`
	On      climate.Date  `json:"on"`
	Site    siteJSON      `json:"site"`
	Basis   climate.Basis `json:"basis"`
	Weather supplyJSON    `json:"weather"`
	Trees   []treeJSON    `json:"trees"`
	Shows   []showJSON    `json:"shows"` // by tree
	Agenda  *Agenda       `json:"agenda,omitempty"`
}

type siteJSON struct {
	Name      string  `json:"name"`
	Lat       float64 `json:"lat"`
	Lon       float64 `json:"lon"`
	Elevation float64 `json:"elevation"`
	Zone      string  `json:"tz"`
}

type treeJSON struct {
	ID       string     `json:"id"`
	Name     string     `json:"name"`
	Species  string     `json:"species"`
	Bench    *Bench     `json:"bench,omitempty"`
	Stage    Stage      `json:"stage"`
	Strength Strength   `json:"strength"`
	Notice   string     `json:"notice,omitempty"`
	Next     string     `json:"next"`
	Doubt    string     `json:"doubt,omitempty"`
	Work     []workJSON `json:"work"`
	Sums     Sums       `json:"sums"`  // what applies of what a grower works out by hand
	Flags    []flagJSON `json:"flags"` // what in the log was done against the rules
}

type workJSON struct {
	Key       string        `json:"key"`
	Kind      string        `json:"kind"` // id of the work
	Rule      string        `json:"rule"`
	Title     string        `json:"title"`
	Class     Class         `json:"class"`
	Show      string        `json:"show,omitempty"` // name of the show that it is for
	Opens     *climate.Date `json:"opens"`          // the 10 % day of opening
	Likely    *climate.Date `json:"likely"`         // the day most likely to be inside
	Closes    *climate.Date `json:"closes"`         // the 90 % day of closing
	Certainty float64       `json:"certainty"`
	Chance    float64       `json:"chance"`
	AnyTime   bool          `json:"any_time,omitempty"` // no first day: growth does not stop
	Spread    spreadsJSON   `json:"spread"`
	Due       *climate.Date `json:"due"`  // null unless the work is repeated
	Done      *climate.Date `json:"done"` // null where it was not done
	Why       string        `json:"why"`
	SoFar     string        `json:"so_far,omitempty"`
	Blocked   []blockJSON   `json:"blocked"`
	Caution   []string      `json:"caution"`
	From      *From         `json:"from,omitempty"` // where the rule is from
}

type spreadsJSON struct {
	Opens  climate.Spread `json:"opens"`
	Closes climate.Spread `json:"closes"`
}

type blockJSON struct {
	Reason string        `json:"reason"`
	Until  *climate.Date `json:"until"` // null where it is not known
}

// MarshalJSON writes the plan in the public form, version 1: dates in ISO 8601,
// shares from 0 to 1, null where there is no day, lists never null. Entries of a
// log that flags name are counted from 1.
func (p *Plan) MarshalJSON() ([]byte, error) {
	out := planJSON{
		Version: jsonVersion, On: p.On, Basis: p.Basis, Weather: supplyOf(p.Supply), Trees: make([]treeJSON, len(p.Trees)), Agenda: p.Agenda,
		Site: siteJSON{p.Site.Name, p.Site.Lat, p.Site.Lon, p.Site.Elevation, p.Site.Zone},
	}
	for i := range p.Trees {
		t := &p.Trees[i]
		out.Trees[i] = treeJSON{
			ID: t.Tree.ID, Name: t.Tree.Name, Species: t.Species.Name,
			Stage: t.State.Stage, Strength: t.State.Strength, Notice: t.Notice, Next: t.Next, Doubt: t.Doubt, Sums: t.Sums, Work: make([]workJSON, len(t.Works)),
			Flags: flagsJSON(t.Flags),
		}
		for k := range t.Works {
			out.Trees[i].Work[k] = t.Works[k].json()
		}
	}
	out.Shows = make([]showJSON, len(p.Shows))
	for i := range p.Shows {
		out.Shows[i] = p.Shows[i].json()
	}
	return json.Marshal(out)
}

func (p *Planned) json() workJSON {
	w := &p.Window
	out := workJSON{
		Key: p.Key, Kind: p.Work.ID, Rule: p.Rule.ID, Title: p.Title, Class: p.Work.Class,
		Opens: dayJSON(w.Opens.P10), Likely: dayJSON(w.Likely), Closes: dayJSON(w.Closes.P90),
		Certainty: w.Certainty, Chance: w.Chance, AnyTime: w.AnyTime, Spread: spreadsJSON{w.Opens, w.Closes},
		Due: dayJSON(p.Due), Done: dayJSON(p.Done), Why: p.Why, SoFar: p.SoFar,
		Blocked: make([]blockJSON, len(p.Blocked)), Caution: append([]string{}, p.Cautions...),
		From: p.Rule.From,
	}
	if p.Show != nil {
		out.Show = p.Show.Name
	}
	for i, b := range p.Blocked {
		out.Blocked[i] = blockJSON{b.Reason, dayJSON(b.Until)}
	}
	return out
}

// dayJSON returns null for no day.
func dayJSON(d climate.Date) *climate.Date {
	if !d.Valid() {
		return nil
	}
	return &d
}
