package calendar

import (
	"bufio"
	"fmt"
	"io"
	"text/tabwriter"

	"budswell/climate"
)

// WriteText writes the difference as people read it.
func (d *Difference) WriteText(w io.Writer) error {
	t := texter{w: bufio.NewWriter(w)}
	if len(d.Trees) == 0 {
		t.line("", "Nothing changes for these trees.")
	}
	for i := range d.Trees {
		t.difference(&d.Trees[i])
	}
	if t.err != nil {
		return t.err
	}
	return t.w.Flush()
}

func (t *texter) difference(d *TreeDifference) {
	plan := d.After
	if plan == nil {
		plan = d.Before
	}
	t.line("", "%s (%s)", plan.Tree.Name, plan.Species.Name)
	for i := range d.Works {
		w := &d.Works[i]
		is := w.Work()
		title := fmt.Sprintf("%s, season %d", is.Title, is.Season)
		switch {
		case w.Before == nil:
			t.line("  ", "Comes: %s", title)
		case w.After == nil:
			t.line("  ", "Goes: %s", title)
		case w.Moves():
			t.line("  ", "Moves: %s", title)
		default:
			t.line("  ", "Stays on its days: %s", title)
		}
		t.line("    ", "rule %s", is.Rule.ID)
		if w.Before == nil || w.After == nil || w.Moves() {
			t.spans(w.Before, w.After)
		}
		switch {
		case w.Before == nil && len(is.Blocked) > 0:
			t.line("    ", "It waits: %s.", is.Blocked[0].Reason)
		case w.Blocks():
			t.line("    ", "Waits from now on: %s.", is.Blocked[0].Reason)
		case w.Frees():
			t.line("    ", "No longer waits: %s.", w.Before.Blocked[0].Reason)
		}
		for _, c := range w.Warns() {
			t.line("    ", "Caution from now on: %s", c)
		}
		for _, c := range w.Unwarns() {
			t.line("    ", "No longer said: %s", c)
		}
		if w.Says() {
			t.line("    ", "What is said of it changes: %s, %d minutes.", w.After.Title, w.After.Rule.Minutes)
		}
	}
	t.line("", "")
}

// spans writes the days of a window before and after as a table; nil: there was, or will
// be, none.
func (t *texter) spans(before, after *Planned) {
	w := tabwriter.NewWriter(t.w, 0, 0, 2, ' ', 0)
	row := func(p *Planned, head string) {
		if p == nil {
			return
		}
		if p.Due.Valid() {
			fmt.Fprintf(w, "    %s\tdue %v\tevery %d days\n", head, p.Due, p.Rule.Every)
			return
		}
		fmt.Fprintf(w, "    %s\topens %s\tcloses %s\tlikely %v\n", head, days(p.Window.Opens), days(p.Window.Closes), p.Window.Likely)
	}
	row(before, "from")
	row(after, "to")
	if err := w.Flush(); err != nil && t.err == nil {
		t.err = err
	}
}

// days writes the 10, 50 and 90 % days of a spread.
func days(s climate.Spread) string {
	if s.P10 == s.P90 {
		return s.P50.String()
	}
	return fmt.Sprintf("%v (%v to %v)", s.P50, s.P10, s.P90)
}
