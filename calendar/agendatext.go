package calendar

import (
	"fmt"
	"slices"
	"strings"

	"budswell/climate"
)

// What people are told of more time.
const (
	moreDays    = 3   // the days on which it would help most
	moreWithin  = 120 // of the next so many
	moreMinutes = 120 // on each of them
	moreMoves   = 4   // works that would move, for each
)

// agenda writes who fits into which day, who waits, and what more time would bring.
func (t *texter) agenda(a *Agenda) {
	t.line("", "")
	t.line("", "Who fits into which day")
	switch {
	case len(a.Days) > 0:
	case len(a.Waiting) > 0:
		t.line("  ", "Nothing is done: there are no hours for it.")
	default:
		t.line("  ", "No work wants a day.")
	}
	for i := range a.Days {
		t.day(&a.Days[i])
	}
	t.waiting(a)
	t.more(a)
	switch {
	case len(a.Days) == 0:
	case a.Gap == 0:
		t.line("", "")
		t.line("", "No other choice of days saves more.")
	default:
		t.line("", "")
		t.line("", "No other choice of days saves more than %s beyond this one.", percentOf(a.Gap, a.Worth+a.Gap))
	}
}

// percentOf writes a small share.
func percentOf(part, whole float64) string {
	if p := 100 * part / whole; p >= 0.1 {
		return fmt.Sprintf("%.1f %%", p)
	}
	return "0.1 %"
}

func dayName(d climate.Date) string { return d.Weekday().String()[:3] + " " + d.String() }

func (t *texter) day(d *AgendaDay) {
	t.line("", "")
	t.line("", "%s: %s of %s; %s likely right", dayName(d.Day), longText(d.Minutes), longText(d.Free), percent(d.Chance))
	for i := 0; i < len(d.Works); {
		title := d.Works[i].Work.Title
		var trees []string
		for ; i < len(d.Works) && d.Works[i].Work.Title == title; i++ {
			trees = append(trees, d.Works[i].text())
		}
		t.line("  ", "%s: %s", title, strings.Join(trees, ", "))
	}
	if d.SetUp > 0 {
		t.line("  ", "Setting up: %s", longText(d.SetUp))
	}
}

// text names the tree, and says what is out of the ordinary.
func (c *Chosen) text() string {
	var more []string
	if c.Work.Rule.Every == 0 {
		more = append(more, percent(c.Chance))
	}
	if c.GivesWay() {
		more = append(more, fmt.Sprintf("best on %v, %s", c.Best, percent(c.BestChance)))
	}
	switch {
	case c.Missed:
		more = append(more, fmt.Sprintf("missed on %v", c.Promised))
	case c.Moved():
		more = append(more, fmt.Sprintf("moved from %v", c.Promised))
	}
	if len(more) == 0 {
		return c.Tree.Tree.Name
	}
	return c.Tree.Tree.Name + " (" + strings.Join(more, "; ") + ")"
}

// waits is works that wait in one way: single ones with the same best day, or
// repeated ones of a kind.
type waits struct {
	Waiting
	trees []string // each once
	times int
	last  climate.Date
}

// alike puts waiting works together that are told in one sentence.
func alike(all []Waiting) []waits {
	var out []waits
	for i := range all {
		w := &all[i]
		at := slices.IndexFunc(out, func(k waits) bool {
			return k.Work.Title == w.Work.Title && k.Reason == w.Reason && k.Work.Rule.Every == w.Work.Rule.Every &&
				(k.Work.Rule.Every > 0 || k.Best == w.Best && k.Cost == w.Cost && k.Chance == w.Chance)
		})
		if at < 0 {
			at = len(out)
			out = append(out, waits{Waiting: *w, last: w.From})
		}
		k := &out[at]
		k.times++
		k.From, k.last = min(k.From, w.From), max(k.last, w.From)
		if name := w.Tree.Tree.Name; !slices.Contains(k.trees, name) {
			k.trees = append(k.trees, name)
		}
	}
	return out
}

// waiting says who waits, and what that risks.
func (t *texter) waiting(a *Agenda) {
	if len(a.Waiting) == 0 {
		return
	}
	t.line("", "")
	t.line("", "Who waits")
	for _, w := range alike(a.Waiting) {
		const named = 6
		trees := strings.Join(w.trees, ", ")
		if n := len(w.trees); n > named {
			trees = strings.Join(w.trees[:named], ", ") + fmt.Sprintf(" and %d more", n-named)
		}
		if every := w.Work.Rule.Every; every > 0 {
			t.line("  ", "%s: %s, %s, from %v to %v: %s. It comes again every %d days.", w.Work.Title, trees, count(float64(w.times), "time"), w.From, w.last, w.Reason, every)
			continue
		}
		t.line("  ", "%s: %s, best on %v (%s), but %s. That risks %s.", w.Work.Title, trees, w.Best, percent(w.Chance), w.Reason, w.Risk())
	}
}

// Risk says in words what is lost if the work is not done.
func (w *Waiting) Risk() string {
	switch c := w.Cost; {
	case c > 400:
		return fmt.Sprintf("%.0f years of its road, if not the tree", c/365)
	case c > 300:
		return "a year of its road: the window comes once a season"
	case c >= 60:
		return fmt.Sprintf("about %.0f months of its road", c/30.4)
	case c >= 14:
		return fmt.Sprintf("about %.0f weeks of its road", c/7)
	}
	return "a few days of its road"
}

// more says what more time would bring on the days on which it would help most.
func (t *texter) more(a *Agenda) {
	for _, d := range a.Scarce(moreDays, moreWithin) {
		m := a.More(d, moreMinutes)
		t.line("", "")
		if len(m.Moves) == 0 {
			t.line("", "With %s more on %s nothing would move.", longText(m.Minutes), dayName(m.Day))
			continue
		}
		t.line("", "With %s more on %s:", longText(m.Minutes), dayName(m.Day))
		for i := range m.Moves[:min(moreMoves, len(m.Moves))] {
			t.line("  ", "%s", m.Moves[i].text())
		}
		if n := len(m.Moves) - moreMoves; n > 0 {
			t.line("  ", "and %d more", n)
		}
	}
}

func (m *Move) text() string {
	what := m.Work.Title + ", " + m.Tree.Tree.Name
	switch {
	case !m.From.Valid():
		return fmt.Sprintf("%s would be done on %s, %s likely right, rather than wait.", what, dayName(m.Day), percent(m.Chance))
	case !m.Day.Valid():
		return fmt.Sprintf("%s would give way and wait.", what)
	}
	return fmt.Sprintf("%s would move from %v to %v (%s, then %s).", what, m.From, m.Day, percent(m.FromChance), percent(m.Chance))
}

// longText writes minutes as people do: "3 h 10 min".
func longText(minutes int) string {
	switch h, m := minutes/60, minutes%60; {
	case h == 0:
		return fmt.Sprintf("%d min", m)
	case m == 0:
		return fmt.Sprintf("%d h", h)
	default:
		return fmt.Sprintf("%d h %d min", h, m)
	}
}
