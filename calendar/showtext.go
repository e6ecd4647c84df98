package calendar

import (
	"fmt"
	"slices"
	"strings"

	"budswell/climate"
)

// show writes the way of a tree to a show.
func (t *texter) show(p *ShowPlan) {
	t.line("", "")
	t.line("", "Show %s on %v: %s (%s), %s", p.Show.Name, p.Show.On, p.Tree.Name, p.Species.Name, p.Show.Look.Words())
	t.line("  ", "%s", p.Look.Says)
	t.line("", "")
	t.line("  ", "The way there:")
	after := false
	for i := range p.Steps {
		s := &p.Steps[i]
		if s.After && !after {
			t.line("", "")
			t.line("  ", "And after it:")
			after = true
		}
		t.step(s)
	}
	if p.RestUntil.Valid() {
		t.line("  ", "Rest, with nothing hard, until about %v.", p.RestUntil)
	}
	t.line("", "")
	t.line("  ", "How ready it is:")
	for _, c := range p.Ready {
		t.line("    ", "%s: %s", c.Status.words(), c.text())
	}
	t.line("", "")
	var cautions []string
	for i := range p.Steps {
		for _, c := range p.Steps[i].Cautions {
			if !slices.Contains(cautions, c) {
				cautions = append(cautions, c)
				t.line("    ", "Caution: %s", c)
			}
		}
	}
}

func (r Readiness) words() string {
	switch r {
	case Met:
		return "Met"
	case NotYet:
		return "Not yet"
	}
	return "Out of reach"
}

func (c *Criterion) text() string {
	s := fmt.Sprintf("%s: %s", lower(c.Title), c.Says)
	switch {
	case !c.By.Valid():
	case c.Certainty == 1:
		s += fmt.Sprintf(" (by about %v)", c.By)
	case c.Certainty > 0:
		s += fmt.Sprintf(" (by about %v, %s sure)", c.By, percent(c.Certainty))
	}
	return stopped(s)
}

// stopped returns s with a full stop at its end.
func stopped(s string) string {
	if s != "" && s[len(s)-1] != '.' {
		s += "."
	}
	return s
}

// step writes one work on the way to a show.
func (t *texter) step(s *ShowStep) {
	switch s.Status {
	case StepDone:
		t.line("    ", "%s: done on %v", s.Title, s.Done)
		return
	case StepSpared:
		t.line("    ", "%s: nothing to do, %s", s.Title, s.Spared)
		return
	case StepOver:
		t.line("    ", "%s: too late, it was to be done by %v", s.Title, s.Latest)
		t.line("      ", "%s", s.TooLate)
		return
	}
	latest := ""
	if !s.Window.fixed() || s.LastChance != nil {
		latest = fmt.Sprintf(", at the latest %v", s.Latest)
	}
	t.line("    ", "%s: %s%s", s.Title, windowText(&s.Window), latest)
	if s.Status == StepNow && len(s.Blocked) == 0 {
		t.line("      ", "It is time now.")
	}
	if w := s.LastChance; w != nil {
		t.line("      ", "Or a season later, the last chance: %s.", windowText(w))
	}
	for _, b := range s.Blocked {
		if b.Until.Valid() {
			t.line("      ", "Not before about %v: %s.", b.Until, b.Reason)
		} else {
			t.line("      ", "Not now: %s.", b.Reason)
		}
	}
	if s.Rule.Every > 0 {
		t.line("      ", "Every %d days.", s.Rule.Every)
	}
	t.line("      ", "Why: %s", strings.ReplaceAll(s.Why, " "+s.Show.reason()+".", ""))
	if s.Rule.Not != "" {
		t.line("      ", "Not: %s", s.Rule.Not)
	}
	if s.TooLate != "" {
		t.line("      ", "When missed: %s", s.TooLate)
	}
}

// fixed reports whether the days of a window are known.
func (w *Window) fixed() bool {
	return w.Chance == 1 && w.Opens.P10 == w.Opens.P90 && w.Closes.P10 == w.Closes.P90
}

// windowText writes the days of a window, with how sure they are.
func windowText(w *Window) string {
	end := func(s climate.Spread) string {
		if s.P10 == s.P90 {
			return s.P50.String()
		}
		return fmt.Sprintf("%v (10-90 %%: %v to %v)", s.P50, s.P10, s.P90)
	}
	s := fmt.Sprintf("from %s to %s", end(w.Opens), end(w.Closes))
	if w.Opens == w.Closes && w.Opens.P10 == w.Opens.P90 {
		s = fmt.Sprintf("on %v", w.Opens.P50)
	}
	if w.Chance < 0.95 {
		s += fmt.Sprintf(", in %.0f of 100 years", 100*w.Chance)
	}
	return s
}

// flags writes what was done against the rules.
func (t *texter) flags(flags []Flag) {
	for i := range flags {
		f := &flags[i]
		t.line("  ", "In the log, %v, %s: %s. What it means: %s.", f.On, lower(f.Work.Title), f.Reason, f.Means)
	}
}
