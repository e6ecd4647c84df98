package calendar

import (
	"strings"

	"budswell/climate/phenology"
)

// Species is what the trade knows of a kind of tree.
type Species struct {
	Name     string          `yaml:"name"`     // accepted botanical name, the key
	Synonyms []string        `yaml:"synonyms"` // other botanical names it is found by
	Common   []string        `yaml:"common"`   // English names
	Group    phenology.Group `yaml:"group"`
	Flush    phenology.Flush `yaml:"flush"` // empty where not known

	// FlowerWeeks is when it flowers, in weeks after leaf-out (negative: before
	// the leaves); nil where its flowers are of no interest.
	FlowerWeeks *float64 `yaml:"flower_weeks"`

	Traits []Trait `yaml:"traits"`

	Answers `yaml:",inline"`

	// RootsKilledBelow is the root-zone temperature that kills potted roots, C,
	// -30 to 10; CrownHardy the lowest air temperature that a rested crown
	// stands, C, -60 to 15. Nil where not known: the plan is then cautious.
	RootsKilledBelow *float64 `yaml:"roots_killed_below"`
	CrownHardy       *float64 `yaml:"crown_hardy"`

	// Source is where the row's values come from; Sources overrides it by field.
	Source  string            `yaml:"source"`
	Sources map[string]string `yaml:"sources"`

	From *From `yaml:"-" json:"-"` // nil where not told
}

// Habit returns what of the species decides its dates.
func (s *Species) Habit() phenology.Habit {
	return phenology.Habit{Species: s.Name, Group: s.Group, Flush: s.Flush, FlowerWeeks: s.FlowerWeeks}
}

// Trait is a property of a species that rules ask for. A caution whose id is
// that of a trait shows with all work by hand on trees that have it.
type Trait string

// The traits.
const (
	Bleeder              Trait = "bleeder"                // loses sap from cuts while it rises: maple, birch, hornbeam, walnut
	StoneFruit           Trait = "stone-fruit"            // cherry, plum: prune in summer
	PartialLeaf          Trait = "partial-leaf"           // stands partial defoliation at most: beech, oak
	NoBareRoot           Trait = "no-bare-root"           // lives with root fungi; never bare-root
	WorkedAfterFlowering Trait = "worked-after-flowering" // azalea, forsythia: repot and prune after flowering
	ToxicSap             Trait = "toxic-sap"              // fig, spurge, oleander: gloves
	ToxicSeed            Trait = "toxic-seed"             // yew, laburnum
	SoftGrowthFrost      Trait = "soft-growth-frost"      // new growth is killed by light frost
	BudsOnOldWood        Trait = "buds-on-old-wood"       // answers hard cuts with buds
	FrostHardyRoots      Trait = "hardy-roots"            // potted roots stand hard frost

	// Only rules and cautions name these; they follow from how a species answers.
	HardlyBackBuds Trait = "hardly-back-buds" // hardly buds on old wood, or it is not known
	RootSensitive  Trait = "root-sensitive"   // answers root work badly, or it is not known
)

// Traits lists all traits.
func Traits() []Trait { return append(OwnTraits(), HardlyBackBuds, RootSensitive) }

// OwnTraits lists the traits that the row of a species may list.
func OwnTraits() []Trait {
	return []Trait{
		Bleeder, StoneFruit, PartialLeaf, NoBareRoot, WorkedAfterFlowering, ToxicSap, ToxicSeed,
		SoftGrowthFrost, BudsOnOldWood, FrostHardyRoots,
	}
}

// Genus returns the first word of the botanical name.
func (s *Species) Genus() string {
	genus, _, _ := strings.Cut(s.Name, " ")
	return genus
}
