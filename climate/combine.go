package climate

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"time"
)

const (
	// biasFrom is how many days of a grower's own readings, with as many of what
	// stands for them otherwise, it takes to adjust by; biasOver is over how many,
	// the last, the difference is taken, about a season.
	biasFrom = 14
	biasOver = 90

	// biasPrior is how many days the belief weighs that there is no difference.
	// It is judged, no published source: two weeks of one kind of weather tell half.
	biasPrior = 14

	// trimmed is the share of the differences that is left out at either end before
	// their mean is taken, so that a reading in the sun or a misplaced decimal point
	// does not count.
	trimmed = 0.2

	// longestSeries bounds the days of a combined record: 300 years.
	longestSeries = 300 * 366
)

// Combine puts what several sources say of a site together, day by day and value
// by value: of two values the one of the higher [Kind] is taken, of two of one
// kind the one had later, of two had at once that of the series that stands
// first. Values for another elevation are adjusted by [LapseRate]. Once there are two
// weeks of own readings, all that is not read at the place is shifted by how it
// differed from them. Notes say both.
//
// The record ends with its last day that is not foretold; days foretold after
// it are the forecast. Either is nil where it has no days. Where a minimum and a
// maximum of two sources contradict each other, the value of the lesser source is left out.
func Combine(site Site, series []Series) (record, forecast *Record) {
	return combine(site, series, nil)
}

func combine(site Site, series []Series, lapse *Lapse) (record, forecast *Record) {
	var level []Series
	var notes []string
	for _, s := range series {
		s, note := s.at(site, lapse)
		if level = append(level, s); note != "" {
			notes = append(notes, note)
		}
	}
	c := gather(level)
	if c == nil {
		return nil, nil
	}
	if note := c.shift(); note != "" {
		notes = append(notes, note)
	}
	return c.records(notes)
}

// With returns w with what sources said of site laid over its record, which counts as
// that of a station; see [Combine]. Where the rates about the site are known, these are
// taken in place of [LapseRate].
func (w Weather) With(site Site, series []Series) Weather {
	if len(series) == 0 {
		return w
	}
	if w.Record != nil {
		series = append([]Series{SeriesOf(w.Record, FromStation, time.Time{})}, series...)
	}
	record, forecast := combine(site, series, w.Lapse)
	if record != nil && w.Record != nil {
		record.Notes = append(slices.Clone(w.Record.Notes), record.Notes...)
	}
	w.Record = record
	if forecast != nil {
		w.Forecast = forecast
	}
	return w
}

// bounded keeps a temperature that was adjusted in the range of what may be; NaN
// stays what it is.
func bounded(t float64) float64 { return max(lowest, min(t, highest)) }

// value is one value of a day and where it comes from; from is -1 where there is none.
type value struct {
	v    float64
	kind Kind
	got  time.Time
	from int
}

// combined is the best of several sources, and beside it the best of those that
// are not read at the place.
type combined struct {
	names        []string
	first        Date
	best, remote [][3]value // of minimum, maximum and precipitation
}

// better reports whether v is to be taken before w.
func (v value) better(w value) bool {
	return w.from < 0 || v.kind > w.kind || v.kind == w.kind && v.got.After(w.got)
}

// gather finds the best value of each day; nil where there is none.
func gather(series []Series) *combined {
	first, last := NoDate, NoDate
	c := &combined{}
	for i := range series {
		c.names = append(c.names, series[i].Source)
		for _, r := range series[i].Readings {
			if r.empty() {
				continue
			}
			if !first.Valid() || r.On < first {
				first = r.On
			}
			last = max(last, r.On)
		}
	}
	if !first.Valid() {
		return nil
	}
	c.first = max(first, last-longestSeries+1)
	n := int(last-c.first) + 1
	c.best, c.remote = make([][3]value, n), make([][3]value, n)
	for k := range n {
		for e := range c.best[k] {
			c.best[k][e].from, c.remote[k][e].from = -1, -1
		}
	}
	for i, s := range series {
		for _, r := range s.Readings {
			k := int(r.On - c.first)
			if k < 0 {
				continue
			}
			for e, v := range [3]float64{r.Tmin, r.Tmax, r.Prcp} {
				if math.IsNaN(v) {
					continue
				}
				v := value{v, s.Kind, r.Got, i}
				if v.better(c.best[k][e]) {
					c.best[k][e] = v
				}
				if s.Kind != OwnReading && v.better(c.remote[k][e]) {
					c.remote[k][e] = v
				}
			}
		}
	}
	return c
}

// shift adjusts the temperatures that were not read at the place.
func (c *combined) shift() string {
	by := [2]float64{}
	days := [2]int{}
	for e := range by {
		var diffs []float64
		for k := len(c.best) - 1; k >= 0 && len(diffs) < biasOver; k-- {
			own, other := c.best[k][e], c.remote[k][e]
			if own.from >= 0 && own.kind == OwnReading && other.from >= 0 && other.kind != Foretold {
				diffs = append(diffs, own.v-other.v)
			}
		}
		if n := len(diffs); n >= biasFrom {
			by[e], days[e] = trimmedMean(diffs)*float64(n)/float64(n+biasPrior), n
		}
	}
	if days == [2]int{} {
		return ""
	}
	for k := range c.best {
		for e := range by {
			if v := &c.best[k][e]; v.from >= 0 && v.kind != OwnReading {
				v.v = bounded(v.v + by[e])
			}
		}
	}
	return fmt.Sprintf("what was not read at the place was taken %+.1f C by night and %+.1f C by day, after %d and %d days of own readings beside it",
		by[0], by[1], days[0], days[1])
}

// trimmedMean returns the mean without the ends; vs, which is not empty, is put in order.
func trimmedMean(vs []float64) float64 {
	slices.Sort(vs)
	cut := int(trimmed * float64(len(vs)))
	vs = vs[cut : len(vs)-cut]
	sum := 0.0
	for _, v := range vs {
		sum += v
	}
	return sum / float64(len(vs))
}

// records makes the record and the forecast that follows it.
func (c *combined) records(notes []string) (record, forecast *Record) {
	n := 0 // days of the record
	for k, day := range c.best {
		for e, v := range day {
			// Rain alone makes no day of a record longer.
			if e < 2 && v.from >= 0 && v.kind != Foretold {
				n = k + 1
			}
		}
	}
	part := func(from, to int) *Record {
		if from == to {
			return nil
		}
		r := &Record{First: c.first + Date(from)}
		for k := from; k < to; k++ {
			day, span := c.day(k)
			r.Days = append(r.Days, day)
			if span.Source != "" {
				r.Spans = lengthened(r.Spans, span)
			}
		}
		r.Source = cmp.Or(r.mainSource(), c.names[0])
		return r
	}
	record, forecast = part(0, n), part(n, len(c.best))
	if record != nil {
		record.Notes = notes
	} else if forecast != nil {
		forecast.Notes = notes
	}
	return record, forecast
}

// day returns day k, and its span where it has both temperatures.
func (c *combined) day(k int) (d Day, s Span) {
	lo, hi, wet := c.best[k][0], c.best[k][1], c.best[k][2]
	if lo.from >= 0 && hi.from >= 0 && lo.v > hi.v {
		if hi.better(lo) {
			lo.from = -1
		} else {
			hi.from = -1
		}
	}
	set := func(v value, to *float64, origin *Origin) {
		if v.from < 0 {
			return
		}
		*to, *origin = v.v, Measured
		if v.kind == Foretold {
			*origin = Predicted
		}
	}
	set(lo, &d.Tmin, &d.TminOrigin)
	set(hi, &d.Tmax, &d.TmaxOrigin)
	set(wet, &d.Prcp, &d.PrcpOrigin)
	if lo.from < 0 || hi.from < 0 {
		return d, Span{}
	}
	lesser := lo
	if lo.better(hi) {
		lesser = hi
	}
	on := c.first + Date(k)
	return d, Span{on, on, c.names[lesser.from], lesser.kind}
}

// mainSource returns the source of most days, the first of equals; where none has
// both temperatures, nothing.
func (r *Record) mainSource() string {
	days := map[string]Date{}
	best := ""
	for _, s := range r.Spans {
		days[s.Source] += s.Last - s.First + 1
	}
	for _, s := range r.Spans {
		if best == "" || days[s.Source] > days[best] {
			best = s.Source
		}
	}
	return best
}
