package source

import (
	"bytes"
	"encoding/json"
	"errors"
	"io"
	"math"
	"strconv"
	"time"

	"budswell/climate"
)

// step is one stretch of a forecast or analysis. NaN stands for what is not given.
type step struct {
	at     time.Time
	length time.Duration
	temp   float64 // at its beginning, C
	lo, hi float64 // over it, C
	prcp   float64 // over it, mm
}

// coarse is the longest step whose temperatures at both ends stand for those
// between; longer ones want their lowest and highest.
const coarse = 3 * time.Hour

// daily makes days of the clock of loc out of steps in order. A day that is not
// covered from its beginning to its end, 23 or 25 hours where the clock changes,
// or that lacks a temperature, is not taken; one that lacks precipitation is, without it.
// A step that reaches over midnight counts for the day in which its middle lies.
func daily(steps []step, loc *time.Location, got time.Time) []climate.Reading {
	if len(steps) == 0 {
		return nil
	}
	var out []climate.Reading
	last := climate.DateOf(steps[len(steps)-1].at.In(loc))
	i := 0
	for d := climate.DateOf(steps[0].at.In(loc)); d <= last; d++ {
		from, to := dayStart(d, loc), dayStart(d+1, loc)
		if !from.Before(to) {
			continue // the clock left this day out
		}
		for i < len(steps) && !steps[i].end().After(from) {
			i++
		}
		if r, ok := dayOf(steps[i:], from, to); ok {
			r.On, r.Got = d, got
			out = append(out, r)
		}
	}
	return out
}

func (s step) end() time.Time { return s.at.Add(s.length) }

// dayOf sums up the day from one midnight to the next. The first of the steps
// must be the first that ends after it began.
func dayOf(steps []step, from, to time.Time) (r climate.Reading, whole bool) {
	if len(steps) == 0 || steps[0].at.After(from) {
		return r, false
	}
	r.Tmin, r.Tmax = math.Inf(1), math.Inf(-1)
	take := func(t float64) {
		r.Tmin, r.Tmax = min(r.Tmin, t), max(r.Tmax, t)
	}
	reached := from
	for k, s := range steps {
		if s.at.After(to) || k > 0 && !s.at.Equal(steps[k-1].end()) {
			break
		}
		if !s.at.Before(from) {
			if math.IsNaN(s.temp) {
				return r, false
			}
			take(s.temp)
		}
		if s.at.Equal(to) {
			break
		}
		reached = s.end()
		if s.length > coarse && (math.IsNaN(s.lo) || math.IsNaN(s.hi)) {
			return r, false
		}
		if middle := s.at.Add(s.length / 2); middle.Before(from) || !middle.Before(to) {
			continue
		}
		r.Prcp += s.prcp
		if !math.IsNaN(s.lo) && !math.IsNaN(s.hi) {
			take(s.lo)
			take(s.hi)
		}
	}
	return r, !reached.Before(to) && r.Tmin <= r.Tmax
}

// dayStart returns the first moment of a day of the clock of loc, which is not
// midnight where the clock is put forward then, and is the first of two midnights
// where it is put back. Clocks are changed at quarters of an hour.
func dayStart(d climate.Date, loc *time.Location) time.Time {
	t := d.Time()
	t = time.Date(t.Year(), t.Month(), t.Day(), 0, 0, 0, 0, loc).Add(-26 * time.Hour)
	for climate.DateOf(t) < d {
		t = t.Add(15 * time.Minute)
	}
	return t.UTC()
}

// strict reads one JSON value and nothing after it.
func strict(data []byte, v any) error {
	d := json.NewDecoder(bytes.NewReader(data))
	if err := d.Decode(v); err != nil {
		if errors.Is(err, io.ErrUnexpectedEOF) || errors.Is(err, io.EOF) {
			return errors.New("the JSON is cut off")
		}
		return err
	}
	if _, err := d.Token(); !errors.Is(err, io.EOF) {
		return errors.New("something follows the JSON")
	}
	return nil
}

// coordinate writes degrees cut to four decimals, some eleven metres: to ask for
// more is refused by MET Norway, and tells more of where someone lives than
// weather needs.
func coordinate(v float64) string {
	return strconv.FormatFloat(math.Trunc(v*1e4)/1e4, 'f', -1, 64)
}

// orNaN returns the number or NaN for null.
func orNaN(v *float64) float64 {
	if v == nil {
		return math.NaN()
	}
	return *v
}
