package calendar

import (
	"slices"

	"budswell/climate"
)

// Stage is how far a tree has come on its way to the exhibition bench.
type Stage string

// The stages, in order.
const (
	StageCollected     Stage = "collected"      // dug and potted; aftercare
	StageRecovering    Stage = "recovering"     // growth resumed; light feeding only
	StageBaseWork      Stage = "base-work"      // strong: first repot out of field soil, root flare
	StageFirstStyling  Stage = "first-styling"  // repotted, flare seen, strong
	StageBuilding      Stage = "building"       // styled once: feed, back-bud, ramify
	StageSecondStyling Stage = "second-styling" // no field soil, well rooted, ramified
	StageRefining      Stage = "refining"       // structure holds without heavy wire
	StageExhibition    Stage = "exhibition"     // final pot, ready to be shown
)

var stages = []Stage{
	StageCollected, StageRecovering, StageBaseWork, StageFirstStyling,
	StageBuilding, StageSecondStyling, StageRefining, StageExhibition,
}

// Stages lists the stages in order.
func Stages() []Stage { return slices.Clone(stages) }

// rank returns where s stands in the order, -1 for what is no stage.
func (s Stage) rank() int { return slices.Index(stages, s) }

// State is what a tree's log says of it on one day.
type State struct {
	On       climate.Date
	Stage    Stage
	Strength Strength

	// Had is the day from which the grower had the tree: collected, or the first
	// entry of its log; NoDate where the log is empty.
	Had climate.Date

	// Seasons is how many growing seasons have passed since Had, by warmth.
	Seasons float64

	// RestAfter is the hard work from which the tree still rests, empty where it
	// does not; RestUntil the day on which that is over, NoDate where it never is.
	RestAfter string
	RestUntil climate.Date

	FieldSoil float64      // share of the root ball that is still field soil, 0 to 1
	FlareSeen bool         // the root flare was inspected since the tree was had
	WireSince climate.Date // day on which the wire now on the tree was put on; NoDate: no wire

	// Last is the last day on which each work was done, by its id.
	Last map[string]climate.Date
}

// seasonsRooted is how many growing seasons pass from root work until a tree is
// well rooted (common practice, no published source).
const seasonsRooted = 1

// usual returns the growing seasons that a stage usually takes, which counts where
// the log does not tell more.
func (h *history) usual(s Stage) float64 {
	return h.lore.stageTime(s, h.species, h.tree.Origin).Usual
}

// stage returns the stage on a day. The tree starts at the stage last judged,
// or else at collecting (trees that were not dug, at base work), and goes on
// as long as what must be true to enter the next stage is. Works done before the
// judgement do not carry it further, since the grower knew of them.
//
// A tree that has not been styled and is judged not to be strong goes back to
// recovering. A tree that was styled before its time is at the stage that the styling
// leads to: people do things, and what was skipped keeps blocking what needs it.
func (h *history) stage(on climate.Date) Stage {
	at, from := h.begins(on)
	for _, d := range h.done {
		if d.on < from {
			continue
		}
		switch d.work.ID {
		case WorkFirstStyle:
			at = max(at, StageBuilding.rank())
		case WorkSecondStyle:
			at = max(at, StageSecondStyling.rank())
		}
	}
	for at+1 < len(stages) && h.enters(stages[at+1], from, on) {
		at++
	}
	return stages[at]
}

// begins returns the stage that a tree is reckoned to go on from and since when it
// is there: the stage last judged, or that in which the grower got it.
func (h *history) begins(on climate.Date) (at int, from climate.Date) {
	for _, v := range slices.Backward(h.judged) {
		if i := v.Stage.rank(); i >= 0 && v.on <= on {
			return i, v.on
		}
	}
	if h.tree.Origin.dug() {
		return 0, h.had
	}
	return StageBaseWork.rank(), h.had
}

// enters reports whether what must be true to enter a stage is, on a day, of a
// tree in the stage before it since from or later.
func (h *history) enters(s Stage, from, on climate.Date) bool {
	conifer := h.species.Conifer()
	switch s {
	case StageRecovering:
		if !h.had.Valid() {
			return false // still in the ground
		}
		since := max(h.had, from)
		return slices.ContainsFunc(h.grew, func(d climate.Date) bool { return d >= since }) ||
			h.growth.Seasons(since, on) >= h.usual(StageCollected)
	case StageBaseWork:
		return h.strength(on) == Strong
	case StageFirstStyling:
		return h.last(WorkRepot, from).Valid() && h.flare && h.strength(on) == Strong
	case StageBuilding:
		return h.last(WorkFirstStyle, from).Valid()
	case StageSecondStyling:
		since := from
		if d := h.last(WorkFirstStyle, from); d.Valid() {
			since = d
		}
		rooted := h.last(AnyRootWork, h.had)
		return h.soil == 0 && h.growth.Passed(since, on, h.usual(StageBuilding)) &&
			(!rooted.Valid() || h.growth.Passed(rooted, on, seasonsRooted))
	case StageRefining:
		styled := h.last(WorkSecondStyle, from)
		return styled.Valid() && h.growth.Passed(styled, on, h.usual(StageSecondStyling)) &&
			(!h.wire.Valid() || h.last(WorkUnwire, styled).Valid()) // wire came off and it held
	case StageExhibition:
		since := from
		if d := h.last(WorkSecondStyle, from); d.Valid() {
			since = d
		}
		final := h.tree.Container.Kind == FinalPot || h.last(WorkPotChange, since).Valid()
		return final && h.growth.Passed(since, on, h.usual(StageRefining)) && (conifer || !h.wire.Valid())
	}
	return false
}
