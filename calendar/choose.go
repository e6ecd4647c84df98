package calendar

import (
	"cmp"
	"fmt"
	"slices"

	"budswell/climate"
)

// judge finds what stands against each work. Hard works take their turns first;
// one that must give way says to which.
func (b *bench) judge() {
	b.choose()
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

// choose picks the hard works that the plan reckons with, one after the other,
// since what was chosen moves the turns of the others; then it says of those that
// were not chosen why.
func (b *bench) choose() {
	var hard, left []*candidate
	for _, c := range b.works {
		if c.Work.Hard != HardOnNothing && !c.Done.Valid() {
			hard = append(hard, c)
		}
	}
	dropped := map[*candidate]bool{}
	for len(hard) > 0 {
		c := slices.MinFunc(hard, b.byRight)
		hard = slices.DeleteFunc(hard, func(o *candidate) bool { return o == c })
		if b.again(c, b.chosen) {
			continue
		}
		c.Blocked = b.blocks(c)
		free, ok := c.free()
		if !ok || c.Window.Closes.P50 < b.planner.outlook.Issue || dropped[c] {
			left = append(left, c)
			continue
		}
		c.day = max(c.day, free)
		b.chosen = append(b.chosen, c)
		slices.SortStableFunc(b.chosen, func(x, y *candidate) int { return cmp.Compare(x.day, y.day) })
		if o := b.spoilt(c); o != nil {
			b.chosen = slices.DeleteFunc(b.chosen, func(x *candidate) bool { return x == o })
			dropped[o] = true
			hard, left = append(append(hard, left...), o), nil
		}
	}
	for _, c := range left {
		c.Blocked = b.blocks(c)
	}
}

// byRight orders hard works by their right to a season: those that bring the tree
// on its way, then a repot that is overdue, then those on the part that has rested
// longest, then the earlier. That is common practice, no published source.
func (b *bench) byRight(x, y *candidate) int {
	return cmp.Or(
		cmp.Compare(b.turn(x), b.turn(y)),
		cmp.Compare(b.lastHardOn(x.Work.Hard), b.lastHardOn(y.Work.Hard)),
		cmp.Compare(x.day, y.day),
	)
}

// spoilt returns a work that was chosen for a later day than c and is not free any
// more with c before it, such as the next repot after this one; nil if there is none.
func (b *bench) spoilt(c *candidate) *candidate {
	for _, o := range b.chosen {
		if o.day <= c.day {
			continue
		}
		was := o.Blocked
		o.Blocked = b.against(o)
		if _, ok := o.free(); !ok {
			return o
		}
		o.Blocked = was
	}
	return nil
}

// blocks is against, and what is chosen for a later day besides.
func (b *bench) blocks(c *candidate) []Block {
	if found := b.against(c); len(found) > 0 {
		return found
	}
	return blocks([]objection{b.givesWay(c)})
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

// free returns the day from which nothing stands against a work any more, and
// false when that is not within its window.
func (p *Planned) free() (climate.Date, bool) {
	free := p.Window.Opens.P10
	for _, bl := range p.Blocked {
		if !bl.Until.Valid() || bl.Until > p.Window.Closes.P50 {
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
		if o != c && c.day <= o.day && !b.history.growth.Passed(c.day, o.day, c.Rule.Rest) {
			return objection{
				reason: fmt.Sprintf("%s about %v goes first, and the tree would still rest from this", o.Title, o.day),
				until:  climate.NoDate,
			}
		}
	}
	return objection{}
}

// turn is 0 for the hard work that brings a tree to its next stage or to a show, 1 for a repot
// that is overdue, 2 for all others.
func (b *bench) turn(c *candidate) int {
	switch {
	case c.Work.ID == b.leads(c.state.Stage), c.Show != nil:
		return 0
	case b.overdue(c):
		return 1
	}
	return 2
}

// leads returns the hard work that brings a tree at a stage to the next one. No
// tree goes on with field soil at its roots.
func (b *bench) leads(at Stage) string {
	switch at {
	case StageCollected, StageRecovering, StageBaseWork:
		return WorkRepot
	case StageFirstStyling:
		return WorkFirstStyle
	case StageBuilding, StageSecondStyling, StageRefining:
		if b.state.FieldSoil > 0 {
			return WorkRepot
		}
	}
	switch at {
	case StageSecondStyling:
		return WorkSecondStyle
	case StageRefining:
		return WorkPotChange
	}
	return ""
}

// overdueSeasons is how many growing seasons beyond the time of its rule a repot
// may wait for other hard work (common practice, no published source).
const overdueSeasons = 1

// overdue reports whether c is a repot that has waited longer than it may: since
// root work was last done or chosen or else since the tree was had.
func (b *bench) overdue(c *candidate) bool {
	if c.Work.ID != WorkRepot {
		return false
	}
	every := 0.0
	for _, n := range c.Rule.Needs {
		if n.Since == AnyRootWork || n.Since == WorkRepot {
			every = max(every, n.seasons(b.species, c.state.Stage))
		}
	}
	last := max(b.history.had, b.lastHardOn(HardOnRoots))
	return every > 0 && last > beforeAll && b.history.growth.Passed(last, c.day, every+overdueSeasons)
}

// lastHardOn returns when work hard on a part was last done or is chosen for,
// before all days where never.
func (b *bench) lastHardOn(part Hard) climate.Date {
	for _, o := range slices.Backward(b.chosen) {
		if o.Work.Hard == part {
			return o.day
		}
	}
	for _, d := range slices.Backward(b.history.done) {
		if d.work.Hard == part {
			return d.on
		}
	}
	return beforeAll
}
