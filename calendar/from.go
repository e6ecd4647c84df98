package calendar

import (
	"encoding/json"
	"fmt"

	"budswell/climate"
)

// Layer says whose words a part of the lore are. A layer holds over those before it.
type Layer string

// The layers, the lowest first.
const (
	LayerBuiltIn Layer = "built-in" // part of the program
	LayerFile    Layer = "file"     // of whoever runs the program, or of a plan file
	LayerClub    Layer = "club"
	LayerGrower  Layer = "grower"
)

// From is where a rule or a species has its words from.
type From struct {
	Layer Layer        `json:"layer"`
	File  string       `json:"file,omitempty"` // its name, of what is built in or was read from a file
	ID    string       `json:"id,omitempty"`   // of the club or grower
	Name  string       `json:"name,omitempty"` // of the club or grower, as people read it
	By    string       `json:"by,omitempty"`   // who wrote it for a club, as people read it; empty where not known
	Since climate.Date `json:"-"`              // the day on which it was written so; NoDate where not known

	// Over is where what it amends is from, nil where it stands for itself: the fields
	// that it does not give are those of Over.
	Over *From `json:"over,omitempty"`
}

// MarshalJSON writes where it is from in the public form; since is left out where it is
// not known.
func (f *From) MarshalJSON() ([]byte, error) {
	type plain From
	return json.Marshal(struct {
		*plain
		Since *climate.Date `json:"since,omitempty"`
	}{(*plain)(f), dayJSON(f.Since)})
}

// Words says where it is from, as people read it.
func (f *From) Words() string {
	if f == nil {
		return ""
	}
	out := ""
	switch f.Layer {
	case LayerClub:
		out = "club " + f.Name
	case LayerGrower:
		out = "your own"
	case LayerFile:
		return "the file " + f.File
	default:
		return "built in"
	}
	if f.Since.Valid() {
		out += " since " + f.Since.String()
	}
	if f.By != "" {
		out += fmt.Sprintf(", by %s", f.By)
	}
	return out
}
