package calendar

import (
	"fmt"
	"math"
	"net/url"
	"slices"
	"time"

	"budswell/climate"
)

// ArchiveSource is where the weather of a place keeps coming from.
type ArchiveSource struct {
	Kind      string   `json:"kind"`
	At        string   `json:"at,omitempty"`        // address of a station's file
	Elevation *float64 `json:"elevation,omitempty"` // of the station, m
}

// ArchiveReadings is weather that was read where the trees stand.
type ArchiveReadings struct {
	Source    string       `json:"source"`
	Elevation *float64     `json:"elevation,omitempty"` // m; nil: that of the place
	Days      []ArchiveDay `json:"days"`
}

// ArchiveDay is the weather of one day; what was not read is null.
type ArchiveDay struct {
	On   climate.Date `json:"on"`
	Tmin *float64     `json:"tmin"` // C
	Tmax *float64     `json:"tmax"` // C
	Prcp *float64     `json:"prcp"` // mm
	Got  time.Time    `json:"got"`  // when it was entered
}

// Bounds of what is read, as in archive.go.
const (
	archiveSeries = 20  // of a place
	archiveKinds  = 100 // of nudges that are not wanted
	longestURL    = 2000
)

// ArchiveSourcesOf returns the archived form of the sources of a place, without those
// that an archive does not take along.
func ArchiveSourcesOf(sources []WeatherSource) (out []ArchiveSource) {
	for _, w := range sources {
		if w.Kind != SourceFolder {
			out = append(out, ArchiveSource{w.Kind, w.At, w.Elevation})
		}
	}
	return out
}

// WeatherSources returns the sources of the place for a grower of an id.
func (p *ArchivePlace) WeatherSources(grower string) (out []WeatherSource) {
	for _, s := range p.Sources {
		out = append(out, WeatherSource{Grower: grower, Place: p.ID, Kind: s.Kind, At: s.At, Elevation: s.Elevation})
	}
	return out
}

// ArchiveReadingsOf returns the archived form of what was read at a place itself.
func ArchiveReadingsOf(series []climate.Series) (out []ArchiveReadings) {
	number := func(v float64) *float64 {
		if math.IsNaN(v) {
			return nil
		}
		return &v
	}
	for _, s := range series {
		if s.Kind != climate.OwnReading {
			continue
		}
		a := ArchiveReadings{Source: s.Source, Elevation: s.Elevation, Days: make([]ArchiveDay, 0, len(s.Readings))}
		for _, r := range s.Readings {
			a.Days = append(a.Days, ArchiveDay{r.On, number(r.Tmin), number(r.Tmax), number(r.Prcp), r.Got.UTC()})
		}
		out = append(out, a)
	}
	return out
}

// Series returns the readings as a series.
func (a *ArchiveReadings) Series() climate.Series {
	number := func(v *float64) float64 {
		if v == nil {
			return math.NaN()
		}
		return *v
	}
	s := climate.Series{Source: a.Source, Kind: climate.OwnReading, Elevation: a.Elevation}
	for _, d := range a.Days {
		s.Readings = append(s.Readings, climate.Reading{On: d.On, Tmin: number(d.Tmin), Tmax: number(d.Tmax), Prcp: number(d.Prcp), Got: d.Got})
	}
	return s
}

// checkWeather reports the first source or reading of the place that cannot be.
func (p *ArchivePlace) checkWeather(at string, today climate.Date) error {
	for i, s := range p.Sources {
		field := fmt.Sprintf("%s.sources[%d]", at, i)
		if slices.ContainsFunc(p.Sources[:i], func(o ArchiveSource) bool { return o.Kind == s.Kind }) {
			return wrong(field+".kind", "%q: is there twice; want one of each kind", s.Kind)
		}
		if err := s.check(field); err != nil {
			return err
		}
	}
	if n := len(p.Readings); n > archiveSeries {
		return wrong(at+".own_readings", "%d: want at most %d", n, archiveSeries)
	}
	seen := map[string]bool{}
	for i := range p.Readings {
		a := &p.Readings[i]
		field := fmt.Sprintf("%s.own_readings[%d]", at, i)
		if err := id(field+".source", a.Source, seen); err != nil {
			return err
		}
		if err := a.check(field, today); err != nil {
			return err
		}
	}
	return nil
}

func (s *ArchiveSource) check(at string) error {
	switch s.Kind {
	case SourceOpenMeteo, SourceMETNorway:
		if s.At != "" {
			return wrong(at+".at", "%.60q: want none for %s", s.At, s.Kind)
		}
	case SourceStation:
		u, err := url.Parse(s.At)
		if err != nil || u.Scheme != "https" && u.Scheme != "http" || u.Host == "" || u.User != nil || len(s.At) > longestURL {
			return wrong(at+".at", "%.60q: want an address that begins with https://", s.At)
		}
	case SourceFolder:
		return wrong(at+".kind", "folder: names files of the service's own machine; want them from its keeper, who imports a plan file")
	default:
		return wrong(at+".kind", "%.60q: want one of %s, %s, %s", s.Kind, SourceOpenMeteo, SourceMETNorway, SourceStation)
	}
	return checkElevation(at+".elevation", s.Elevation)
}

func checkElevation(field string, e *float64) error {
	if e != nil && !(*e >= -430 && *e <= 6000) {
		return wrong(field, "%v: want metres from -430 to 6000", *e)
	}
	return nil
}

func (a *ArchiveReadings) check(at string, today climate.Date) error {
	if err := checkElevation(at+".elevation", a.Elevation); err != nil {
		return err
	}
	if n := len(a.Days); n > archiveDays {
		return wrong(at+".days", "%d: want at most %d", n, archiveDays)
	}
	for i, r := range a.Series().Readings {
		field := fmt.Sprintf("%s.days[%d]", at, i)
		switch y := r.Got.Year(); {
		case r.On > today:
			return wrong(field+".on", "%v: lies after today", r.On)
		case i > 0 && r.On <= a.Days[i-1].On:
			return wrong(field+".on", "%v: want days in order, each once", r.On)
		case math.IsNaN(r.Tmin) && math.IsNaN(r.Tmax) && math.IsNaN(r.Prcp):
			return wrong(field, "want a number at least")
		case y < 1970 || y > 9999:
			return wrong(field+".got", "%v: want when it was entered", r.Got)
		}
		if err := r.Validate(); err != nil {
			return fmt.Errorf("%s: %w: %w", field, err, ErrInvalid)
		}
	}
	return nil
}

// checkArchived reports the first preference that cannot be, or is beyond what any
// grower can have set.
func (p *Preferences) checkArchived() error {
	if len(p.Off) > archiveKinds || slices.ContainsFunc(p.Off, func(kind string) bool { return len(kind) > longestID }) {
		return wrong("off", "want at most %d kinds of up to %d letters", archiveKinds, longestID)
	}
	return p.Validate()
}
