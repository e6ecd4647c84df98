package calendar

// Lore is the trade's knowledge: species, works, rules and cautions.
type Lore struct {
	Species  []Species `yaml:"species"`
	Works    []Work    `yaml:"works"`
	Rules    []Rule    `yaml:"rules"`
	Cautions []Caution `yaml:"cautions"`
}
