package phenology

import "budswell/climate"

// Season is the forecast of one tree's phases in one growing season. Draw i of
// every phase comes from the same weather (member i modulo the outlook's number
// of members) and the same model, so phases can be combined draw by draw.
type Season struct {
	Year   int // see climate.Site.Season
	Phases map[Phase]Forecast
}

// Forecast is when a phase falls.
type Forecast struct {
	Dates climate.Sample // one day a draw; NoDate where it does not come this season

	// Seen is the day on which it was seen on this very tree, or NoDate.
	Seen climate.Date

	// Fitted tells whether the phase rests on data fitted for it, or only on
	// common practice and priors.
	Fitted bool

	// Why says in a sentence what the days rest on, with the numbers: "41 of 60
	// units of warmth since 1 February; in 8 of 10 years it falls between ...".
	Why string
}
