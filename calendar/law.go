package calendar

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"budswell/climate"
)

// law is something that holds for all work, whatever its rule says (common
// practice, no published source): it says what it has against a work.
type law func(b *bench, c *candidate) objection

var laws = []law{rarely, weak, unrested, oncePerSeason, unrepotted, notYetDug}

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
		if o != c && o.day <= c.day && !b.planner.growth.Passed(o.day, c.day, o.Rule.Rest) {
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

// judge finds what stands against each work. Hard works take their turns first:
// those that bring the tree on its way, then those on the part that has rested
// longest, then the earlier. One that must give way says to which.
func (b *bench) judge() {
	var hard []*candidate
	for _, c := range b.works {
		if c.Work.Hard != HardOnNothing && !c.Done.Valid() {
			hard = append(hard, c)
		}
	}
	slices.SortStableFunc(hard, func(x, y *candidate) int {
		return cmp.Or(cmp.Compare(b.turn(x), b.turn(y)),
			cmp.Compare(b.lastHardOn(x.Work.Hard), b.lastHardOn(y.Work.Hard)), cmp.Compare(x.day, y.day))
	})
	for _, c := range hard {
		if b.again(c, b.chosen) {
			continue
		}
		c.Blocked = b.against(c)
		if len(c.Blocked) == 0 {
			c.Blocked = blocks([]objection{b.givesWay(c)})
		}
		if free, ok := c.free(); ok && c.Window.Closes.P50 >= b.planner.outlook.Issue {
			c.day = max(c.day, free)
			b.chosen = append(b.chosen, c)
			slices.SortStableFunc(b.chosen, func(x, y *candidate) int { return cmp.Compare(x.day, y.day) })
		}
	}
	for _, c := range b.works {
		if c.Work.Hard != HardOnNothing || c.Done.Valid() {
			continue
		}
		c.Blocked = b.against(c)
		if free, ok := c.free(); ok && c.Due.Valid() && free > c.Due {
			b.schedule(c, free)
		}
	}
	planned := slices.Clone(b.works)
	b.works = slices.DeleteFunc(b.works, func(c *candidate) bool { return b.again(c, planned) })
}

// again reports whether a work that a tree gets once in its life, or that takes
// away the field soil which it asks for, is planned already, on an earlier day.
func (b *bench) again(c *candidate, planned []*candidate) bool {
	uses := slices.ContainsFunc(c.Rule.Needs, func(n Need) bool { return n.FieldSoil != nil && *n.FieldSoil })
	return (c.Rule.Once || uses) && slices.ContainsFunc(planned, func(o *candidate) bool {
		_, free := o.free()
		return (o.Rule == c.Rule || c.Rule.Once && o.Work == c.Work) && o.day < c.day && free && o.Window.Closes.P50 >= b.planner.outlook.Issue
	})
}

// free returns the day from which nothing stands against c any more, and false
// when that is not within its window.
func (c *candidate) free() (climate.Date, bool) {
	free := c.Window.Opens.P10
	for _, bl := range c.Blocked {
		if !bl.Until.Valid() || bl.Until > c.Window.Closes.P50 {
			return climate.NoDate, false
		}
		free = max(free, bl.Until)
	}
	return free, true
}

// givesWay says that a hard work would stand in the way of one that was chosen
// with more right and comes after it.
func (b *bench) givesWay(c *candidate) objection {
	for _, o := range b.chosen {
		if c.day <= o.day && !b.planner.growth.Passed(c.day, o.day, c.Rule.Rest) {
			return objection{
				reason: fmt.Sprintf("%s about %v goes first, and the tree would still rest from this", o.Title, o.day),
				until:  climate.NoDate,
			}
		}
	}
	return objection{}
}

// turn is 0 for the hard work that brings a tree to its next stage, 1 for all
// others.
func (b *bench) turn(c *candidate) int {
	var leads string
	switch c.state.Stage {
	case StageCollected, StageRecovering, StageBaseWork:
		leads = WorkRepot
	case StageFirstStyling:
		leads = WorkFirstStyle
	case StageBuilding:
		if b.state.FieldSoil > 0 {
			leads = WorkRepot
		}
	case StageSecondStyling:
		leads = WorkSecondStyle
	case StageRefining:
		leads = WorkPotChange
	}
	if c.Work.ID == leads {
		return 0
	}
	return 1
}

// lastHardOn returns when work hard on a part was last done, before all days
// where never.
func (b *bench) lastHardOn(part Hard) climate.Date {
	for _, d := range slices.Backward(b.history.done) {
		if d.work.Hard == part {
			return d.on
		}
	}
	return beforeAll
}
