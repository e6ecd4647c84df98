package calendar

import (
	"fmt"
	"math"

	"budswell/climate"
)

// Criterion is one thing that a tree must have or be to be shown.
type Criterion struct {
	ID     string
	Title  string
	Status Readiness
	Says   string

	// By is the day by which it can be met, with how sure that is, 0 to 1 (0.5 where
	// it is the day of a typical season); NoDate where it is met, or where that cannot
	// be told.
	By        climate.Date
	Certainty float64
}

// Readiness is how it stands with a criterion.
type Readiness string

// The kinds of readiness.
const (
	Met        Readiness = "met"
	NotYet     Readiness = "not-yet"
	OutOfReach Readiness = "out-of-reach" // not by the day of the show, as things stand
)

// The criteria, in order (common practice, no published source).
const (
	ReadyStage     = "stage"
	ReadySoil      = "field-soil"
	ReadyStructure = "structure"
	ReadyWire      = "wire"
	ReadyPot       = "final-pot"
	ReadySurface   = "surface"
	ReadyStrength  = "strength"
	ReadyRest      = "rest"
	ReadyShown     = "last-show"
	ReadyLook      = "look"
)

// readying is what the criteria are found from.
type readying struct {
	*bench
	show *Show
	plan *ShowPlan
	on   climate.Date
}

// ready checks how ready the tree is for a show.
func (b *bench) ready(show *Show, plan *ShowPlan) []Criterion {
	r := &readying{b, show, plan, b.planner.outlook.Issue}
	return []Criterion{
		r.stage(), r.soil(), r.structure(), r.wire(), r.pot(), r.surface(), r.strength(), r.rest(), r.shown(), r.look(),
	}
}

func met(id, title, format string, args ...any) Criterion {
	return Criterion{ID: id, Title: title, Status: Met, Says: fmt.Sprintf(format, args...), By: climate.NoDate, Certainty: 1}
}

// lacking makes a criterion that is not met: not yet where it can be by the day
// of the show, and else out of reach.
func (r *readying) lacking(id, title string, by climate.Date, sure float64, format string, args ...any) Criterion {
	c := Criterion{ID: id, Title: title, Status: NotYet, Says: fmt.Sprintf(format, args...), By: by, Certainty: sure}
	if !by.Valid() || by > r.show.On {
		c.Status = OutOfReach
	}
	return c
}

func (r *readying) stage() Criterion {
	const title = "At the stage of exhibition"
	if r.state.Stage == StageExhibition {
		return met(ReadyStage, title, "it is")
	}
	const step = 15
	for d := r.on; d <= r.show.On; d += step {
		if r.history.stage(d) == StageExhibition {
			return r.lacking(ReadyStage, title, d, 0.5, "it is at %q, and comes there by itself about %v", r.state.Stage, d)
		}
	}
	// What is left of work decides; the years that takes are the roadmap's.
	c := r.lacking(ReadyStage, title, r.show.On, 0, "it is at %q; work that is still ahead of it decides whether it comes there in time", r.state.Stage)
	if needs := r.seasonsToGo(StageExhibition); !r.history.growth.Passed(r.on, r.show.On, needs) {
		c.Status = OutOfReach
		c.Says = fmt.Sprintf("it is at %q; the rest between what is still ahead of it takes %s at least", r.state.Stage, count(needs, "growing season"))
	}
	c.By = climate.NoDate
	return c
}

// seasonsToGo is the least number of growing seasons that pass from the tree's
// stage to another.
func (r *readying) seasonsToGo(to Stage) float64 {
	low := func(stage Stage) float64 {
		return r.planner.lore.stageTime(stage, r.species, r.tree.Origin).Low
	}
	rests := map[Stage]float64{
		StageCollected: 1, StageBaseWork: 1, StageBuilding: low(StageBuilding), StageSecondStyling: low(StageSecondStyling),
		StageRefining: max(0, low(StageRefining)-low(StageSecondStyling)),
	}
	sum := 0.0
	for i := r.state.Stage.rank(); i < to.rank() && r.state.Stage != StageRefining; i++ {
		sum += rests[stages[i]]
	}
	return sum
}

// betweenRepots is how many growing seasons lie between two repots out of field
// soil (common practice, no published source).
const betweenRepots = 2

func (r *readying) soil() Criterion {
	const title = "No field soil left"
	if r.state.FieldSoil == 0 {
		return met(ReadySoil, title, "none is")
	}
	repots := 1.0
	if r.species.Conifer() {
		repots = math.Ceil(2 * r.state.FieldSoil)
	}
	by, sure, next := climate.NoDate, 0.0, "no repot is free in the next eighteen months"
	for _, c := range r.works {
		if c.Work.ID == WorkRepot && !c.Done.Valid() && len(c.Blocked) == 0 && c.Window.Closes.P50 >= r.on {
			by, sure = c.day, c.Window.Certainty
			next = fmt.Sprintf("the next about %v", by)
			break
		}
	}
	if by.Valid() && repots > 1 {
		by, sure = r.history.growth.PassedBy(by, betweenRepots*(repots-1)), 0.5
	}
	c := r.lacking(ReadySoil, title, by, sure, "about %.0f %% of the root ball is; %s to go, %s", 100*r.state.FieldSoil, count(repots, "repot"), next)
	if !by.Valid() {
		c.Status = r.reach(betweenRepots * repots)
	}
	return c
}

func (r *readying) structure() Criterion {
	const title = "The structure holds without heavy wire"
	if r.state.Stage.rank() >= StageRefining.rank() {
		return met(ReadyStructure, title, "it is refined or further")
	}
	styled := r.history.last(WorkSecondStyle, beforeAll)
	if !styled.Valid() {
		return Criterion{
			ReadyStructure, title, r.reach(r.seasonsToGo(StageRefining)), "the second styling is still to come, and a growing season to set after it", climate.NoDate, 0,
		}
	}
	by := r.history.growth.PassedBy(styled, r.history.usual(StageSecondStyling))
	return r.lacking(ReadyStructure, title, by, 0.5, "styled for the second time on %v; a growing season has to pass and the wire to come off", styled)
}

// reach says whether so many growing seasons are left before the show.
func (r *readying) reach(seasons float64) Readiness {
	if r.history.growth.Passed(r.on, r.show.On, seasons) {
		return NotYet
	}
	return OutOfReach
}

// stepOf returns the step of a work, nil where there is none.
func (r *readying) stepOf(work string) *ShowStep {
	for i := range r.plan.Steps {
		if r.plan.Steps[i].Work.ID == work {
			return &r.plan.Steps[i]
		}
	}
	return nil
}

// byStep makes a criterion that a step of the way meets.
func (r *readying) byStep(id, title, work, says string) Criterion {
	s := r.stepOf(work)
	switch {
	case s == nil:
		return r.lacking(id, title, climate.NoDate, 0, "%s, and the place gives no days for it before the show", says)
	case s.Status == StepOver:
		return r.lacking(id, title, climate.NoDate, 0, "%s, and it was to be done by %v", says, s.Latest)
	}
	w := s.Window
	if len(s.Blocked) > 0 {
		// What lasts beyond the last day cannot be helped; the rest perhaps can.
		stands, status := s.Blocked[0], NotYet
		for _, bl := range s.Blocked {
			if bl.Until.Valid() && bl.Until > s.Latest {
				stands, status = bl, OutOfReach
			}
		}
		says := fmt.Sprintf("%s; against doing it from %v to %v stands: %s", says, w.Opens.P50, s.Latest, stands.Reason)
		return Criterion{id, title, status, says, climate.NoDate, 0}
	}
	return r.lacking(id, title, max(w.Likely, r.on), w.Certainty, "%s; to be done from %v to %v", says, w.Opens.P50, s.Latest)
}

func (r *readying) wire() Criterion {
	title, bare := "No wire on it, for a season", false
	for _, rule := range r.showDay(r.show) {
		for _, n := range rule.Needs {
			bare = bare || n.Wired != nil && !*n.Wired
		}
	}
	if !bare {
		title = "No wire, or at most a little that is not seen"
	}
	if r.state.WireSince.Valid() {
		return r.byStep(ReadyWire, title, WorkUnwire, fmt.Sprintf("there is wire on it since %v", r.state.WireSince))
	}
	if off := r.history.last(WorkUnwire, beforeAll); off.Valid() {
		if s := r.stepOf(WorkUnwire); bare && s != nil && off > s.Window.Closes.P90 {
			return r.lacking(ReadyWire, title, climate.NoDate, 0, "it came off on %v, later than %v: marks may still show", off, s.Window.Closes.P50)
		}
		return met(ReadyWire, title, "it came off on %v", off)
	}
	return met(ReadyWire, title, "none is")
}

func (r *readying) pot() Criterion {
	const title = "In its final pot since a season or two"
	since, ok := r.history.finalPot()
	switch {
	case !ok:
		return r.byStep(ReadyPot, title, WorkPotChange, "it is not in it")
	case !since.Valid():
		return met(ReadyPot, title, "it is; its log does not say since when")
	}
	if o := r.tooNear(WorkPotChange, since); o != "" {
		return r.lacking(ReadyPot, title, climate.NoDate, 0, "since %v only: %s", since, o)
	}
	return met(ReadyPot, title, "since %v", since)
}

// tooNear says why a work that was done on a day lies too near to the show; empty
// where it does not.
func (r *readying) tooNear(work string, on climate.Date) string {
	w, ok := r.planner.lore.WorkByID(work)
	if !ok {
		return ""
	}
	return spoilsShow(r.bench, &candidate{Planned: Planned{Work: w}, day: on}).reason
}

func (r *readying) surface() Criterion {
	const title, moss = "Surface dressed", "moss"
	if s := r.stepOf(moss); s != nil && s.Status == StepDone {
		return met(ReadySurface, title, "on %v", s.Done)
	}
	return r.byStep(ReadySurface, title, moss, "it is not")
}

func (r *readying) strength() Criterion {
	const title = "Strong"
	if r.state.Strength == Strong {
		return met(ReadyStrength, title, "it is taken to be")
	}
	for _, v := range r.history.judged {
		if v.Strength != "" {
			return Criterion{ReadyStrength, title, NotYet, fmt.Sprintf("it was judged %s: feed, wait, and judge it anew", r.state.Strength), climate.NoDate, 0}
		}
	}
	by := r.history.settledBy()
	return r.lacking(ReadyStrength, title, by, 0.5, "it still recovers from being dug")
}

func (r *readying) rest() Criterion {
	const title = "Rested since the last hard work"
	for _, d := range r.history.done {
		if o := r.tooNear(d.work.ID, d.on); d.work.Hard != HardOnNothing && o != "" {
			return r.lacking(ReadyRest, title, climate.NoDate, 0, "%s on %v %s", d.work.Title, d.on, o)
		}
	}
	after, until := r.history.rest(r.on)
	if after == nil {
		return met(ReadyRest, title, "it is")
	}
	return r.lacking(ReadyRest, title, until, 0.5, "it rests after %s on %v", lower(after.work.Title), after.on)
}

func (r *readying) shown() Criterion {
	const title = "Rested since it was last shown"
	last, how := r.history.last(WorkShow, beforeAll), "was"
	for i := range r.shows { // by day
		if s := &r.shows[i]; s.Name != r.show.Name && s.On <= r.show.On && s.On >= r.on {
			last, how = s.On, "is to be"
		}
	}
	if !last.Valid() {
		return met(ReadyShown, title, "its log tells of no show")
	}
	by := climate.NoDate
	for _, rule := range r.showDay(r.show) {
		for _, n := range rule.Needs {
			if n.Since == WorkShow && n.Seasons > 0 {
				by = r.history.growth.PassedBy(last, n.seasons(r.history.species, StageExhibition))
			}
		}
	}
	if !by.Valid() || by <= r.on {
		return met(ReadyShown, title, "it %s shown on %v", how, last)
	}
	return r.lacking(ReadyShown, title, by, 0.5, "it %s shown on %v", how, last)
}

func (r *readying) look() Criterion {
	const title = "The look on the day"
	l := r.plan.Look
	c := Criterion{ReadyLook, title, NotYet, l.Says, climate.NoDate, l.Chance}
	switch {
	case l.Chance >= surelyShown:
		c.Status = Met
	case l.Chance < 1-surelyShown:
		c.Status = OutOfReach
	}
	return c
}
