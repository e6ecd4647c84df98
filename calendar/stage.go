package calendar

import "budswell/climate"

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

// Stages lists the stages in order.
func Stages() []Stage {
	return []Stage{
		StageCollected, StageRecovering, StageBaseWork, StageFirstStyling,
		StageBuilding, StageSecondStyling, StageRefining, StageExhibition,
	}
}

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

	FieldSoil float64      // share of the root ball that is still field soil, 0 to 1
	FlareSeen bool         // the root flare was inspected since the tree was had
	WireSince climate.Date // day on which the wire now on the tree was put on; NoDate: no wire

	// Last is the last day on which each work was done.
	Last map[string]climate.Date
}
