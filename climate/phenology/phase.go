package phenology

import (
	"fmt"
	"slices"
	"strings"

	"budswell/climate"
)

// Phase is a sign on a tree that a person can see. The comments give its stage
// on the BBCH scale (Meier, ed., 2018, Growth stages of mono- and dicotyledonous
// plants, from memory).
type Phase string

// The phases of a season.
const (
	BudSwell          Phase = "bud-swell"          // scales part, colour shows; BBCH 01-03
	BudBreak          Phase = "bud-break"          // green shows, half of the buds open; 07-09
	LeafOut           Phase = "leaf-out"           // first leaf unfolded; 10-11
	LeavesHardened    Phase = "leaves-hardened"    // firm, darker, cuticle formed; after 19
	CandlesExtending  Phase = "candles-extending"  // 31-33
	NeedlesSeparating Phase = "needles-separating" // 34-39
	NeedlesHardened   Phase = "needles-hardened"   // after 39
	Flowering         Phase = "flowering"          // 60-69
	SecondFlush       Phase = "second-flush"       // shoots of the same year open again
	AutumnColour      Phase = "autumn-colour"      // 92-94
	LeafFall          Phase = "leaf-fall"          // half fallen; 95-97
	Dormant           Phase = "dormant"            // 97-00
)

// Group is a kind of tree by the way it grows, which decides the phases it has.
type Group string

// The groups.
const (
	Deciduous          Group = "deciduous"           // broadleaf: maple, beech, oak
	DeciduousConifer   Group = "deciduous-conifer"   // larch, swamp cypress, dawn redwood
	SingleFlushPine    Group = "single-flush-pine"   // one candle flush a year: Scots, mountain, white pine
	MultiFlushPine     Group = "multi-flush-pine"    // flushes again when cut in early summer: black, red pine
	SpruceFir          Group = "spruce-fir"          // spruce, fir, hemlock, yew, cedar
	JuniperCypress     Group = "juniper-cypress"     // grows in waves whenever warm enough; no clear bud swell
	BroadleafEvergreen Group = "broadleaf-evergreen" // box, olive, evergreen oak, azalea, privet
	FrostTender        Group = "frost-tender"        // fig and tropicals; no dormancy
)

// Groups lists all groups in the order in which people read them.
func Groups() []Group {
	return []Group{
		Deciduous, DeciduousConifer, SingleFlushPine, MultiFlushPine,
		SpruceFir, JuniperCypress, BroadleafEvergreen, FrostTender,
	}
}

// Phases lists the phases that trees of group g show in a season, in their
// order; for juniper-cypress and frost-tender bud-swell stands for growth
// resuming. It is nil for an unknown group.
func (g Group) Phases() []Phase {
	switch g {
	case Deciduous, DeciduousConifer:
		return []Phase{BudSwell, BudBreak, LeafOut, Flowering, LeavesHardened, AutumnColour, LeafFall, Dormant}
	case SingleFlushPine:
		return []Phase{BudSwell, CandlesExtending, NeedlesSeparating, NeedlesHardened, Dormant}
	case MultiFlushPine:
		return []Phase{BudSwell, CandlesExtending, NeedlesSeparating, NeedlesHardened, SecondFlush, Dormant}
	case SpruceFir:
		return []Phase{BudSwell, BudBreak, LeafOut, NeedlesHardened, Dormant}
	case JuniperCypress:
		return []Phase{BudSwell, NeedlesHardened, Dormant}
	case BroadleafEvergreen:
		return []Phase{BudSwell, BudBreak, LeafOut, Flowering, LeavesHardened, Dormant}
	case FrostTender:
		return []Phase{BudSwell, LeafOut, LeavesHardened}
	}
	return nil
}

// Flush is where a species stands in the order in which trees of a place break
// bud. The order is far steadier from place to place than the dates are.
type Flush string

// The classes of flushing, each some nine days after the one before.
const (
	VeryEarly Flush = "very-early" // elder-like, larch
	Early     Flush = "early"      // hawthorn, elm, birch
	Middle    Flush = "middle"     // maple, hornbeam
	Late      Flush = "late"       // beech, oak
	VeryLate  Flush = "very-late"  // ash, hop hornbeam, hemlock
)

// Habit is what of a species decides its dates.
type Habit struct {
	Species string // accepted botanical name; the key to what was fitted for it
	Group   Group
	Flush   Flush // empty where it is not known: the forecast is wider

	// FlowerWeeks is when flowering is at its height, in weeks after leaf-out,
	// -10 to 30; negative where flowers come before the leaves. Nil where
	// flowering is of no interest: the season then has no such phase.
	FlowerWeeks *float64
}

// Sighting is that somebody saw a phase on a tree.
type Sighting struct {
	Tree    string // any name, the same for the same tree
	Species string // accepted botanical name
	Phase   Phase
	On      climate.Date // the day on which it was seen

	// NotYet is the last earlier day on which the tree was looked at and the
	// phase had not come; NoDate where nobody looked. A sighting whose On is
	// NoDate says only that the phase had not come by NotYet.
	NotYet climate.Date
}

// AllPhases lists every phase, in the order in which a season brings them.
func AllPhases() []Phase {
	return []Phase{
		BudSwell, BudBreak, LeafOut, Flowering, CandlesExtending, NeedlesSeparating, SecondFlush,
		LeavesHardened, NeedlesHardened, AutumnColour, LeafFall, Dormant,
	}
}

// ParsePhase reads the id of a phase.
func ParsePhase(s string) (Phase, error) {
	if p := Phase(s); slices.Contains(AllPhases(), p) {
		return p, nil
	}
	ids := make([]string, 0, len(AllPhases()))
	for _, p := range AllPhases() {
		ids = append(ids, string(p))
	}
	return "", fmt.Errorf("%q: want one of %s", s, strings.Join(ids, ", "))
}
