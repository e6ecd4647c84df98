package calendar

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"budswell/climate"
)

// ArchivePlaceOf returns the archived form of a place.
func ArchivePlaceOf(p Place) ArchivePlace {
	out := ArchivePlace{
		ID: p.ID, Name: p.Site.Name, Lat: p.Site.Lat, Lon: p.Site.Lon, Elevation: p.Site.Elevation, Zone: p.Site.Zone,
		Normals: p.Weather.Normals, Frost: p.Weather.Frost, Seed: p.Weather.Seed, Benches: p.Benches,
	}
	if r := p.Weather.Record; r != nil {
		out.Record = archiveRecordOf(r)
	}
	return out
}

// Place returns the place; what of it cannot be is an error.
func (p *ArchivePlace) Place(grower string) (Place, error) {
	out := Place{
		ID: p.ID, Grower: grower,
		Site:    climate.Site{Name: p.Name, Lat: p.Lat, Lon: p.Lon, Elevation: p.Elevation, Zone: p.Zone},
		Weather: climate.Weather{Normals: p.Normals, Frost: p.Frost, Seed: p.Seed}, Benches: p.Benches,
	}
	if err := out.Site.Validate(); err != nil {
		return out, err
	}
	if err := CheckBenches(p.Benches); err != nil {
		return out, err
	}
	if p.Normals != nil {
		if err := p.Normals.Validate(); err != nil {
			return out, err
		}
	}
	if p.Frost != nil {
		if err := p.Frost.Validate(); err != nil {
			return out, err
		}
	}
	if p.Record != nil {
		var err error
		if out.Weather.Record, err = p.Record.record(); err != nil {
			return out, fmt.Errorf("record: %w", err)
		}
	}
	if p.Normals == nil && p.Frost == nil && out.Weather.Record == nil {
		return out, errors.New("want normals, frost or a record")
	}
	return out, nil
}

// originLetters are the letters of the origins, in their order.
const originLetters = "-tipm"

func archiveRecordOf(r *climate.Record) *ArchiveRecord {
	n := len(r.Days)
	out := &ArchiveRecord{Source: r.Source, Tmin: make([]*float64, n), Tmax: make([]*float64, n), Prcp: make([]*float64, n)}
	if n > 0 {
		first := r.First
		out.First = &first
	}
	var letters [3][]byte
	plain := true
	for i := range r.Days {
		d := &r.Days[i]
		for k, v := range [...]struct {
			to     []*float64
			value  float64
			origin climate.Origin
		}{{out.Tmin, d.Tmin, d.TminOrigin}, {out.Tmax, d.Tmax, d.TmaxOrigin}, {out.Prcp, d.Prcp, d.PrcpOrigin}} {
			if v.origin != climate.Missing {
				value := v.value
				v.to[i] = &value
			}
			plain = plain && (v.origin == climate.Missing || v.origin == climate.Measured)
			letters[k] = append(letters[k], originLetters[v.origin])
		}
	}
	if !plain {
		out.Origins = &ArchiveOrigins{string(letters[0]), string(letters[1]), string(letters[2])}
	}
	return out
}

func (a *ArchiveRecord) record() (*climate.Record, error) {
	n := len(a.Tmin)
	switch {
	case len(a.Tmax) != n || len(a.Prcp) != n:
		return nil, fmt.Errorf("%d tmin, %d tmax, %d prcp: want as many of each", n, len(a.Tmax), len(a.Prcp))
	case n > archiveDays:
		return nil, fmt.Errorf("%d days: want at most %d", n, archiveDays)
	case (a.First == nil) != (n == 0):
		return nil, errors.New("first: want the day of the first number, or null where there is none")
	case len(a.Source) > longestText:
		return nil, fmt.Errorf("source: want at most %d letters", longestText)
	}
	out := &climate.Record{Source: a.Source, First: climate.NoDate}
	if n == 0 {
		return out, nil
	}
	out.First, out.Days = *a.First, make([]climate.Day, n)
	if y := out.Last().Year(); y > 9999 {
		return nil, fmt.Errorf("first %v and %d days: want days up to the year 9999", out.First, n)
	}
	origins := ArchiveOrigins{}
	if a.Origins != nil {
		origins = *a.Origins
	}
	for _, c := range []struct {
		field    string
		values   []*float64
		letters  string
		low, top float64
		value    func(*climate.Day) (*float64, *climate.Origin)
	}{
		{"tmin", a.Tmin, origins.Tmin, -90, 60, func(d *climate.Day) (*float64, *climate.Origin) { return &d.Tmin, &d.TminOrigin }},
		{"tmax", a.Tmax, origins.Tmax, -90, 60, func(d *climate.Day) (*float64, *climate.Origin) { return &d.Tmax, &d.TmaxOrigin }},
		{"prcp", a.Prcp, origins.Prcp, 0, 2000, func(d *climate.Day) (*float64, *climate.Origin) { return &d.Prcp, &d.PrcpOrigin }},
	} {
		if a.Origins != nil && len(c.letters) != n {
			return nil, fmt.Errorf("origins.%s: %d letters: want one for each of %d days", c.field, len(c.letters), n)
		}
		for i, v := range c.values {
			origin := climate.Measured
			if a.Origins != nil {
				k := slices.Index([]byte(originLetters), c.letters[i])
				if k < 0 || (climate.Origin(k) == climate.Missing) != (v == nil) {
					return nil, fmt.Errorf("origins.%s of %v: %q: want one of %s, and - where there is no number", c.field, out.First+climate.Date(i), c.letters[i:i+1], originLetters)
				}
				origin = climate.Origin(k)
			}
			if v == nil {
				continue
			}
			if math.IsNaN(*v) || *v < c.low || *v > c.top {
				return nil, fmt.Errorf("%s of %v: %v: want %v to %v", c.field, out.First+climate.Date(i), *v, c.low, c.top)
			}
			to, from := c.value(&out.Days[i])
			*to, *from = *v, origin
		}
	}
	return out, nil
}
