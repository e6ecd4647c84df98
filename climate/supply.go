package climate

import (
	"fmt"
	"math"
	"time"
)

// Kind is how a source of weather comes by its values. Of two values of one day
// the one of the higher kind is taken.
type Kind uint8

// The kinds, from least to best.
const (
	Foretold    Kind = iota + 1 // days ahead, by a weather service
	Analysis                    // what a weather service's model says of days past
	FromStation                 // read at a station in the neighbourhood
	OwnReading                  // read where the trees stand
)

var kindNames = [...]string{Foretold: "forecast", Analysis: "analysis", FromStation: "station", OwnReading: "own reading"}

// String returns the kind as people read it.
func (k Kind) String() string {
	if k < Foretold || k > OwnReading {
		return "unknown"
	}
	return kindNames[k]
}

// MarshalText writes what String returns.
func (k Kind) MarshalText() ([]byte, error) {
	if k < Foretold || k > OwnReading {
		return nil, fmt.Errorf("kind %d: want 1 to %d", k, OwnReading)
	}
	return []byte(k.String()), nil
}

// UnmarshalText reads what MarshalText writes.
func (k *Kind) UnmarshalText(b []byte) error {
	for i := Foretold; i <= OwnReading; i++ {
		if kindNames[i] == string(b) {
			*k = i
			return nil
		}
	}
	return fmt.Errorf("kind %q: want one of %v", b, kindNames[Foretold:])
}

// Reading is the weather of one day as one source has it. What it does not have
// is NaN.
type Reading struct {
	On         Date
	Tmin, Tmax float64 // C, -90 to 60, the minimum not above the maximum
	Prcp       float64 // mm, 0 to 2000

	Got time.Time // when these values were first had
}

// Validate reports the first value of r that cannot be.
func (r Reading) Validate() error {
	if _, err := ParseDate(r.On.String()); err != nil {
		return err
	}
	for _, v := range []struct {
		name   string
		v      float64
		lo, hi float64
		unit   string
	}{{"tmin", r.Tmin, lowest, highest, "C"}, {"tmax", r.Tmax, lowest, highest, "C"}, {"prcp", r.Prcp, 0, wettest, "mm"}} {
		if v.v < v.lo || v.v > v.hi {
			return fmt.Errorf("%v: %s %v: want %v to %v %s", r.On, v.name, v.v, v.lo, v.hi, v.unit)
		}
	}
	if r.Tmin > r.Tmax {
		return fmt.Errorf("%v: tmin %v: want no more than that day's tmax, %v", r.On, r.Tmin, r.Tmax)
	}
	return nil
}

// wettest is the most precipitation that a day may have, mm.
const wettest = 2000

// Series is what one source says of a place's weather.
type Series struct {
	Source string // as shown to people
	Kind   Kind

	// Elevation is that for which the temperatures hold, m above sea level; nil
	// where it is that of the site, or not known.
	Elevation *float64

	Readings []Reading // in the order of days, none twice
}

// SeriesOf returns the measured values of a record as a series.
func SeriesOf(r *Record, kind Kind, got time.Time) Series {
	s := Series{Source: r.Source, Kind: kind}
	value := func(v float64, o Origin) float64 {
		if o != Measured {
			return math.NaN()
		}
		return v
	}
	for i, d := range r.Days {
		v := Reading{
			On: r.First + Date(i), Tmin: value(d.Tmin, d.TminOrigin), Tmax: value(d.Tmax, d.TmaxOrigin), Prcp: value(d.Prcp, d.PrcpOrigin), Got: got,
		}
		if !v.empty() {
			s.Readings = append(s.Readings, v)
		}
	}
	return s
}

func (r Reading) empty() bool { return math.IsNaN(r.Tmin) && math.IsNaN(r.Tmax) && math.IsNaN(r.Prcp) }

// Span is a run of days whose temperatures come from one source. A day counts for
// the lesser of the two sources where they differ.
type Span struct {
	First, Last Date
	Source      string
	Kind        Kind
}

// Supply says how far the weather of an outlook reaches and where it comes from.
type Supply struct {
	// Until is the last day up to the issue of which both temperatures are known
	// and not foretold; NoDate where there is none.
	Until Date

	From  []Share  // of the year up to the issue, the most days first
	Notes []string // what was left out, and how values were adjusted
}

// Share is how many days of a year come from a source.
type Share struct {
	Source string `json:"source"`
	Kind   Kind   `json:"kind"`
	Days   int    `json:"days"`
	Last   Date   `json:"last"`
}

// Supply returns where the weather up to issue comes from.
func (w *Weather) Supply(issue Date) Supply {
	s := Supply{Until: NoDate}
	for _, r := range []*Record{w.Record, w.Forecast} {
		if r == nil {
			continue
		}
		s.Notes = append(s.Notes, r.Notes...)
		spans := r.Spans
		if spans == nil {
			spans = r.plainSpans(issue - 364)
		}
		for _, p := range spans {
			s.count(p, issue)
		}
	}
	if w.Record != nil {
		for d := min(issue, w.Record.Last()); d.Valid() && d >= w.Record.First; d-- {
			if day := w.Record.At(d); min(day.TminOrigin, day.TmaxOrigin) == Measured {
				s.Until = d
				break
			}
		}
	}
	return s
}

// plainSpans are the spans, from first on, of a record that is of one source.
func (r *Record) plainSpans(first Date) []Span {
	var out []Span
	for d := max(first, r.First); d <= r.Last(); d++ {
		day := r.At(d)
		kind := FromStation
		switch min(day.TminOrigin, day.TmaxOrigin) {
		case Measured:
		case Predicted:
			kind = Foretold
		default:
			continue
		}
		out = lengthened(out, Span{d, d, r.Source, kind})
	}
	return out
}

// lengthened adds a day to spans.
func lengthened(spans []Span, day Span) []Span {
	if n := len(spans); n > 0 && spans[n-1].Last == day.First-1 && spans[n-1].Source == day.Source && spans[n-1].Kind == day.Kind {
		spans[n-1].Last = day.Last
		return spans
	}
	return append(spans, day)
}

// count adds the days of p in the year up to issue.
func (s *Supply) count(p Span, issue Date) {
	first, last := max(p.First, issue-364), min(p.Last, issue)
	if last < first {
		return
	}
	n := int(last-first) + 1
	at := len(s.From)
	for i := range s.From {
		if s.From[i].Source == p.Source && s.From[i].Kind == p.Kind {
			at = i
		}
	}
	if at == len(s.From) {
		s.From = append(s.From, Share{Source: p.Source, Kind: p.Kind, Last: last})
	}
	s.From[at].Days += n
	s.From[at].Last = max(s.From[at].Last, last)
	for ; at > 0 && s.From[at].Days > s.From[at-1].Days; at-- {
		s.From[at], s.From[at-1] = s.From[at-1], s.From[at]
	}
}
