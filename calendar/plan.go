package calendar

import "budswell/climate"

// Plan is what the trees of a site need in the eighteen months after On.
type Plan struct {
	On     climate.Date
	Site   climate.Site
	Basis  climate.Basis
	Supply climate.Supply // where the weather comes from, and how old it is
	Trees  []TreePlan     // in the order in which the trees were given
	Shows  []ShowPlan     // by tree, and of one tree by day

	Benches []Bench // of the place

	// Agenda is who fits into which day, as [Plan.Fit] says; nil where nobody said
	// what hours there are.
	Agenda *Agenda
}

// TreePlan is what one tree needs.
type TreePlan struct {
	Tree    *Tree
	Species *Species
	State   State
	Bench   *Bench // on which it stands on the day of the plan; nil: in the open

	// Notice says what goes before all that comes next: that the tree rests, and until
	// when, that nothing is known of when it was dug, that by its log it is in no winter
	// shelter, or that wire is on it for long; empty where none is so.
	Notice string

	// Next is a sentence on what comes next; "Leave it alone until ..." is one.
	Next string

	// Doubt says what the place lacks for such a tree; empty where nothing. Next ends
	// with it.
	Doubt string

	Works []Planned // by Window.Likely, then by rule

	Sums Sums // what applies of what a grower works out by hand

	Flags []Flag // what in the log was done against what its rules ask for, by day

	growth *Growth // nil: seasons are not counted by warmth
}

// Planned is one work on one tree in one season.
type Planned struct {
	Key    string // stable over re-planning: rule and season, and the show that it is for
	Show   *Show  // the show that it is for, nil for all other work
	Rule   *Rule
	Work   *Work
	Title  string
	Season int // the growing season that the window is counted in

	Window Window
	Open   Curve  // the chance that the window is open, day by day
	draws  *drawn // nil where they were not kept

	// Due is the day on which a repeated work is due next; NoDate for others.
	Due climate.Date

	// Unlogged says of a repeated work that it was not logged in this window: Due is then
	// reckoned, and a day of it that is past was not missed for certain.
	Unlogged bool

	// Done is the day on which the work was done in this window, or NoDate.
	Done climate.Date

	Why      string   // why these days: the weather, the phase, the history, with numbers
	SoFar    string   // how far the season has come; moves daily; empty where that is not known
	Blocked  []Block  // what stands against it; empty: nothing
	Cautions []string // texts, ready to show
}

// Window is the days on which a work is right, as a distribution. A window that
// comes in few draws has a low Chance, and the spreads are of those draws.
type Window struct {
	Opens  climate.Spread
	Closes climate.Spread
	Likely climate.Date // the day most likely to be inside, by Best

	// Certainty is the probability that the window is open on Likely, 0 to 1;
	// Chance that it opens at all this season.
	Certainty float64
	Chance    float64

	// AnyTime says that the window opens with the season only because growth never
	// stopped: there is no first day to it.
	AnyTime bool
}

// Curve is the probability, day by day, that a window is open. Trees that share a
// window share its days, which nobody changes.
type Curve struct {
	First  climate.Date // the first day on which it is open in any draw
	Chance []float64    // 0 to 1, from First on; nil: open on no day
}

// On returns the probability that the window is open on a day, 0 to 1.
func (c Curve) On(d climate.Date) float64 {
	if i := int(d) - int(c.First); d.Valid() && i >= 0 && i < len(c.Chance) {
		return c.Chance[i]
	}
	return 0
}

// Block is a reason why a work may not be done in its window.
type Block struct {
	Reason string       // as people read it
	Until  climate.Date // when the reason ends; NoDate where that is not known
}

// FreeFrom returns the day from which nothing stands against a work any more, NoDate
// where nothing does now, and false where no end is known.
func FreeFrom(blocks []Block) (climate.Date, bool) {
	free := climate.NoDate
	for _, b := range blocks {
		if !b.Until.Valid() {
			return climate.NoDate, false
		}
		free = max(free, b.Until)
	}
	return free, true
}
