package calendar

import "slices"

// Work is a kind of work that a person does to a tree.
type Work struct {
	ID       string   `yaml:"id"`    // such as repot
	Title    string   `yaml:"title"` // as people read it: "Repot"
	Class    Class    `yaml:"class"`
	Hard     Hard     `yaml:"hard"`     // what it is hard on; empty for light work
	Cautions []string `yaml:"cautions"` // ids of cautions that always show with it

	// Also lists other words that a log may use for it, such as "collected".
	Also []string `yaml:"also"`

	// Loses is what it costs to miss the work in its window, in days of the tree's
	// road to the bench, 1 to 1500; 0: not said. It is judged, common practice
	// without a published source, and weighs works where hours are short.
	Loses int `yaml:"loses"`
}

// Works that the program itself gives meaning to: what they change in a tree's
// [State]. All others it knows only through the lore. Every lore has these.
const (
	WorkCollect     = "collect"      // the tree is dug; the grower has it from then on
	WorkRepot       = "repot"        // the first repot out of field soil too; takes field soil away
	WorkPotChange   = "pot-change"   // another pot with little root work
	WorkRootFlare   = "root-flare"   // the root flare is inspected
	WorkFirstStyle  = "first-style"  // puts wire on
	WorkSecondStyle = "second-style" // puts wire on
	WorkWire        = "wire"         // puts wire on
	WorkUnwire      = "unwire"       // takes all wire off
	WorkShow        = "show"         // the tree was shown

	WorkWinterShelter = "winter-shelter" // protection that lasts until it is out of winter
	WorkOutOfWinter   = "out-of-winter"  // no protection any more: never too early
	WorkShadeEnd      = "shade-end"      // likewise
)

// Words that stand for several works where an anchor, a need or an exclusion
// names a work.
const (
	AnyHard     = "hard"      // any work that is hard on something
	AnyRootWork = "root-work" // any work that is hard on roots: collect, repot, pot-change
)

// Class sorts works for people: it is a category and a filter of feeds.
type Class string

// The classes of work.
const (
	Collecting Class = "collecting"
	Roots      Class = "roots"
	Branches   Class = "branches"
	Foliage    Class = "foliage"
	Wire       Class = "wire"
	Feeding    Class = "feeding"
	Protection Class = "protection" // frost, shade, heat, winter quarters
	Health     Class = "health"     // pests, diseases, sprays
	Showing    Class = "showing"
)

// Classes lists all classes in the order in which people read them.
func Classes() []Class {
	return []Class{Collecting, Roots, Branches, Foliage, Wire, Feeding, Protection, Health, Showing}
}

// Hard says which part of a tree a work is hard on. As a rule a tree gets one
// hard work a season: after root work the branches rest, after heavy branch
// work the roots rest (common practice, no published source).
type Hard string

// The parts.
const (
	HardOnNothing  Hard = ""
	HardOnRoots    Hard = "roots"
	HardOnBranches Hard = "branches"
	HardOnLeaves   Hard = "leaves" // defoliation, candle cutting
)

// Caution is a warning that shows wherever a work that needs it shows.
type Caution struct {
	ID   string `yaml:"id"`
	Text string `yaml:"text"`

	// Classes and Works name work with which it shows of itself, besides that which
	// names it. Of a caution whose id is that of a trait they say with which work on
	// trees that have it; where they are not given, with all work by hand.
	Classes []Class  `yaml:"classes"`
	Works   []string `yaml:"works"`

	// Region is where it holds, as people there read it, set before the text; empty:
	// everywhere. A club adds what its law asks for so.
	Region string `yaml:"region"`
}

// Words returns the caution as people read it.
func (c *Caution) Words() string {
	if c.Region == "" {
		return c.Text
	}
	return "In " + c.Region + ": " + c.Text
}

var allTraits = Traits()

// goesWith reports whether a caution shows of itself with a work on trees of s, which
// may be nil.
func (c *Caution) goesWith(w *Work, s *Species) bool {
	named := slices.Contains(c.Classes, w.Class) || slices.Contains(c.Works, w.ID)
	if !slices.Contains(allTraits, Trait(c.ID)) {
		return named
	}
	if len(c.Classes) == 0 && len(c.Works) == 0 {
		named = w.byHand()
	}
	return named && s != nil && s.Has(Trait(c.ID))
}

// byHand reports whether a work is done with the hands on the tree.
func (w *Work) byHand() bool {
	return slices.Contains([]Class{Collecting, Roots, Branches, Wire, Foliage}, w.Class)
}

// PoisonUnknown is the id of the caution that shows with work by hand on a species of
// which it is not known whether it is poisonous.
const PoisonUnknown = "poison-unknown"
