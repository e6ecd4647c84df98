package phenology

import (
	"cmp"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"budswell/climate"
)

// Limits of a file of sightings, so that a wrong file cannot take all memory.
const (
	maxSightings    = 1_000_000
	maxSightingName = 200
)

// SightingDefaults stand in for columns that a file of sightings does not have.
type SightingDefaults struct {
	Tree    string
	Species string
	Phase   Phase

	// Day names the column that holds the day of the year; doy when empty.
	Day string
}

// ReadSightings reads sightings from CSV with a header line: date (YYYY-MM-DD),
// or year and doy (day of the year, 1 to 366; the defaults may name another column), then tree, species and phase, in
// any order; other columns are passed over. Tree, species and phase may come
// from the defaults instead. A line whose date or doy is empty is passed over:
// the tree was not seen in that phase. Name is that of the file, for errors,
// which name the line, the field and the value.
func ReadSightings(name string, r io.Reader, defaults SightingDefaults) ([]Sighting, error) {
	in := csv.NewReader(r)
	in.ReuseRecord = true
	header, err := in.Read()
	if errors.Is(err, io.EOF) {
		return nil, fmt.Errorf("%s:1: the file is empty: want a header line such as date,tree,species,phase", name)
	}
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	columns, err := sightingColumns(name, header, defaults)
	if err != nil {
		return nil, err
	}
	var out []Sighting
	for {
		row, err := in.Read()
		if errors.Is(err, io.EOF) {
			return out, nil
		}
		if err != nil {
			return nil, fmt.Errorf("%s: %w", name, err)
		}
		line, _ := in.FieldPos(0)
		if len(out) == maxSightings {
			return nil, fmt.Errorf("%s:%d: more than %d sightings: split the file", name, line, maxSightings)
		}
		s, err := columns.sighting(row, defaults)
		if err != nil {
			return nil, fmt.Errorf("%s:%d: %w", name, line, err)
		}
		if s.On.Valid() {
			out = append(out, s)
		}
	}
}

// sightingFields are the places of the columns; -1 where there is none.
type sightingFields struct{ date, year, doy, tree, species, phase int }

func sightingColumns(name string, header []string, defaults SightingDefaults) (sightingFields, error) {
	at := func(want string) int {
		return slices.IndexFunc(header, func(h string) bool {
			return strings.EqualFold(strings.TrimSpace(strings.TrimPrefix(h, "\ufeff")), want)
		})
	}
	f := sightingFields{at("date"), at("year"), at(cmp.Or(defaults.Day, "doy")), at("tree"), at("species"), at("phase")}
	switch {
	case f.date < 0 && (f.year < 0 || f.doy < 0) || defaults.Day != "" && f.doy < 0:
		return f, fmt.Errorf("%s:1: header %q: want a column date, or columns year and %s", name, strings.Join(header, ","), cmp.Or(defaults.Day, "doy"))
	case f.tree < 0 && defaults.Tree == "":
		return f, fmt.Errorf("%s:1: header %q: want a column tree", name, strings.Join(header, ","))
	case f.species < 0 && defaults.Species == "":
		return f, fmt.Errorf("%s:1: header %q: want a column species", name, strings.Join(header, ","))
	case f.phase < 0 && defaults.Phase == "":
		return f, fmt.Errorf("%s:1: header %q: want a column phase", name, strings.Join(header, ","))
	}
	return f, nil
}

func (f sightingFields) sighting(row []string, defaults SightingDefaults) (Sighting, error) {
	s := Sighting{Tree: defaults.Tree, Species: defaults.Species, Phase: defaults.Phase, On: climate.NoDate, NotYet: climate.NoDate}
	cell := func(i int) string { return strings.TrimSpace(row[i]) }
	for _, c := range []struct {
		at    int
		field string
		set   *string
	}{{f.tree, "tree", &s.Tree}, {f.species, "species", &s.Species}} {
		if c.at < 0 {
			continue
		}
		v := cell(c.at)
		if v == "" || len(v) > maxSightingName {
			return s, fmt.Errorf("%s: %q: want a name of 1 to %d bytes", c.field, v, maxSightingName)
		}
		*c.set = v
	}
	if f.phase >= 0 {
		p, err := ParsePhase(cell(f.phase))
		if err != nil {
			return s, fmt.Errorf("phase: %w", err)
		}
		s.Phase = p
	}
	if f.date >= 0 {
		if v := cell(f.date); v != "" {
			d, err := climate.ParseDate(v)
			if err != nil {
				return s, err
			}
			s.On = d
		}
		return s, nil
	}
	doy := cell(f.doy)
	if doy == "" {
		return s, nil
	}
	year, err := strconv.Atoi(cell(f.year))
	if err != nil || year < 1700 || year > 2300 {
		return s, fmt.Errorf("year: %q: want a year from 1700 to 2300", cell(f.year))
	}
	first := climate.NewDate(year, 1, 1)
	days := int(climate.NewDate(year+1, 1, 1) - first)
	n, err := strconv.Atoi(doy)
	if err != nil || n < 1 || n > days {
		return s, fmt.Errorf("doy: %q: want a day of the year %d from 1 to %d", doy, year, days)
	}
	s.On = first + climate.Date(n) - 1
	return s, nil
}
