package calendar

import (
	"bufio"
	"fmt"
	"io"
	"slices"
	"strings"

	"budswell/climate"
)

// textWidth is how wide lines of text are, in characters, where words allow it.
const textWidth = 78

// WriteText writes the plan for people to read in a terminal: for each tree what
// comes next, its works with their days, how sure they are, why, and what stands
// against them, and the cautions of all of them.
func (p *Plan) WriteText(w io.Writer) error {
	t := &texter{w: bufio.NewWriter(w)}
	t.line("", "Plan of %v for %s", p.On, siteName(p.Site))
	t.line("", "Rests on %s.", basisText(p.Basis))
	for _, s := range SupplyText(p.Supply, p.On) {
		t.line("", "%s", s)
	}
	t.line("", "Dates are forecasts: look at the tree first.")
	if len(p.Trees) == 0 {
		t.line("", "There are no trees to plan for.")
	}
	t.water(p.Thirst())
	for i := range p.Trees {
		t.tree(&p.Trees[i])
	}
	for i := range p.Shows {
		t.show(&p.Shows[i])
	}
	if p.Agenda != nil {
		t.agenda(p.Agenda)
	}
	if t.err != nil {
		return t.err
	}
	return t.w.Flush()
}

func siteName(s climate.Site) string {
	at := fmt.Sprintf("%.2f, %.2f, %.0f m", s.Lat, s.Lon, s.Elevation)
	if s.Name == "" {
		return at
	}
	return s.Name + " (" + at + ")"
}

// basisText says what the weather of a plan rests on.
func basisText(b climate.Basis) string {
	var parts []string
	if b.Source != "" {
		parts = append(parts, b.Source)
	}
	if b.Years > 0 {
		parts = append(parts, count(float64(b.Years), "season")+" of records")
	}
	if b.Normals != "" && b.Normals != b.Source {
		parts = append(parts, fmt.Sprintf("its usual year counts %s, that of the %s the rest", percent(b.OwnWeight), b.Normals))
	}
	if s := b.Correction.String(); s != "" {
		parts = append(parts, fmt.Sprintf("the usual year of the %s is %s", b.Normals, s))
	}
	if b.Generated > 0 {
		parts = append(parts, count(float64(b.Generated), "generated season"))
	}
	if n := b.Measured + b.Predicted + b.Interpolated + b.Typical; n > 0 && b.Years > 0 {
		foretold := ""
		if b.Predicted > 0 {
			foretold = fmt.Sprintf("%d foretold, ", b.Predicted)
		}
		parts = append(parts, fmt.Sprintf("of the last %d days %d measured, %s%d interpolated, %d typical for want of better", n, b.Measured, foretold, b.Interpolated, b.Typical))
	}
	if len(parts) == 0 {
		return "the weather given"
	}
	return strings.Join(parts, "; ")
}

type texter struct {
	w   *bufio.Writer
	err error
}

// line writes text broken at blanks, with an indent in front of all its lines.
func (t *texter) line(indent, format string, args ...any) {
	width := -1
	put := func(s string) {
		if _, err := t.w.WriteString(s); t.err == nil {
			t.err = err
		}
	}
	for _, word := range strings.Fields(fmt.Sprintf(format, args...)) {
		n := len([]rune(word))
		switch {
		case width < 0:
			put(indent)
			width = len(indent)
		case width+1+n > textWidth:
			put("\n" + indent)
			width = len(indent)
		default:
			put(" ")
			width++
		}
		put(word)
		width += n
	}
	put("\n")
}

func (t *texter) tree(p *TreePlan) {
	t.line("", "")
	t.line("", "%s (%s), stage %s, %s", p.Tree.Name, p.Species.Name, p.State.Stage, p.State.Strength)
	if p.Bench != nil {
		t.line("  ", "Stands on %s.", p.Bench)
	}
	if p.Notice != "" {
		t.line("  ", "%s", p.Notice)
	}
	t.line("  ", "%s", p.Next)
	for _, s := range p.Sums.Lines() {
		t.line("  ", "%s", s)
	}
	t.flags(p.Flags)
	var cautions []string
	told := map[*Rule]*Planned{}
	for i := range p.Works {
		t.line("", "")
		w := &p.Works[i]
		if was := told[w.Rule]; was != nil && w.Show == nil && !w.Done.Valid() && (len(was.Blocked) == 0 || len(w.Blocked) > 0) {
			t.again(w)
		} else {
			t.work(w)
			if !w.Done.Valid() {
				told[w.Rule] = w
			}
		}
		for _, c := range p.Works[i].Cautions {
			if !slices.Contains(cautions, c) {
				cautions = append(cautions, c)
			}
		}
	}
	if len(cautions) > 0 {
		t.line("", "")
	}
	for _, c := range cautions {
		t.line("    ", "Caution: %s", c)
	}
}

func (t *texter) work(p *Planned) {
	w := &p.Window
	switch {
	case p.Done.Valid():
		t.line("  ", "%s: done on %v", p.Title, p.Done)
		return
	case p.Due.Valid():
		t.line("  ", "%s: due %v, every %d days while the window is open", p.Title, p.Due, p.Rule.Every)
	case p.Show != nil && w.fixed():
		t.line("  ", "%s: %s", p.Title, windowText(w))
		t.reasons(p)
		return
	default:
		t.line("  ", "%s: best about %v, open then with %s", p.Title, w.Likely, percent(w.Certainty))
	}
	if w.AnyTime {
		t.line("    ", "opens  at any time in growth, which does not stop here (counted from %v)", w.Opens.P50)
	} else {
		t.line("    ", "opens  %v (10-90 %%: %v to %v)", w.Opens.P50, w.Opens.P10, w.Opens.P90)
	}
	t.line("    ", "closes %v (10-90 %%: %v to %v)", w.Closes.P50, w.Closes.P10, w.Closes.P90)
	t.reasons(p)
}

// again writes a work that was told of for a season before, without its reasons, which
// are the same.
func (t *texter) again(p *Planned) {
	w := &p.Window
	when := fmt.Sprintf("best about %v, open then with %s", w.Likely, percent(w.Certainty))
	if p.Due.Valid() {
		when = fmt.Sprintf("due %v, every %d days", p.Due, p.Rule.Every)
	}
	t.line("  ", "%s, the next season: %s", p.Title, when)
	t.line("    ", "opens %v, closes %v (10-90 %%: %v to %v, %v to %v)", w.Opens.P50, w.Closes.P50, w.Opens.P10, w.Opens.P90, w.Closes.P10, w.Closes.P90)
	t.blocked(p)
}

// reasons writes what stands against a work, and why its days are these.
func (t *texter) reasons(p *Planned) {
	t.blocked(p)
	t.line("    ", "Why: %s", p.Why)
	if p.SoFar != "" {
		t.line("    ", "So far: %s", p.SoFar)
	}
}

// blocked writes what stands against a work.
func (t *texter) blocked(p *Planned) {
	for _, b := range p.Blocked {
		if b.Until.Valid() && !strings.Contains(b.Reason, "until about") {
			t.line("    ", "Not before about %v: %s.", b.Until, b.Reason)
		} else {
			t.line("    ", "Not now: %s.", b.Reason)
		}
	}
}
