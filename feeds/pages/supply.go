package pages

import (
	"budswell/calendar"
	"budswell/climate"
	"budswell/feeds/wording"
)

// knownOf says how old the weather of a plan is and, where it is of more than one
// station, of which sources.
func knownOf(in *wording.Tongue, p *calendar.Plan, known climate.Date) string {
	from := p.Supply.From
	if len(p.Supply.Notes) == 0 && (len(from) == 0 || len(from) == 1 && from[0].Kind == climate.FromStation) {
		return age(in, known, p.On)
	}
	return in.Supplied(p.Supply, p.On)
}

// Source is where the weather of a place keeps coming from.
type Source struct {
	Credit string // whose it is
	Terms  string // web address at which its terms stand; empty: none
	State  string // a sentence, where it does not come
}
