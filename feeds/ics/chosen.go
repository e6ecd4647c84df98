package ics

import (
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

// chosen says which day was chosen for a work, or why none was.
func (b *paragraphs) chosen(w *calendar.Planned, c choice) {
	in := b.in
	switch {
	case len(c.days) > 0:
		day := &c.days[0]
		b.add("Chosen for you", in.Say("{1}; the window is open that day: {2}", in.WeekDay(day.Day), in.HowSure(day.Chance)))
		if day.GivesWay() {
			b.add("", in.Say("The best day would be {1}, {2}; it does not fit into your hours.", in.WeekDay(day.Best), in.HowSure(day.BestChance)))
		}
		b.add("", in.Say("It stands on that day because you told your hours. This is its whole window."))
	case c.waits != nil:
		b.add("No day was found for it", b.in.Told(c.waits.Reason))
		if w.Rule != nil && w.Rule.Every > 0 {
			b.add("", in.Say("It comes again every {1}.", wording.Amount{N: w.Rule.Every, Thing: "day"}))
		} else {
			b.add("", in.Say("Not to do it risks {1}.", c.waits.Risk()))
		}
		b.add("", in.Say("More hours would help. This is its whole window."))
	}
}
