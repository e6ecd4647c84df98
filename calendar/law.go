package calendar

import (
	"fmt"
	"math"

	"budswell/climate"
)

// law is something that holds for all work, whatever its rule says (common
// practice, no published source): it says what it has against a work.
type law func(b *bench, c *candidate) objection

var laws = []law{closed, rarely, weak, unrested, oncePerSeason, unrepotted, notYetDug, spoilsShow}

// rarely: a window that comes in fewer than half of the years is none to plan
// on. Protection and health are for the years in which it does come.
func rarely(b *bench, c *candidate) objection {
	const worth = 0.5
	if c.Window.Chance >= worth || c.Work.Class == Protection || c.Work.Class == Health {
		return objection{}
	}
	return objection{
		reason: fmt.Sprintf("this place rarely gives the days for it: in %.0f of 100 years", math.Floor(100*c.Window.Chance)),
		until:  climate.NoDate,
	}
}

// closed: what was not done in its window is over. Protection is not: better late
// than never.
func closed(b *bench, c *candidate) objection {
	end := c.Window.Closes.P50
	if end >= b.planner.outlook.Issue || c.Work.Class == Protection {
		return objection{}
	}
	return objection{reason: fmt.Sprintf("its window most likely closed about %v", end), until: climate.NoDate}
}

// weak: weak trees get nothing hard.
func weak(_ *bench, c *candidate) objection {
	if c.Work.Hard == HardOnNothing || c.state.Strength != Weak {
		return objection{}
	}
	return objection{reason: "the tree is weak: nothing hard; feed, wait, and judge it anew", until: climate.NoDate}
}

// unrested: after hard work, and after being dug, a tree rests from it.
func unrested(b *bench, c *candidate) objection {
	if c.Work.Hard == HardOnNothing {
		return objection{}
	}
	if d, _ := b.history.rest(c.day); d != nil {
		return b.resting(d.work, d.on, "done on "+d.on.String(), d.rest)
	}
	for _, o := range b.chosen {
		if o != c && o.day <= c.day && !b.history.growth.Passed(o.day, c.day, o.Rule.Rest) {
			return b.resting(o.Work, o.day, "planned about "+o.day.String(), o.Rule.Rest)
		}
	}
	return objection{}
}

// notYetDug: of a dug tree whose log does not say when, the first entry stands
// for the day.
func notYetDug(b *bench, c *candidate) objection {
	h := b.history
	if c.Work.Hard == HardOnNothing || c.Work.ID == WorkCollect || !b.tree.Origin.dug() ||
		h.last(WorkCollect, beforeAll).Valid() || h.settled(c.day) || c.state.Strength == Strong {
		return objection{}
	}
	return b.tooWeak(Recovering, Strong)
}

// oncePerSeason: a tree gets one hard work a season.
func oncePerSeason(b *bench, c *candidate) objection {
	if c.Work.Hard == HardOnNothing {
		return objection{}
	}
	return b.sameSeason(AnyHard, c, "is this season's one hard work")
}

// unrepotted: a dug tree is not styled before it was repotted.
func unrepotted(b *bench, c *candidate) objection {
	styling := c.Work.Hard == HardOnBranches || c.Work.ID == WorkWire
	if !styling || !b.tree.Origin.dug() || b.history.repotted() {
		return objection{}
	}
	return objection{reason: "no styling before the first repot since it was dug" + b.planned(WorkRepot), until: climate.NoDate}
}
