package intake

import (
	"budswell/calendar"
	"budswell/climate/source"
)

// Credit returns what people are to be told of whose weather a source gives, as a sentence.
func Credit(w calendar.WeatherSource) string {
	var p source.Provider
	switch w.Kind {
	case calendar.SourceOpenMeteo:
		p = &source.OpenMeteo{}
	case calendar.SourceMETNorway:
		p = &source.METNorway{}
	case calendar.SourceStation:
		p = &source.Station{Address: w.At}
	case calendar.SourceFolder:
		p = &source.Folder{Path: w.At}
	default:
		return "Weather of another kind: " + w.Kind + "."
	}
	return p.Credit() + "."
}
