package calendar

import (
	"time"
)

// The kinds of weather sources that a place may have.
const (
	SourceOpenMeteo = "open-meteo"
	SourceMETNorway = "met-norway"
	SourceStation   = "station" // a station's file on the web
	SourceFolder    = "folder"  // a file or folder of the service's machine
)

// WeatherSource is where the weather of a place keeps coming from, and how that went.
type WeatherSource struct {
	Grower string // id
	Place  string // id
	Kind   string // one of the above; a place has one of each at most
	At     string // address or path; empty for the services

	// Elevation is that of the station, m; nil where it is not known, and for the
	// services, which tell it.
	Elevation *float64

	State SourceState
}

// SourceState is what is remembered of asking a source. It is kept when the
// source itself is put again as it was.
type SourceState struct {
	Tried  time.Time // zero: never
	Got    time.Time // when it last answered, be it that nothing is new; zero: never
	NotYet time.Time // not to be asked before
	Failed int       // times since it last answered
	Why    string    // it did not answer; empty: it did

	Modified string // of the last answer, see climate/source
	Digest   string
}
