package climate

// Origin says how a value of a record came to be.
type Origin uint8

// The origins, from nothing to best known.
const (
	Missing      Origin = iota // no value; the number beside it means nothing
	Typical                    // taken from the typical year, for want of anything else
	Interpolated               // from the days around a short gap
	Predicted                  // a provider's weather forecast
	Measured                   // read at the station
)

// Day is the weather of one day.
type Day struct {
	Tmin float64 // lowest air temperature, C, -90 to 60
	Tmax float64 // highest air temperature, C, -90 to 60, not below Tmin
	Prcp float64 // precipitation, mm, 0 to 2000

	TminOrigin, TmaxOrigin, PrcpOrigin Origin
}

// Lowest and highest air temperature that a day may have, C.
const (
	lowest  = -90
	highest = 60
)

// Record is the daily weather of a site without a break: Days[0] is the weather
// of First, and a day that was not read is there with its origins Missing.
type Record struct {
	Source string // where it was read, as shown to people
	First  Date
	Days   []Day

	// Notes say what a reader left out, and how values were adjusted, for people.
	Notes []string

	// Spans say which days are from which source, in order, where the record was
	// put together from several by [Combine]; nil: all are from Source.
	Spans []Span
}

// Last returns the last day of r, or NoDate when r is empty.
func (r *Record) Last() Date {
	if len(r.Days) == 0 {
		return NoDate
	}
	return r.First + Date(len(r.Days)) - 1
}

// At returns the weather of d; its origins are Missing outside the record.
func (r *Record) At(d Date) Day {
	if i := int(d - r.First); i >= 0 && i < len(r.Days) {
		return r.Days[i]
	}
	return Day{}
}

// Until returns the part of r up to and including last. It shares its days with r.
func (r *Record) Until(last Date) *Record {
	n := max(0, min(len(r.Days), int(last-r.First)+1))
	return &Record{Source: r.Source, First: r.First, Days: r.Days[:n]}
}
