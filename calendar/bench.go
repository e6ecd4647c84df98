package calendar

import (
	"cmp"
	"fmt"
	"slices"

	"budswell/climate"
)

// bench is one tree while it is being planned.
type bench struct {
	planner *Planner
	tree    *Tree
	species *Species
	history *history
	state   State // on the day of the plan
	timing  timing
	works   []*candidate
	chosen  []*candidate // hard works that the plan reckons with, by day
	shows   []Show       // that the tree is entered for
}

// candidate is a work while it is being planned.
type candidate struct {
	Planned
	state State        // of the tree on the day on which the work would be done, if nothing else is
	day   climate.Date // that day: the likely one, or today when that is past
	today float64      // probability that the window is open today
	held  int          // of what is done, how well its rule fitted the tree then
}

// seasons returns the seasons in which a rule is looked for. One that opens only
// by the tree's log is looked for in the season of that day.
func (b *bench) seasons(r *Rule) []int {
	all := b.planner.seasons()
	if r.ForShow() {
		return nil // see addForShows
	}
	if !r.Opens.hangsOnWorkOnly() {
		return all
	}
	day := b.timing.days(&r.Opens, all[0])[0]
	if s := b.planner.outlook.Site.Season(day); day.Valid() && slices.Contains(all, s) {
		return []int{s}
	}
	return nil
}

// add adds the work of a rule in a season, if it is for the tree as it will be by
// then and there is something to do. What was done shows once, by the rule that
// held for the tree on that day; the others are then not to be done either.
func (b *bench) add(r *Rule, w *Work, season int) {
	c := b.candidate(r, w, season)
	switch {
	case c == nil:
		return
	case !c.Done.Valid():
		if c.seldom() || !b.planner.holds(r, b.species, c.state.Stage, b.tree.Origin) || b.pointless(r) || b.underground(c) || b.adrift(r) {
			return
		}
	default:
		if c.held = b.held(r, c.Done); c.held == 0 {
			return
		}
		same := slices.IndexFunc(b.works, func(o *candidate) bool { return o.Work == w && o.Done == c.Done })
		if same >= 0 {
			if c.held > b.works[same].held {
				b.works[same] = c
			}
			return
		}
	}
	b.works = append(b.works, c)
}

// held says how well a rule fits the tree on a day on which its work was done: 3
// where it held the day before and what it asks of the field soil was so, 2 where
// it held the day before, 1 where it holds only as the tree was afterwards (a
// collected tree, or a log that does not tell of the time before), 0 where it never
// was a rule for the tree.
func (b *bench) held(r *Rule, on climate.Date) int {
	h := newHistory(b.tree, b.planner.lore, b.species, b.history.growth, on-1)
	before := h.at(on - 1)
	wrong := func(n Need) bool { return n.FieldSoil != nil && *n.FieldSoil != (before.FieldSoil > 0) }
	switch {
	case b.planner.holds(r, b.species, before.Stage, b.tree.Origin):
		if slices.ContainsFunc(r.Needs, wrong) {
			return 2
		}
		return 3
	case b.planner.holds(r, b.species, newHistory(b.tree, b.planner.lore, b.species, b.history.growth, on).at(on).Stage, b.tree.Origin),
		b.planner.holds(r, b.species, b.state.Stage, b.tree.Origin):
		return 1
	}
	return 0
}

// seldom reports work that is for the years in which it is called for, at a place
// where hardly any year does.
func (c *candidate) seldom() bool {
	const mentioned = 0.2
	return c.Window.Chance < mentioned && (c.Work.Class == Protection || c.Work.Class == Health)
}

// candidate returns the work of a rule in a season, nil where its window is not
// near enough.
func (b *bench) candidate(r *Rule, w *Work, season int) *candidate {
	on := b.planner.outlook.Issue
	t := b.planner.timed(r, &b.timing, season)
	win := t.window
	if win.Chance == 0 || win.Closes.P90 < on-stillShown || win.Opens.P50 > on+horizonDays {
		return nil
	}
	return b.candidateOf(r, w, season, t)
}

// candidateOf returns the work of a rule in a season whose window is known.
func (b *bench) candidateOf(r *Rule, w *Work, season int, t timed) *candidate {
	on, win := b.planner.outlook.Issue, t.window
	c := &candidate{Planned: Planned{
		Key: b.key(r, season), Show: b.timing.show, Rule: r, Work: w, Title: cmp.Or(r.Title, w.Title),
		Season: season, Window: win, Open: t.open, draws: t.draws, Due: climate.NoDate, Done: climate.NoDate, Why: t.why, SoFar: t.soFar,
		Cautions: b.planner.lore.CautionTexts(r, b.species),
	}, today: t.open.On(on)}
	c.day = max(win.Likely, min(on, win.Closes.P90))
	if r.Every > 0 {
		b.schedule(c, win.Opens.P50)
	} else {
		c.Done = b.doneIn(c)
	}
	c.state = b.state
	if c.day > on {
		c.state = b.history.at(c.day)
	}
	if usual := b.usualInterval(c); usual != "" {
		c.Why += " " + usual
	}
	return c
}

// usualInterval says how often trees of the species are repotted at the stage, and
// when this one last had root work; nothing where that is not known or not asked for.
func (b *bench) usualInterval(c *candidate) string {
	if b.species.Repot == nil || !slices.ContainsFunc(c.Rule.Needs, func(n Need) bool { return n.Interval }) {
		return ""
	}
	out := fmt.Sprintf("Trees of its kind want this about every %s at this stage", count(b.species.Repot.At(c.state.Stage), "growing season"))
	if last := b.history.last(AnyRootWork, beforeAll); last.Valid() {
		out += fmt.Sprintf("; the last root work was on %v", last)
	}
	return out + "."
}

// aside is how many days outside a window a work still counts as that window's.
const aside = 21

// doneIn returns the last day on which the work was done in its window, or so
// near that it need not be done again.
func (b *bench) doneIn(c *candidate) climate.Date {
	for _, d := range slices.Backward(b.history.done) {
		if d.work == c.Work && d.on >= c.Window.Opens.P10-aside && d.on <= c.Window.Closes.P90+aside {
			return d.on
		}
	}
	return climate.NoDate
}

// schedule finds the day on which a repeated work is due: so long after it was
// last done, at first on a day from which nothing stands against it. One that
// was not logged stays due until it would be due again. When no day is left in
// the window the work is done for the season.
func (b *bench) schedule(c *candidate, from climate.Date) {
	on, every, done := b.planner.outlook.Issue, climate.Date(c.Rule.Every), b.doneIn(c)
	if wired := func(n Need) bool { return n.Wired != nil && *n.Wired }; b.state.WireSince.Valid() && slices.ContainsFunc(c.Rule.Needs, wired) {
		from = max(from, b.state.WireSince+every) // it was looked at as it went on
	}
	due := from
	if done.Valid() {
		due = max(done+every, from)
	}
	if missed := (on - due) / every; missed > 0 {
		due += missed * every
	}
	c.Due, c.Done, c.Unlogged = climate.NoDate, climate.NoDate, !done.Valid()
	switch {
	case due <= c.Window.Closes.P50:
		c.Due, c.day = due, max(due, on)
	case done.Valid():
		c.Done = done
	}
}

// pointless reports whether a rule asks for what the tree has not or no longer
// has, or for what is done once, so that there is nothing to wait for.
func (b *bench) pointless(r *Rule) bool {
	return r.Once && b.history.last(r.Work, beforeAll).Valid() || slices.ContainsFunc(r.Needs, func(n Need) bool {
		return n.Wired != nil && *n.Wired && !b.state.WireSince.Valid() ||
			n.FieldSoil != nil && *n.FieldSoil && b.state.FieldSoil == 0 ||
			n.FieldSoil != nil && !*n.FieldSoil && b.state.FieldSoil > 0 && r.Work == WorkRepot || // that is another repot
			n.NotDone != "" && b.history.last(n.NotDone, b.state.Had).Valid()
	})
}

// underground reports whether the window opened while the tree was still in the
// ground: what is done once was then not for it, such as to take it out of a
// winter shelter that it was not in.
func (b *bench) underground(c *candidate) bool {
	return b.tree.Origin.dug() && b.state.Had.Valid() && c.Window.Opens.P50 < b.state.Had &&
		c.Rule.Every == 0 && !c.Rule.Opens.hangsOnWork()
}
