package phenology

import (
	"errors"

	"budswell/climate"
)

// Forecaster forecasts the seasons of all trees at one site on one day. It holds
// what they share: the sums of warmth and chill of every member of the outlook,
// and what all sightings of the place together taught.
type Forecaster struct {
	outlook *climate.Outlook
}

// NewForecaster prepares to forecast from o, learning from what was seen at the
// place up to o.Issue; later sightings are not looked at.
func NewForecaster(o *climate.Outlook, seen []Sighting) (*Forecaster, error) {
	if len(o.Members) == 0 {
		return nil, errors.New("phenology: the outlook has no members")
	}
	return &Forecaster{outlook: o}, nil
}

// Draws returns the number of draws of every forecast, a multiple of the number
// of the outlook's members.
func (f *Forecaster) Draws() int { return len(f.outlook.Members) }

// Season forecasts one season of one tree; tree is the name used in its
// sightings, or empty for a tree of which nothing was seen. The season must lie
// within the outlook.
func (f *Forecaster) Season(h Habit, tree string, year int) (*Season, error) {
	return nil, errors.New("phenology: not built yet")
}
