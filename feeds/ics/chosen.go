package ics

import (
	"fmt"

	"budswell/calendar"
	"budswell/feeds/wording"
)

// choice is what an agenda says of a work: the days chosen for it, one but for
// repeated work, or that it waits. Where there is no agenda it says nothing.
type choice struct {
	days  []calendar.Chosen
	waits *calendar.Waiting // of several times, the costliest to miss
}

// choices are those of a plan's works, by tree and key.
type choices map[[2]string]choice

func choicesOf(a *calendar.Agenda) choices {
	if a == nil {
		return nil
	}
	out := choices{}
	for i := range a.Days {
		for _, c := range a.Days[i].Works {
			k := [2]string{c.Tree.Tree.ID, c.Work.Key}
			v := out[k]
			v.days = append(v.days, c)
			out[k] = v
		}
	}
	for i := range a.Waiting {
		w := &a.Waiting[i]
		k := [2]string{w.Tree.Tree.ID, w.Work.Key}
		if v := out[k]; v.waits == nil {
			v.waits = w
			out[k] = v
		}
	}
	return out
}

// waiting reports whether no day was found for the work at all.
func (c choice) waiting() bool { return len(c.days) == 0 && c.waits != nil }

// noDay ends the summary of a work that waits.
const noDay = " (no day for it yet)"

// chosen says which day was chosen for a work, or why none was.
func (b *paragraphs) chosen(w *calendar.Planned, c choice) {
	switch {
	case len(c.days) > 0:
		day := &c.days[0]
		b.add("Chosen for you", wording.WeekDay(day.Day)+"; the window is open that day: "+wording.HowSure(day.Chance))
		if day.GivesWay() {
			b.add("", "The best day would be "+wording.WeekDay(day.Best)+", "+wording.HowSure(day.BestChance)+"; it does not fit into your hours.")
		}
		b.add("", "It stands on that day because you told your hours. This is its whole window.")
	case c.waits != nil:
		b.add("No day was found for it", c.waits.Reason)
		if w.Rule != nil && w.Rule.Every > 0 {
			b.add("", fmt.Sprintf("It comes again every %s.", wording.Count(w.Rule.Every, "day")))
		} else {
			b.add("", "Not to do it risks "+c.waits.Risk()+".")
		}
		b.add("", "More hours would help. This is its whole window.")
	}
}
