package calendar

import (
	"slices"

	"budswell/climate/phenology"
)

// Grade says how a kind of tree answers something, in three steps; empty where it is
// not known, which the plan takes for the most delicate.
type Grade string

// Grades of back-budding, of the answer to root work, of what new growth stands of
// frost, and of bleeding from cuts while sap rises; from the robust to the delicate.
var (
	BackBudGrades   = []Grade{"readily", "some", "hardly"}
	RootWorkGrades  = []Grade{"well", "fairly", "badly"}
	NewGrowthGrades = []Grade{"hardy", "fairly", "tender"}
	BleedingGrades  = []Grade{"none", "some", "much"}
)

// Answers is how a kind of tree answers what is done to it or befalls it. A genus
// gives it for those of its species that do not say otherwise. What is empty or nil
// is not known: Has then tells of the cautious trait.
type Answers struct {
	Repot     *RepotEvery `yaml:"repot"`
	BackBuds  Grade       `yaml:"back_buds"`  // how readily it buds on old wood: readily, some, hardly
	RootWork  Grade       `yaml:"root_work"`  // how it answers root work: well, fairly, badly
	NewGrowth Grade       `yaml:"new_growth"` // what its new growth stands of frost: hardy, fairly, tender
	Bleeding  Grade       `yaml:"bleeding"`   // sap lost from cuts while it rises: none, some, much
	Poison    *Poison     `yaml:"poison"`
	Pests     []string    `yaml:"pests"` // ids of those that it gets most; nil where not known
}

// RepotEvery is how many growing seasons lie between repots, 0.5 to 10, by age: of a
// young tree until its first styling, of one that is built, of one that is refined.
type RepotEvery struct {
	Young    float64 `yaml:"young"`
	Building float64 `yaml:"building"`
	Refined  float64 `yaml:"refined"`
}

// At returns the growing seasons between repots of a tree at a stage.
func (r *RepotEvery) At(s Stage) float64 {
	switch {
	case s.rank() >= StageRefining.rank():
		return r.Refined
	case s.rank() >= StageBuilding.rank():
		return r.Building
	}
	return r.Young
}

// Poison says what of a tree is poisonous.
type Poison struct {
	Parts   []string `yaml:"parts"`   // as people read them, such as seed or leaves; empty: none that is known of
	Caution string   `yaml:"caution"` // id of the caution that shows with work by hand; empty for none
}

// Genus is what the species of a genus have in common, where their rows do not say
// otherwise.
type Genus struct {
	Name    string `yaml:"name"`
	Answers `yaml:",inline"`
	Source  string            `yaml:"source"`
	Sources map[string]string `yaml:"sources"`
}

// Pest is one that trees get, with what a person sees of it. When to look for it is
// in the rules that are for trees which get it.
type Pest struct {
	ID     string `yaml:"id"`
	Name   string `yaml:"name"`
	Look   string `yaml:"look"`   // what to look for, and where
	Source string `yaml:"source"` // of what is said here; the rules name that of the days
}

// Has reports whether the species has a trait: it is listed, or follows from how the
// species answers. Where that is not known it has those that ask for care and none
// that permits.
func (s *Species) Has(t Trait) bool {
	if slices.Contains(s.Traits, t) {
		return true
	}
	switch t {
	case Bleeder:
		return s.Group == phenology.Deciduous && (s.Bleeding == "" || s.Bleeding != "none")
	case SoftGrowthFrost:
		return s.NewGrowth == "" || s.NewGrowth == "tender"
	case BudsOnOldWood:
		return s.BackBuds == "readily"
	case HardlyBackBuds:
		return s.BackBuds == "" || s.BackBuds == "hardly"
	case RootSensitive:
		return s.RootWork == "" || s.RootWork == "badly"
	}
	return false
}

// seasons returns the growing seasons that a need asks for since a work, of a tree of
// s at a stage.
func (n *Need) seasons(s *Species, at Stage) float64 {
	if n.Interval && s != nil && s.Repot != nil {
		return s.Repot.At(at)
	}
	return n.Seasons
}
