package calendar

import (
	"budswell/calendar/sums"
	"budswell/climate"
	"budswell/climate/phenology"
)

// Tree is one tree that a grower keeps. What it has been through is its log;
// everything else about its state follows from that.
type Tree struct {
	ID      string `yaml:"id" json:"id"` // stable; made from the name where none is given
	Name    string `yaml:"name" json:"name"`
	Species string `yaml:"species" json:"species"` // any name the lore finds
	Origin  Origin `yaml:"origin" json:"origin"`

	// FieldSoil is the share of the root ball that was field soil when the log
	// begins, 0 to 1; nil: all for a collected or field-grown tree, none otherwise.
	FieldSoil *float64 `yaml:"field_soil" json:"field_soil,omitempty"`

	Container Container `yaml:"container" json:"container"`
	Bench     string    `yaml:"bench" json:"bench,omitempty"` // id of that on which it stood when the log begins; empty: in the open
	Note      string    `yaml:"note" json:"note,omitempty"`
	Log       []Entry   `yaml:"log" json:"log"`
}

// Origin is where a tree came from.
type Origin string

// The origins.
const (
	Collected  Origin = "collected" // dug in the wild
	FieldGrown Origin = "field-grown"
	Nursery    Origin = "nursery"
	Cutting    Origin = "cutting"
	Layered    Origin = "layered"
	Grafted    Origin = "grafted"
	Seedling   Origin = "seedling"
)

// Origins lists all origins.
func Origins() []Origin {
	return []Origin{Collected, FieldGrown, Nursery, Cutting, Layered, Grafted, Seedling}
}

// dug reports whether trees of this origin came out of the ground, and so have
// field soil to lose and a digging to recover from.
func (o Origin) dug() bool { return o == Collected || o == FieldGrown }

// The kinds of container.
const (
	Box         = "box"
	TrainingPot = "training pot"
	FinalPot    = "final pot" // that in which the tree is shown
)

// Container is what a tree stands in.
type Container struct {
	Kind   string  `yaml:"kind" json:"kind,omitempty"`     // box, training pot, final pot; empty where not known
	Litres float64 `yaml:"litres" json:"litres,omitempty"` // 0 where not known, else 0.05 to 500

	// Shape (rectangle where not said), and the inner Length, Width and Depth, cm, of
	// what it stands in, as [sums.Vessel] has them; all three of these or none. They
	// go before Litres.
	Shape  sums.Shape `yaml:"shape" json:"shape,omitempty"`
	Length float64    `yaml:"length" json:"length,omitempty"`
	Width  float64    `yaml:"width" json:"width,omitempty"`
	Depth  float64    `yaml:"depth" json:"depth,omitempty"`

	Mix string `yaml:"mix" json:"mix,omitempty"` // such as "2 pumice, 1 lava": see [sums.ParseMix]
}

// Entry is one line of a tree's log: on a day somebody did a work, or saw
// something. Exactly one of Did, Saw, NotYet, Judged and Moved is given. Entries are
// only ever added.
type Entry struct {
	On  climate.Date    `yaml:"on" json:"on"`
	Did string          `yaml:"did" json:"did,omitempty"` // id of a work; "collected" is read as collect
	Saw phenology.Phase `yaml:"saw" json:"saw,omitempty"`

	// NotYet: the tree was looked at and had not reached this phase.
	NotYet phenology.Phase `yaml:"not_yet" json:"not_yet,omitempty"`

	// Judged is the grower's own judgement of the tree on that day.
	Judged *Judgement `yaml:"judged" json:"judged,omitempty"`

	// Moved is the id of the bench that the tree was put on.
	Moved string `yaml:"moved" json:"moved,omitempty"`

	// FieldSoilLeft is the share of field soil left after root work, 0 to 1.
	FieldSoilLeft *float64 `yaml:"field_soil_left" json:"field_soil_left,omitempty"`

	Note string `yaml:"note" json:"note,omitempty"`
}

// Judgement is what a grower says of a tree when its log tells too little.
type Judgement struct {
	Stage    Stage    `yaml:"stage" json:"stage,omitempty"`
	Strength Strength `yaml:"strength" json:"strength,omitempty"`
}

// Strength is how well a tree grows.
type Strength string

// The strengths, in order.
const (
	Weak       Strength = "weak"
	Recovering Strength = "recovering"
	Strong     Strength = "strong"
)

// Strengths lists the strengths in order.
func Strengths() []Strength { return []Strength{Weak, Recovering, Strong} }

// Sightings returns what the log says was seen of the tree's phases.
func (t *Tree) Sightings(species string) []phenology.Sighting {
	var out []phenology.Sighting
	for _, e := range t.Log {
		s := phenology.Sighting{Tree: t.ID, Species: species, On: climate.NoDate, NotYet: climate.NoDate}
		switch {
		case e.Saw != "":
			s.Phase, s.On = e.Saw, e.On
			for _, n := range t.Log {
				if n.NotYet == e.Saw && n.On < e.On && e.On-n.On < 120 {
					s.NotYet = max(s.NotYet, n.On)
				}
			}
		case e.NotYet != "":
			s.Phase, s.NotYet = e.NotYet, e.On
		default:
			continue
		}
		out = append(out, s)
	}
	return out
}
