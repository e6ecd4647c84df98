package source

import (
	"fmt"
	"math"
	"slices"
	"strconv"

	"budswell/climate"
)

// element is what a value is of.
type element uint8

const (
	tmin element = iota
	tmax
	prcp
	elements // how many there are
)

// Ranges of climate.Day, in C and mm.
var ranges = [elements]struct {
	lo, hi float64
	unit   string
}{{-90, 60, "C"}, {-90, 60, "C"}, {0, 2000, "mm"}}

// maxYears bounds the span of a record, and with it the memory it takes.
const maxYears = 300

// days gathers the values of a file, in any order.
type days struct {
	name    string
	names   [elements]string // what the file calls the elements
	values  []value
	first   climate.Date
	last    climate.Date
	refused int // values with a quality flag
	clashes int // days of which minimum and maximum contradict each other
}

type value struct {
	date climate.Date
	line int32
	of   element
	v    float64 // C or mm
	text string
}

func newDays(name string, names [elements]string) *days {
	return &days{name: name, names: names, first: math.MaxInt32, last: math.MinInt32}
}

// see notes that the file has a line for the day d.
func (b *days) see(d climate.Date) {
	b.first, b.last = min(b.first, d), max(b.last, d)
}

// add takes the value v of an element, whose text stands in line. hint is added
// to what would be right when it is out of range.
func (b *days) add(d climate.Date, line int, of element, v float64, text, hint string) error {
	r := ranges[of]
	if math.IsNaN(v) || v < r.lo || v > r.hi {
		return &Error{b.name, line, b.names[of], text, fmt.Sprintf("%v to %v %s%s", r.lo, r.hi, r.unit, hint)}
	}
	b.see(d)
	b.values = append(b.values, value{d, int32(line), of, v, text})
	return nil
}

// record puts the days together. Where a minimum exceeds its maximum it is an error
// if strict, else neither is taken.
func (b *days) record(strict bool) (*climate.Record, error) {
	if b.last < b.first {
		return nil, &Error{File: b.name, Want: "at least one day of weather"}
	}
	if years := float64(b.last-b.first) / 365.25; years > maxYears {
		return nil, &Error{
			File: b.name, Field: "date", Value: fmt.Sprintf("%v to %v", b.first, b.last),
			Want: fmt.Sprintf("a span of %d years at most", maxYears),
		}
	}
	n := int(b.last-b.first) + 1
	r := &climate.Record{Source: b.name, First: b.first, Days: make([]climate.Day, n)}
	var at [elements][]*value
	for e := range at {
		at[e] = make([]*value, n)
	}
	for i := range b.values {
		v := &b.values[i]
		k := v.date - b.first
		if old := at[v.of][k]; old != nil {
			return nil, &Error{
				b.name, int(v.line), "date", v.date.String(),
				fmt.Sprintf("one value of %s a day; line %d has that day too", b.names[v.of], old.line),
			}
		}
		at[v.of][k] = v
	}
	for k := range r.Days {
		lo, hi, wet := at[tmin][k], at[tmax][k], at[prcp][k]
		if lo != nil && hi != nil && lo.v > hi.v {
			if strict {
				return nil, &Error{
					b.name, int(lo.line), b.names[tmin], lo.text,
					fmt.Sprintf("no more than that day's %s of %s", b.names[tmax], hi.text),
				}
			}
			b.clashes++
			lo, hi = nil, nil
		}
		day := &r.Days[k]
		if lo != nil {
			day.Tmin, day.TminOrigin = lo.v, climate.Measured
		}
		if hi != nil {
			day.Tmax, day.TmaxOrigin = hi.v, climate.Measured
		}
		if wet != nil {
			day.Prcp, day.PrcpOrigin = wet.v, climate.Measured
		}
	}
	if b.refused > 0 {
		r.Notes = append(r.Notes, fmt.Sprintf("%d values refused that the station's quality control had flagged", b.refused))
	}
	if b.clashes > 0 {
		r.Notes = append(r.Notes, fmt.Sprintf("%d days left out whose minimum was above the maximum", b.clashes))
	}
	return r, nil
}

// median returns the median of an element, and how many values it has.
func (b *days) median(of element) (m float64, n int) {
	var vs []float64
	for _, v := range b.values {
		if v.of == of {
			vs = append(vs, v.v)
		}
	}
	if len(vs) == 0 {
		return math.NaN(), 0
	}
	slices.Sort(vs)
	return vs[len(vs)/2], len(vs)
}

// number reads a decimal number; NaN and infinities are none.
func number(s string) (float64, bool) {
	v, err := strconv.ParseFloat(s, 64)
	if err != nil || math.IsNaN(v) || math.IsInf(v, 0) {
		return 0, false
	}
	return v, true
}
