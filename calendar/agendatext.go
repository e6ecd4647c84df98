package calendar

import (
	"cmp"
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
	t.urgent(a)
	t.days(a)
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

// roundsShown is for how many days ahead days are written that hold nothing but work
// that comes again and again.
const roundsShown = 56

// days writes the days.
func (t *texter) days(a *Agenda) {
	left, minutes := 0, 0
	for i := range a.Days {
		d := &a.Days[i]
		if d.Day > a.On+roundsShown && !slices.ContainsFunc(d.Works, func(c Chosen) bool { return c.Work.Rule.Every == 0 }) {
			left, minutes = left+1, minutes+d.Minutes
			continue
		}
		t.day(d)
	}
	if left > 0 {
		t.line("", "")
		t.line("", "Left out here: %s after %v, %s in all, with nothing but work that comes again and again.", count(float64(left), "day"), a.On+roundsShown, longText(minutes))
	}
}

func (t *texter) day(d *AgendaDay) {
	t.line("", "")
	t.line("", "%s: %s of %s; %s likely right", dayName(d.Day), longText(d.Minutes), longText(d.Free), percent(d.Chance))
	var round []string
	minutes := 0
	for i := 0; i < len(d.Works); {
		w := d.Works[i].Work
		from := i
		for ; i < len(d.Works) && d.Works[i].Work.Title == w.Title; i++ {
			if w.Rule.Every > 0 {
				minutes += d.Works[i].Minutes
			}
		}
		if w.Rule.Every > 0 {
			round = append(round, lower(w.Title)+": "+roundTrees(d.Works[from:i]))
			continue
		}
		var trees []string
		for k := range d.Works[from:i] {
			trees = append(trees, d.Works[from+k].text())
		}
		t.line("  ", "%s: %s", w.Title, strings.Join(trees, ", "))
	}
	if len(round) > 0 {
		t.line("  ", "Round of the trees, %s: %s", longText(minutes), strings.Join(round, "; "))
	}
	if d.SetUp > 0 {
		t.line("  ", "Setting up: %s", longText(d.SetUp))
	}
}

// roundTrees names the trees of a light work, or tells how many they are.
func roundTrees(works []Chosen) string {
	const named = 4
	if len(works) > named {
		return count(float64(len(works)), "tree")
	}
	trees := make([]string, len(works))
	for i := range works {
		trees[i] = works[i].text()
	}
	return strings.Join(trees, ", ")
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

// waits is works of a kind that wait in one way: in one season, or again and again.
type waits struct {
	Waiting
	trees []string // each once
	times int
	last  climate.Date // from which the last of repeated ones waits

	until climate.Date // the last best day of single ones, Best the first
	least float64      // chance on their best days, Chance the most
}

// alike puts waiting works together that are told in one sentence.
func alike(all []Waiting) []waits {
	var out []waits
	for i := range all {
		w := &all[i]
		at := slices.IndexFunc(out, func(k waits) bool {
			return k.Work.Title == w.Work.Title && k.Reason == w.Reason && k.Work.Rule.Every == w.Work.Rule.Every &&
				(k.Work.Rule.Every > 0 || k.Work.Season == w.Work.Season && k.Cost == w.Cost)
		})
		if at < 0 {
			at = len(out)
			out = append(out, waits{Waiting: *w, last: w.From, until: w.Best, least: w.Chance})
		}
		out[at].add(w)
	}
	return out
}

// add puts a work to those that wait in the same way.
func (k *waits) add(w *Waiting) {
	k.times++
	k.From, k.last = min(k.From, w.From), max(k.last, w.From)
	k.Best, k.until = min(k.Best, w.Best), max(k.until, w.Best)
	k.Chance, k.least = max(k.Chance, w.Chance), min(k.least, w.Chance)
	if name := w.Tree.Tree.Name; !slices.Contains(k.trees, name) {
		k.trees = append(k.trees, name)
	}
}

// urgent says what is to be done though no day has the hours for it: what of a kind comes
// in one season in one sentence, by day.
func (t *texter) urgent(a *Agenda) {
	var out []waits
	for i := range a.Waiting {
		w := &a.Waiting[i]
		if !w.Urgent() {
			continue
		}
		at := slices.IndexFunc(out, func(k waits) bool { return k.Work.Title == w.Work.Title && k.Work.Season == w.Work.Season })
		if at < 0 {
			at = len(out)
			out = append(out, waits{Waiting: *w, last: w.From, until: w.Best, least: w.Chance})
		}
		out[at].add(w)
	}
	if len(out) == 0 {
		return
	}
	slices.SortStableFunc(out, func(x, y waits) int { return cmp.Compare(x.Best, y.Best) })
	t.line("", "")
	t.line("", "What cannot wait, though there are no hours for it: make the time, or ask somebody who is there")
	for i := range out {
		t.line("  ", "%s: %s, best %s", out[i].Work.Title, out[i].names(), out[i].best())
	}
}

// names names the trees, of many the first.
func (w *waits) names() string {
	const named = 6
	if n := len(w.trees); n > named {
		return strings.Join(w.trees[:named], ", ") + fmt.Sprintf(" and %d more", n-named)
	}
	return strings.Join(w.trees, ", ")
}

// mostWaits is of how many waits is told; there are more where hours are short, and
// those that cost little would drown the others.
const mostWaits = 12

// waiting says who waits, and what that risks; the costliest first.
func (t *texter) waiting(a *Agenda) {
	all := alike(slices.DeleteFunc(slices.Clone(a.Waiting), func(w Waiting) bool { return w.Urgent() }))
	if len(all) == 0 {
		return
	}
	t.line("", "")
	t.line("", "Who waits")
	told := ""
	for i := range all[:min(mostWaits, len(all))] {
		w := &all[i]
		if every := w.Work.Rule.Every; every > 0 {
			t.line("  ", "%s: %s, %s: %s. It comes again every %d days.", w.Work.Title, w.names(), w.span(), w.Reason, every)
			continue
		}
		t.line("  ", "%s: %s, best %s, but %s. %s risks %s.", w.Work.Title, w.names(), w.best(), w.Reason, w.that(), w.Risk())
		if w.Advice != "" && w.Advice != told {
			t.line("    ", "%s", w.Advice)
			told = w.Advice
		}
	}
	if more := all[min(mostWaits, len(all)):]; len(more) > 0 {
		times := 0
		for i := range more {
			times += more[i].times
		}
		t.line("  ", "and %d more, that cost less to miss.", times)
	}
}

// best says on which days the works would be best, and how sure that is.
func (w *waits) best() string {
	if w.Best == w.until {
		return fmt.Sprintf("on %v (%s)", w.Best, percent(w.Chance))
	}
	if a, b := percent(w.least), percent(w.Chance); a != b {
		return fmt.Sprintf("from %v to %v (%s to %s)", w.Best, w.until, a, b)
	}
	return fmt.Sprintf("from %v to %v (%s)", w.Best, w.until, percent(w.Chance))
}

func (w *waits) that() string {
	if w.times > 1 {
		return "Each"
	}
	return "That"
}

// span says how often a repeated work waits, and when.
func (w *waits) span() string {
	if w.times == 1 {
		return fmt.Sprintf("once, from %v", w.From)
	}
	return fmt.Sprintf("%d times, from %v to %v", w.times, w.From, w.last)
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
