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

	// Why says what the days rest on, with the numbers. It stays as it is from day to
	// day while the days do.
	Why string

	// SoFar says how much of the warmth, or of the aging of leaves, that the phase waits
	// for has come by the issue day, and so moves every day. It is empty where that is
	// not measured, and once the phase has come.
	SoFar string
}
