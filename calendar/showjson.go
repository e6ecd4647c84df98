package calendar

import "budswell/climate"

type showJSON struct {
	Name  string       `json:"name"`
	On    climate.Date `json:"on"`
	Look  Look         `json:"look"`
	Tree  string       `json:"tree"` // id
	Given givenJSON    `json:"given"`

	Steps     []stepJSON      `json:"steps"`
	RestUntil *climate.Date   `json:"rest_until"` // null where it never ends
	Ready     []criterionJSON `json:"ready"`
}

// givenJSON is how far the place gives the look.
type givenJSON struct {
	Chance  float64       `json:"chance"`
	From    *climate.Date `json:"from"` // null where the place does not give it
	To      *climate.Date `json:"to"`
	Best    float64       `json:"best"`
	Typical bool          `json:"typical"`
	Says    string        `json:"says"`
}

type stepJSON struct {
	workJSON
	Status     StepStatus   `json:"status"`
	Latest     climate.Date `json:"latest"`
	LastChance *chanceJSON  `json:"last_chance"` // null where Latest is in the window itself
	Spared     string       `json:"not_needed,omitempty"`
	TooLate    string       `json:"too_late,omitempty"`
	After      bool         `json:"after"`
}

type chanceJSON struct {
	spreadsJSON
	Chance float64 `json:"chance"`
}

type criterionJSON struct {
	ID        string        `json:"id"`
	Title     string        `json:"title"`
	Status    Readiness     `json:"status"`
	Says      string        `json:"says"`
	By        *climate.Date `json:"by"` // null where it is met or cannot be told
	Certainty float64       `json:"certainty"`
}

type flagJSON struct {
	Entry  int          `json:"entry"` // counted from 1
	On     climate.Date `json:"on"`
	Work   string       `json:"work"`
	Kind   FlagKind     `json:"kind"`
	Reason string       `json:"reason"`
	Means  string       `json:"means"`
	Open   bool         `json:"open"`
}

func (p *ShowPlan) json() showJSON {
	l := &p.Look
	out := showJSON{
		Name: p.Show.Name, On: p.Show.On, Look: p.Show.Look, Tree: p.Tree.ID,
		Given:     givenJSON{l.Chance, dayJSON(l.From), dayJSON(l.To), l.Best, l.Typical, l.Says},
		RestUntil: dayJSON(p.RestUntil), Steps: make([]stepJSON, len(p.Steps)), Ready: make([]criterionJSON, len(p.Ready)),
	}
	for i := range p.Steps {
		s := &p.Steps[i]
		out.Steps[i] = stepJSON{workJSON: s.Planned.json(), Status: s.Status, Latest: s.Latest, Spared: s.Spared, TooLate: s.TooLate, After: s.After}
		if w := s.LastChance; w != nil {
			out.Steps[i].LastChance = &chanceJSON{spreadsJSON{w.Opens, w.Closes}, w.Chance}
		}
	}
	for i, c := range p.Ready {
		out.Ready[i] = criterionJSON{c.ID, c.Title, c.Status, c.Says, dayJSON(c.By), c.Certainty}
	}
	return out
}

func flagsJSON(flags []Flag) []flagJSON {
	out := make([]flagJSON, len(flags))
	for i, f := range flags {
		out[i] = flagJSON{f.Entry + 1, f.On, f.Work.ID, f.Kind, f.Reason, f.Means, f.Open}
	}
	return out
}
