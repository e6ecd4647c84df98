package calendar

// Work is a kind of work that a person does to a tree.
type Work struct {
	ID       string   `yaml:"id"`    // such as repot
	Title    string   `yaml:"title"` // as people read it: "Repot"
	Class    Class    `yaml:"class"`
	Hard     Hard     `yaml:"hard"`     // what it is hard on; empty for light work
	Cautions []string `yaml:"cautions"` // ids of cautions that always show with it
}

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
}
