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
	Spared                                            string // why there is nothing to do
	Blocked                                           []string
	After, Settled                                    bool // comes after the show; there is nothing to do, or no more
}

func wayOf(in *wording.Tongue, w *calendar.ShowPlan, road *calendar.Roadmap) ShowWay {
	out := ShowWay{
		ID: calendar.Slug(w.Show.Name), Tree: w.Tree.Name, TreeID: w.Tree.ID,
		Name: w.Show.Name, On: in.WeekDay(w.Show.On), Look: in.Lower(string(w.Show.Look)), Gives: wording.Sentence(w.Look.Says),
		Rest: in.Say("It rests for good after it."),
	}
	if w.RestUntil.Valid() {
		out.Rest = in.Say("Then it rests, with nothing hard, until about {1}.", in.Day(w.RestUntil))
	}
	for i := range w.Ready {
		out.Ready = append(out.Ready, readinessOf(in, &w.Ready[i]))
	}
	for i := range w.Steps {
		s := stepOf(in, &w.Steps[i])
		out.Steps = append(out.Steps, s)
		for _, c := range in.Cautions(w.Steps[i].Cautions) {
			if !slices.Contains(out.Cautions, c) {
				out.Cautions = append(out.Cautions, c)
			}
		}
	}
	if road != nil {
		out.ahead(in, road)
	}
	return out
}

// ahead adds what the years say of the show.
func (s *ShowWay) ahead(in *wording.Tongue, road *calendar.Roadmap) {
	for i := range road.Shows {
		a := &road.Shows[i]
		if calendar.Slug(a.Name) != s.ID {
			continue
		}
		s.Chance = in.Told(a.Said)
		for _, p := range a.Path {
			s.Path = append(s.Path, wording.Sentence(p.What+": on the deciding way in "+wording.Percent(p.Share)+" of the drawn lives"))
		}
		for _, l := range a.Latest {
			s.Latest = append(s.Latest, in.Told(l.Said))
		}
	}
}

func readinessOf(in *wording.Tongue, c *calendar.Criterion) Readiness {
	out := Readiness{Title: in.Title(c.Title), Says: in.Told(c.Says), Met: c.Status == calendar.Met}
	switch c.Status {
	case calendar.Met:
		out.Status = in.Say("Met")
	case calendar.NotYet:
		out.Status = in.Say("Not yet")
	default:
		out.Status = in.Say("Out of reach")
	}
	switch {
	case out.Met || !c.By.Valid():
	case c.Certainty > 0 && c.Certainty < 1:
		out.By = in.Say("By about {1}, {2}.", in.Day(c.By), in.HowSure(c.Certainty))
	default:
		out.By = in.Say("By about {1}.", in.Day(c.By))
	}
	return out
}

func stepOf(in *wording.Tongue, s *calendar.ShowStep) Step {
	win := &s.Window
	out := Step{Title: in.Title(s.Title), After: s.After, Missed: wording.Sentence(s.TooLate)}
	out.Settled = s.Status != calendar.StepNow && s.Status != calendar.StepToCome
	switch s.Status {
	case calendar.StepDone:
		out.Status, out.Missed = in.Say("Done on {1}", in.Day(s.Done)), ""
		return out
	case calendar.StepSpared:
		out.Status, out.Spared, out.Missed = in.Say("Nothing to do"), in.Told(s.Spared), ""
		return out
	case calendar.StepOver:
		out.Status = in.Say("Too late: it was to be done by {1}.", in.Day(s.Latest))
		return out
	case calendar.StepNow:
		out.Status = in.Say("It is time now")
	default:
		out.Status = in.Say("To come")
	}
	out.When = in.Say("Opens {1}; closes {2}.", in.Spread(win.Opens), in.Spread(win.Closes))
	if win.Opens.P10 == win.Opens.P90 && win.Opens == win.Closes {
		out.When = in.Say("On {1}.", in.WeekDay(win.Opens.P50))
	}
	out.Latest = in.Say("At the latest {1}.", in.Day(s.Latest))
	if l := s.LastChance; l != nil {
		out.Latest += " " + in.Say("The last chance is a later season's window: {1} to {2}.", in.Day(l.Opens.P50), in.Day(l.Closes.P50))
	}
	out.Why = in.Told(s.Why)
	for _, b := range s.Blocked {
		out.Blocked = append(out.Blocked, reason(in, b))
	}
	if len(out.Blocked) > 0 {
		out.Status = in.Say("Not now")
	}
	for _, c := range in.Cautions(s.Cautions) {
		if out.Caution != "" {
			out.Caution += " "
		}
		out.Caution += wording.First(c)
	}
	return out
}
