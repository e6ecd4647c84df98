package store

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"math"

	"budswell/climate"
)

// A packed year is one byte that names the form, and then for each day, from
// the first day of the record that falls in the year, three little-endian IEEE
// 754 numbers (Tmin, Tmax, precipitation) and the three origins in one byte
// each. Every bit of a value is kept.
const (
	packedForm = 1
	packedDay  = 3*8 + 3
)

// pack writes days as one value.
func pack(days []climate.Day) []byte {
	out := make([]byte, 1, 1+len(days)*packedDay)
	out[0] = packedForm
	for _, d := range days {
		for _, v := range [...]float64{d.Tmin, d.Tmax, d.Prcp} {
			out = binary.LittleEndian.AppendUint64(out, math.Float64bits(v))
		}
		out = append(out, byte(d.TminOrigin), byte(d.TmaxOrigin), byte(d.PrcpOrigin))
	}
	return out
}

// unpack appends the days of a packed year to days.
func unpack(days []climate.Day, b []byte) ([]climate.Day, error) {
	if len(b) == 0 || b[0] != packedForm || (len(b)-1)%packedDay != 0 {
		return nil, fmt.Errorf("packed weather of %d bytes: want form %d in days of %d bytes", len(b), packedForm, packedDay)
	}
	number := func(b []byte) float64 { return math.Float64frombits(binary.LittleEndian.Uint64(b)) }
	for b = b[1:]; len(b) > 0; b = b[packedDay:] {
		d := climate.Day{
			Tmin: number(b), Tmax: number(b[8:]), Prcp: number(b[16:]),
			TminOrigin: climate.Origin(b[24]), TmaxOrigin: climate.Origin(b[25]), PrcpOrigin: climate.Origin(b[26]),
		}
		if max(d.TminOrigin, d.TmaxOrigin, d.PrcpOrigin) > climate.Measured {
			return nil, fmt.Errorf("packed weather: origins %v: want 0 to %d", b[24:packedDay], climate.Measured)
		}
		days = append(days, d)
	}
	return days, nil
}

// The kinds of series that a site has.
const (
	ofRecord   = "record"
	ofForecast = "forecast"
)

// packedYear is a row of the weather table.
type packedYear struct {
	year int
	days []byte
}

func (t tx) years(site int64, kind string) ([]packedYear, error) {
	return all(t, func(row scanner) (y packedYear, err error) {
		return y, row.Scan(&y.year, &y.days)
	}, "select year, days from weather where site = $1 and kind = $2 order by year", site, kind)
}

// putDays keeps the days of r, which may be nil, and rewrites only the years
// that differ from those kept.
func (t tx) putDays(site int64, kind string, r *climate.Record) error {
	kept, err := t.years(site, kind)
	if err != nil {
		return err
	}
	was := make(map[int][]byte, len(kept))
	for _, y := range kept {
		was[y.year] = y.days
	}
	var rest []climate.Day
	var first climate.Date
	if r != nil {
		rest, first = r.Days, r.First
	}
	for len(rest) > 0 {
		year := first.Year()
		n := min(len(rest), int(climate.NewDate(year+1, 1, 1)-first))
		if b := pack(rest[:n]); !bytes.Equal(b, was[year]) {
			if _, err := t.exec(`insert into weather (site, kind, year, days) values ($1, $2, $3, $4)
				on conflict (site, kind, year) do update set days = excluded.days`, site, kind, year, b); err != nil {
				return err
			}
		}
		delete(was, year)
		rest, first = rest[n:], first+climate.Date(n)
	}
	for year := range was {
		if _, err := t.exec("delete from weather where site = $1 and kind = $2 and year = $3", site, kind, year); err != nil {
			return err
		}
	}
	return nil
}

// days reads what putDays kept of a series that begins on first.
func (t tx) days(site int64, kind string, first climate.Date) ([]climate.Day, error) {
	kept, err := t.years(site, kind)
	if err != nil {
		return nil, err
	}
	var out []climate.Day
	if len(kept) > 0 {
		out = make([]climate.Day, 0, len(kept)*366)
	}
	for _, y := range kept {
		if next := first + climate.Date(len(out)); next.Year() != y.year {
			return nil, fmt.Errorf("%s of site %d: year %d stands where %s should be", kind, site, y.year, next)
		}
		if out, err = unpack(out, y.days); err != nil {
			return nil, fmt.Errorf("%s of site %d, year %d: %w", kind, site, y.year, err)
		}
	}
	return out, nil
}
