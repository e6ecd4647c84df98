package pages

import (
	"slices"

	"budswell/calendar"
	"budswell/feeds/wording"
)

// ShowWay is the way of a tree to a show.
type ShowWay struct {
	ID, Tree, TreeID string
	Name, On, Look   string

	Gives  string // what the place gives on that day
	Chance string // of being ready, and what it hangs on; empty where no years are drawn
	Path   []string
	Latest []string // of each step, the latest season in which it still makes it

	Ready []Readiness
	Steps []Step
	Rest  string

	Cautions []string // of all steps
}

// Readiness is a criterion of being ready.
type Readiness struct {
	Title, Status, Says, By string
	Met                     bool
}

// Step is a work before or after a show.
type Step struct {
	Title, Status, When, Latest, Why, Missed, Caution string
	Blocked                                           []string
	After, Settled                                    bool // comes after the show; there is nothing to do, or no more
}

func wayOf(w *calendar.ShowPlan, road *calendar.Roadmap) ShowWay {
	out := ShowWay{
		ID: calendar.Slug(w.Show.Name), Tree: w.Tree.Name, TreeID: w.Tree.ID,
		Name: w.Show.Name, On: wording.WeekDay(w.Show.On), Look: w.Show.Look.Words(), Gives: wording.Sentence(w.Look.Says),
		Rest: "It rests for good after it.",
	}
	if w.RestUntil.Valid() {
		out.Rest = "Then it rests, with nothing hard, until about " + wording.Day(w.RestUntil) + "."
	}
	for i := range w.Ready {
		out.Ready = append(out.Ready, readinessOf(&w.Ready[i]))
	}
	for i := range w.Steps {
		s := stepOf(&w.Steps[i])
		out.Steps = append(out.Steps, s)
		for _, c := range wording.Cautions(w.Steps[i].Cautions) {
			if !slices.Contains(out.Cautions, c) {
				out.Cautions = append(out.Cautions, c)
			}
		}
	}
	if road != nil {
		out.ahead(road)
	}
	return out
}

// ahead adds what the years say of the show.
func (s *ShowWay) ahead(road *calendar.Roadmap) {
	for i := range road.Shows {
		a := &road.Shows[i]
		if calendar.Slug(a.Name) != s.ID {
			continue
		}
		s.Chance = wording.Sentence(a.Said)
		for _, p := range a.Path {
			s.Path = append(s.Path, wording.Sentence(p.What+": on the deciding way in "+wording.Percent(p.Share)+" of the drawn lives"))
		}
		for _, l := range a.Latest {
			s.Latest = append(s.Latest, wording.Sentence(l.Said))
		}
	}
}

func readinessOf(c *calendar.Criterion) Readiness {
	out := Readiness{Title: c.Title, Says: wording.Sentence(c.Says), Met: c.Status == calendar.Met}
	switch c.Status {
	case calendar.Met:
		out.Status = "Met"
	case calendar.NotYet:
		out.Status = "Not yet"
	default:
		out.Status = "Out of reach"
	}
	switch {
	case out.Met || !c.By.Valid():
	case c.Certainty > 0 && c.Certainty < 1:
		out.By = "By about " + wording.Day(c.By) + ", " + wording.HowSure(c.Certainty) + "."
	default:
		out.By = "By about " + wording.Day(c.By) + "."
	}
	return out
}

func stepOf(s *calendar.ShowStep) Step {
	win := &s.Window
	out := Step{Title: s.Title, After: s.After, Missed: wording.Sentence(s.TooLate)}
	out.Settled = s.Status != calendar.StepNow && s.Status != calendar.StepToCome
	switch s.Status {
	case calendar.StepDone:
		out.Status, out.Missed = "Done on "+wording.Day(s.Done), ""
		return out
	case calendar.StepSpared:
		out.Status, out.Missed = "Nothing to do: "+wording.Sentence(s.Spared), ""
		return out
	case calendar.StepOver:
		out.Status = "Too late: it was to be done by " + wording.Day(s.Latest) + "."
		return out
	case calendar.StepNow:
		out.Status = "It is time now"
	default:
		out.Status = "To come"
	}
	out.When = "Opens " + wording.Spread(win.Opens) + "; closes " + wording.Spread(win.Closes) + "."
	if win.Opens.P10 == win.Opens.P90 && win.Opens == win.Closes {
		out.When = "On " + wording.WeekDay(win.Opens.P50) + "."
	}
	out.Latest = "At the latest " + wording.Day(s.Latest) + "."
	if l := s.LastChance; l != nil {
		out.Latest += " The last chance is a later season's window: " + wording.Day(l.Opens.P50) + " to " + wording.Day(l.Closes.P50) + "."
	}
	out.Why = wording.Sentence(s.Why)
	for _, b := range s.Blocked {
		out.Blocked = append(out.Blocked, reason(b))
	}
	if len(out.Blocked) > 0 {
		out.Status = "Not now"
	}
	for _, c := range wording.Cautions(s.Cautions) {
		if out.Caution != "" {
			out.Caution += " "
		}
		out.Caution += wording.First(c)
	}
	return out
}
