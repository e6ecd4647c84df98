package store

import (
	"bytes"
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"math"
	"slices"
	"time"

	"budswell/calendar"
	"budswell/climate"
)

// A packed year of readings is one byte that names the form, and then for each
// day read its number in the year, when it was had in seconds since 1970, and
// three IEEE 754 numbers (Tmin, Tmax, precipitation), all little-endian. Every
// bit of a value is kept.
const (
	readingForm = 2
	readingSize = 2 + 8 + 3*8
)

func packReadings(rs []climate.Reading) []byte {
	out := make([]byte, 1, 1+len(rs)*readingSize)
	out[0] = readingForm
	for _, r := range rs {
		out = binary.LittleEndian.AppendUint16(out, uint16(r.On.YearDay()))
		out = binary.LittleEndian.AppendUint64(out, uint64(r.Got.Unix()))
		for _, v := range [...]float64{r.Tmin, r.Tmax, r.Prcp} {
			out = binary.LittleEndian.AppendUint64(out, math.Float64bits(v))
		}
	}
	return out
}

func unpackReadings(rs []climate.Reading, year int, b []byte) ([]climate.Reading, error) {
	if len(b) == 0 || b[0] != readingForm || (len(b)-1)%readingSize != 0 {
		return nil, fmt.Errorf("packed readings of %d bytes: want form %d in days of %d bytes", len(b), readingForm, readingSize)
	}
	number := func(b []byte) float64 { return math.Float64frombits(binary.LittleEndian.Uint64(b)) }
	for b = b[1:]; len(b) > 0; b = b[readingSize:] {
		day := climate.Date(binary.LittleEndian.Uint16(b))
		r := climate.Reading{
			On: climate.NewDate(year, time.January, 1) + day - 1, Got: time.Unix(int64(binary.LittleEndian.Uint64(b[2:])), 0).UTC(),
			Tmin: number(b[10:]), Tmax: number(b[18:]), Prcp: number(b[26:]),
		}
		if r.On.Year() != year || len(rs) > 0 && r.On <= rs[len(rs)-1].On {
			return nil, fmt.Errorf("packed readings: day %d of %d: want days of that year in order", day, year)
		}
		rs = append(rs, r)
	}
	return rs, nil
}

// seriesHead is a row of the series table.
type seriesHead struct {
	id int64
	climate.Series
}

func (t tx) seriesHeads(query string, args ...any) ([]seriesHead, error) {
	return all(t, func(row scanner) (h seriesHead, err error) {
		var kind string
		if err := row.Scan(&h.id, &h.Source, &kind, &h.Elevation); err != nil {
			return h, err
		}
		return h, h.Kind.UnmarshalText([]byte(kind))
	}, "select id, source, kind, elevation from series where "+query, args...)
}

// readings reads the packed years of a series as they stand and as days.
func (t tx) readings(id int64) (kept map[int][]byte, rs []climate.Reading, err error) {
	years, err := all(t, func(row scanner) (y packedYear, err error) {
		return y, row.Scan(&y.year, &y.days)
	}, "select year, days from readings where series = $1 order by year", id)
	kept = make(map[int][]byte, len(years))
	for _, y := range years {
		kept[y.year] = y.days
		if rs, err = unpackReadings(rs, y.year, y.days); err != nil {
			return nil, nil, fmt.Errorf("series %d, year %d: %w", id, y.year, err)
		}
	}
	return kept, rs, err
}

// Readings implements [calendar.Store].
func (s *Store) Readings(ctx context.Context, grower, place string) (out []climate.Series, err error) {
	err = s.read(ctx, fmt.Sprintf("readings of place %q of %q", place, grower), func(t tx) error {
		heads, err := t.seriesHeads("grower = $1 and place = $2 order by source, kind", grower, place)
		if err != nil {
			return err
		}
		for _, h := range heads {
			if _, h.Readings, err = t.readings(h.id); err != nil {
				return err
			}
			out = append(out, h.Series)
		}
		return nil
	})
	return out, err
}

// PutReadings implements [calendar.Store].
func (s *Store) PutReadings(ctx context.Context, grower, place string, series climate.Series, whole bool) (changed int, err error) {
	err = s.write(ctx, fmt.Sprintf("put readings of %s for place %q of %q", series.Source, place, grower), func(t tx) error {
		if err := checkSeries(series); err != nil {
			return fmt.Errorf("%w: %w", err, calendar.ErrInvalid)
		}
		if err := t.placed(grower, place); err != nil {
			return err
		}
		id, moved, err := t.putSeries(grower, place, series)
		if err != nil {
			return err
		}
		kept, was, err := t.readings(id)
		if err != nil {
			return err
		}
		rs, n := merged(was, series, whole)
		if changed = n; moved && n == 0 {
			changed = len(rs)
		}
		if changed == 0 {
			return nil
		}
		if err := t.putReadings(id, kept, rs); err != nil {
			return err
		}
		return t.changed(growerOwner(grower))
	})
	if err != nil {
		return 0, err
	}
	return changed, nil
}

func checkSeries(s climate.Series) error {
	if s.Source == "" {
		return errors.New("source is empty")
	}
	if err := finite(s.Elevation); err != nil {
		return err
	}
	for i, r := range s.Readings {
		if err := r.Validate(); err != nil {
			return err
		}
		if i > 0 && r.On <= s.Readings[i-1].On {
			return fmt.Errorf("%v: want days in order, each once", r.On)
		}
	}
	return nil
}

// putSeries returns the number of a series, and whether it is for another
// elevation than it was.
func (t tx) putSeries(grower, place string, s climate.Series) (id int64, moved bool, err error) {
	kind, err := s.Kind.MarshalText()
	if err != nil {
		return 0, false, fmt.Errorf("%w: %w", err, calendar.ErrInvalid)
	}
	heads, err := t.seriesHeads("grower = $1 and place = $2 and source = $3 and kind = $4", grower, place, s.Source, string(kind))
	if err != nil {
		return 0, false, err
	}
	if len(heads) > 0 {
		h := heads[0]
		if sameHeight(h.Elevation, s.Elevation) {
			return h.id, false, nil
		}
		_, err := t.exec("update series set elevation = $1 where id = $2", s.Elevation, h.id)
		return h.id, true, err
	}
	if err := storable(s.Source); err != nil {
		return 0, false, err
	}
	err = t.QueryRowContext(t.ctx, "insert into series (grower, place, source, kind, elevation) values ($1, $2, $3, $4, $5) returning id",
		grower, place, s.Source, string(kind), s.Elevation).Scan(&id)
	return id, false, err
}

// keptAhead is how long days foretold are kept after they passed: as far as an
// outlook looks back.
const keptAhead = 366

// merged lays the readings of a series over what was had before, and counts the
// days that change.
func merged(was []climate.Reading, s climate.Series, whole bool) (out []climate.Reading, changed int) {
	old := make(map[climate.Date]climate.Reading, len(was))
	for _, r := range was {
		old[r.On] = r
	}
	now := make(map[climate.Date]climate.Reading, len(was)+len(s.Readings))
	if !whole {
		for d, r := range old {
			now[d] = r
		}
	}
	for _, r := range s.Readings {
		r.Got = time.Unix(r.Got.Unix(), 0).UTC()
		if before, ok := old[r.On]; ok {
			r = laid(r, before, whole)
		}
		now[r.On] = r
	}
	last := climate.NoDate
	for d, r := range now {
		last = max(last, d)
		if before, ok := old[d]; !ok || !sameValues(before, r) {
			changed++
		}
	}
	for d, r := range now {
		if s.Kind == climate.Foretold && d < last-keptAhead {
			continue
		}
		out = append(out, r)
	}
	for d := range old {
		if _, ok := now[d]; !ok {
			changed++
		}
	}
	slices.SortFunc(out, func(a, b climate.Reading) int { return int(a.On - b.On) })
	return out, changed
}

// laid returns r with what it lacks from before, unless r is all there is, and
// with the time of before where nothing changed. Of a minimum and a maximum that
// contradict each other the older goes.
func laid(r, before climate.Reading, whole bool) climate.Reading {
	if !whole {
		for _, v := range []struct{ to, from *float64 }{{&r.Tmin, &before.Tmin}, {&r.Tmax, &before.Tmax}, {&r.Prcp, &before.Prcp}} {
			if other := r; math.IsNaN(*v.to) {
				*v.to = *v.from
				if r.Tmin > r.Tmax {
					r = other
				}
			}
		}
	}
	if sameValues(r, before) {
		r.Got = before.Got
	}
	return r
}

func sameValues(a, b climate.Reading) bool {
	same := func(a, b float64) bool {
		return math.Float64bits(a) == math.Float64bits(b) || math.IsNaN(a) && math.IsNaN(b)
	}
	return same(a.Tmin, b.Tmin) && same(a.Tmax, b.Tmax) && same(a.Prcp, b.Prcp)
}

// putReadings keeps the readings of a series and rewrites only years that differ.
func (t tx) putReadings(id int64, was map[int][]byte, rs []climate.Reading) error {
	for len(rs) > 0 {
		year, n := rs[0].On.Year(), 0
		for n < len(rs) && rs[n].On.Year() == year {
			n++
		}
		if b := packReadings(rs[:n]); !bytes.Equal(b, was[year]) {
			if _, err := t.exec(`insert into readings (series, year, days) values ($1, $2, $3)
				on conflict (series, year) do update set days = excluded.days`, id, year, b); err != nil {
				return err
			}
		}
		delete(was, year)
		rs = rs[n:]
	}
	for year := range was {
		if _, err := t.exec("delete from readings where series = $1 and year = $2", id, year); err != nil {
			return err
		}
	}
	return nil
}
