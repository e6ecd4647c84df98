package pages

import (
	"io"

	"budswell/calendar"
	"budswell/climate"
	"budswell/feeds/wording"
)

// Places is the list of a grower's places.
type Places struct {
	Said   string
	Places []Place
}

// Place is a line of the list, and of what dates rest on.
type Place struct {
	ID    string
	Name  string
	Basis string
	Known string // how old the weather is

	Adjusted string // how it was; in English
	Trees    int

	Sources  []Source // that its weather keeps coming from
	Readings string   // path of the page of what is read there
}

// PlaceOf describes a place by its plan. Known is the last day of measured weather, or NoDate.
func PlaceOf(in *wording.Tongue, id string, p *calendar.Plan, known climate.Date) Place {
	return Place{ID: id, Name: p.Site.Name, Basis: in.Rests(p.Basis), Known: knownOf(in, p, known), Adjusted: wording.Adjusted(p.Supply), Trees: len(p.Trees)}
}

// Places writes the page.
func (p *Pages) Places(w io.Writer, l *Places) error { return p.write(w, "places.html", l) }
