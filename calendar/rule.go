package calendar

import (
	"budswell/climate"
	"budswell/climate/phenology"
)

// Rule says when a kind of work is right for some trees.
type Rule struct {
	ID    string `yaml:"id"`
	Work  string `yaml:"work"`  // id of the kind of work
	Title string `yaml:"title"` // as shown, where the work's own title says too little
	For   Scope  `yaml:"for"`

	Opens  Anchor `yaml:"opens"`
	Closes Anchor `yaml:"closes"`
	Best   Best   `yaml:"best"` // where in an open window the work is best; empty: early

	// Every is how often the work is repeated while the window is open, in days,
	// 1 to 120; 0: once a season.
	Every int `yaml:"every"`

	// Once says that a tree gets the work once in its life, not once a season.
	Once bool `yaml:"once"`

	Needs []Need `yaml:"needs"` // all must hold, or the work is blocked and says why

	// Excludes lists works (or [AnyHard], [AnyRootWork]) that may not fall in the
	// same season as this one; works hard on a tree exclude one another without
	// being listed.
	Excludes []string `yaml:"excludes"`

	// Rest is how many growing seasons the tree rests from hard work after this,
	// 0 to 4; growing seasons count by warmth, not by the calendar.
	Rest float64 `yaml:"rest"`

	Loses int `yaml:"loses"` // as the work's, in its place

	Minutes   int      `yaml:"minutes"` // effort for one tree of middling size, 1 to 960
	Materials []string `yaml:"materials"`
	Cautions  []string `yaml:"cautions"` // ids, besides those of the work
	Not       string   `yaml:"not"`      // when not to do it, as people read it
	Why       string   `yaml:"why"`      // the reason of the window, as people read it

	// Within is, of a rule that hangs on a show, at most how many days before the show its
	// window opens, 1 to 800; 0: no matter. TooLate says, as people read it, what it
	// means for the show when the work was not done in time; only such rules have it.
	Within  int    `yaml:"within"`
	TooLate string `yaml:"too_late"`

	// Variant names a way of doing it on which growers disagree; a grower
	// chooses one, and without a choice the rule whose variant is empty holds.
	// Instead is the id of that rule: the variant takes its place. A variant with no
	// Instead is work besides, that is planned only where a grower chose it, such as
	// propagation.
	Variant string `yaml:"variant"`
	Instead string `yaml:"instead"`

	Source string `yaml:"source"` // a published source, or "common practice, no published source"

	// Off says that whoever wrote it so does not do the work by this rule: it is planned for
	// no tree. Such rules stand in [Lore.Off].
	Off bool `yaml:"off"`

	From *From `yaml:"-" json:"-"` // nil where not told
}

// Scope is which trees a rule is for. Empty lists do not restrict.
type Scope struct {
	Groups  []phenology.Group `yaml:"groups"`
	Species []string          `yaml:"species"` // species or genera
	Except  []string          `yaml:"except"`  // species or genera
	Traits  []Trait           `yaml:"traits"`  // must have all
	Without []Trait           `yaml:"without"` // must have none
	Pests   []string          `yaml:"pests"`   // must be known to get one of them
	Stages  []Stage           `yaml:"stages"`
	Origins []Origin          `yaml:"origins"`
	Looks   []Look            `yaml:"looks"` // of the show; only in rules that hang on one
}

// Anchor fixes an end of a window. Exactly one of At, Earliest and Latest is
// given; Earliest and Latest take the first or the last of several anchors, draw
// by draw. Days, -200 to 400 (with
// [AtShow] from -800), is added to it.
//
// In a draw in which what it hangs on does not come, an anchor is none: Earliest
// and Latest leave it out; a window that opens at none is not there in that
// draw, and one that closes at none stays open to the end of its season (of the
// season after, where Next is set). Frosts differ: where there is no last frost
// it is before everything, where there is no first frost it is after everything,
// and Days change nothing in that. A window that closes before it opens is not
// there in that draw; one that opens before its season and closes within it
// opens with the season, unless it hangs on [AtWork], [AtShade] or [AtShow].
//
// A rule with [AtShow] in it is for trees that are entered for a show, once for each, and
// for no others; it is looked for in the two seasons before that of the show, in it
// and in the one after. A phase in the Latest of its Opens must come in a draw.
type Anchor struct {
	At   At  `yaml:"at"`
	Days int `yaml:"days"`

	// Next says that it is looked for in the season after the window's, for
	// windows that reach over midwinter.
	Next bool `yaml:"next"`

	Phase phenology.Phase   `yaml:"phase"` // with at: phase
	C     *float64          `yaml:"c"`     // a temperature, C, -30 to 45, with the frost and warmth anchors; the base with at: degree-days
	Date  *climate.MonthDay `yaml:"date"`  // with at: date; a northern day, turned half a year in the south; with at: degree-days since when they count (the start of the season when not given)
	Work  string            `yaml:"work"`  // with at: work or shade; a work, or AnyHard, AnyRootWork

	// Sum, 1 to 5000 C d, and Method, the average when not given, go with at: degree-days.
	Sum    float64      `yaml:"sum"`
	Method WarmthMethod `yaml:"method"`

	Earliest []Anchor `yaml:"earliest"`
	Latest   []Anchor `yaml:"latest"`
}

// At is what an anchor hangs on.
type At string

// The kinds of anchor. All but AtWork are looked for in one growing season of
// the site, draw by draw.
const (
	AtPhase       At = "phase"         // the tree shows Phase
	AtLastFrost   At = "last-frost"    // last day of spring with Tmin below C (0 when not given); before everything where there is none
	AtFirstFrost  At = "first-frost"   // first day of autumn with Tmin below C; after everything where there is none
	AtNightsAbove At = "nights-above"  // first day from which the mean Tmin of 7 days is above C
	AtNightsBelow At = "nights-below"  // first day after midsummer from which the mean Tmin of 7 days is below C
	AtWarmth      At = "warmth"        // first day from which the mean temperature of 7 days is above C
	AtCold        At = "cold"          // first day after midsummer from which the mean temperature of 7 days is below C
	AtRootCold    At = "root-cold"     // first day after midsummer from which the mean Tmin of 7 days is below what the potted roots stand (where not known -3, or -10 with the trait hardy-roots) plus C (5 when not given)
	AtRootColdEnd At = "root-cold-end" // day after the last before midsummer on which it is; none where there is none
	AtDegreeDays  At = "degree-days"   // first day by which the degree-days above C since Date reach Sum; where it closes a window and they do not, as cold with C
	AtHeat        At = "heat"          // first day with Tmax above C
	AtHeatEnd     At = "heat-end"      // day after the last with Tmax above C
	AtDate        At = "date"          // a day of the calendar
	AtWork        At = "work"          // the last time Work was logged for the tree
	AtShade       At = "shade"         // end of shade after Work, one to four weeks by group and drying weather
	AtShow        At = "show"          // the day of a show for which the tree is entered
	AtMidsummer   At = "midsummer"     // the middle of the season, 1 July or 1 January
	AtMidwinter   At = "midwinter"     // the end of the season, 31 December or 30 June
	AtSeasonStart At = "season-start"  // the start of the season, 1 January or 1 July
)

// Best is where in an open window a work is best done.
type Best string

// The places in a window.
const (
	BestEarly  Best = "early"
	BestMiddle Best = "middle"
	BestLate   Best = "late"
)

// Need is something that must be true of a tree before a work. Exactly one of
// its fields is given (Since goes with Seasons or Weeks).
type Need struct {
	Strength Strength `yaml:"strength"` // at least so strong
	Stage    Stage    `yaml:"stage"`    // reached at least this stage
	Done     string   `yaml:"done"`     // the work was done since the grower had the tree
	NotDone  string   `yaml:"not_done"` // the work was not yet done
	Wired    *bool    `yaml:"wired"`    // wire is, or is not, on the tree

	FieldSoil *bool `yaml:"field_soil"` // some field soil is left, or none

	// Since a work (or AnyHard, AnyRootWork) was last done, at least so many
	// growing seasons, 0.5 to 10, or so many weeks, 1 to 104, have passed; exactly
	// one of the two is given. It holds where the work was never done.
	Since   string  `yaml:"since"`
	Seasons float64 `yaml:"seasons"`
	Weeks   float64 `yaml:"weeks"`

	// Interval, with Seasons: where it is known how many growing seasons lie between
	// repots of the species at the tree's stage, these hold in the place of Seasons.
	Interval bool `yaml:"interval"`

	// NotThisSeason: none of these works (or AnyHard, AnyRootWork) was done in the
	// season of the window.
	NotThisSeason []string `yaml:"not_this_season"`
}
