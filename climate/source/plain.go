package source

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"unicode"

	"budswell/climate"
)

// Names under which a plain CSV may have its columns, without unit and in lower
// case, words parted by one space.
var (
	dateNames    = []string{"date", "day", "time", "datum", "valid date"}
	elementNames = [elements][]string{
		tmin: {"tmin", "t min", "tn", "min", "tempmin", "temp min", "min temp", "mintemp", "temperature min", "min temperature", "minimum temperature", "temperature 2m min", "air temp min"},
		tmax: {"tmax", "t max", "tx", "max", "tempmax", "temp max", "max temp", "maxtemp", "temperature max", "max temperature", "maximum temperature", "temperature 2m max", "air temp max"},
		prcp: {"prcp", "precip", "precipitation", "precipitation sum", "rain", "rainfall", "rr", "pr"},
	}
	units = map[string]string{
		"c": "C", "degc": "C", "celsius": "C",
		"f": "F", "degf": "F", "fahrenheit": "F",
		"mm": "mm", "in": "in", "inch": "in", "inches": "in",
	}
	// missing stands in fields without a value.
	missing = []string{"", "na", "n/a", "nan", "null", "m", "-", "-9999", "-9999.0"}
)

// column is where a plain CSV has an element.
type column struct {
	index int // -1 where it has none
	name  string
	unit  string
}

// value turns a number of the column's unit into C or mm.
func (c column) value(v float64) float64 {
	switch c.unit {
	case "F":
		return (v - 32) / 1.8
	case "in":
		return v * 25.4
	}
	return v
}

const wantHeader = "a header with date, tmin, tmax and, if known, prcp, such as date,tmin_c,tmax_c,prcp_mm"

// readPlain reads a CSV with a header: date, tmin, tmax and perhaps prcp, in any
// order, other columns left alone; units as suffixes (tmin_f, "tmax (C)"), commas,
// semicolons or tabs between, decimal commas where fields are not parted by commas.
func readPlain(name string, data []byte, o options) (*climate.Record, error) {
	comma := separator(data)
	next := rows(name, data, comma)
	head, line, err := next()
	if errors.Is(err, io.EOF) {
		err = &Error{File: name, Line: 1, Want: wantHeader}
	}
	if err != nil {
		return nil, err
	}
	date, cols, err := plainHeader(name, line, head, o)
	if err != nil {
		return nil, err
	}
	b := newDays(name, [elements]string{cols[tmin].name, cols[tmax].name, cols[prcp].name})
	seen := map[climate.Date]int{}
	for {
		row, line, err := next()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return nil, err
		}
		if len(row) != len(head) {
			return nil, &Error{name, line, "", strings.Join(row, string(comma)), fmt.Sprintf("%d fields as in the header: is the file cut off?", len(head))}
		}
		d, err := climate.ParseDate(strings.TrimSpace(row[date]))
		if err != nil {
			return nil, &Error{name, line, head[date], row[date], "a day that exists, written YYYY-MM-DD, from 1700 to 2300"}
		}
		if before, ok := seen[d]; ok {
			return nil, &Error{name, line, head[date], row[date], fmt.Sprintf("each day once; line %d has it too", before)}
		}
		seen[d] = line
		b.see(d)
		for e, c := range cols {
			if c.index < 0 {
				continue
			}
			text := strings.TrimSpace(row[c.index])
			if slices.Contains(missing, strings.ToLower(text)) {
				continue
			}
			v, ok := plainNumber(text, element(e), comma)
			if !ok {
				return nil, &Error{name, line, c.name, text, "a number, or nothing where it is missing"}
			}
			if err := b.add(d, line, element(e), c.value(v), text, c.hint(v)); err != nil {
				return nil, err
			}
		}
	}
	if _, n := b.median(tmin); n == 0 {
		return nil, &Error{File: name, Field: cols[tmin].name, Want: "at least one value"}
	}
	for _, e := range []element{tmin, tmax} {
		// No place on earth has a median so high.
		limit := map[element]float64{tmin: 35, tmax: 45}[e]
		if m, n := b.median(e); n > 0 && m > limit {
			return nil, &Error{
				File: name, Field: cols[e].name, Value: fmt.Sprintf("%.1f", m),
				Want: fmt.Sprintf("a median below %v C: if these are degrees Fahrenheit, name the column %s_f", limit, e),
			}
		}
	}
	return b.record(true)
}

// hint guesses why v may be out of range.
func (c column) hint(v float64) string {
	switch {
	case c.unit == "C" && v > 60 && v <= 135:
		return ": if the file has degrees Fahrenheit, name the column so, as in tmax_f"
	case c.unit == "C" && v > 135:
		return ": are these tenths of a degree?"
	}
	return ""
}

func (e element) String() string { return [elements]string{"tmin", "tmax", "prcp"}[e] }

// plainNumber reads a number, and a trace of rain as none.
func plainNumber(s string, of element, comma rune) (float64, bool) {
	if of == prcp && strings.EqualFold(s, "t") {
		return 0, true
	}
	if comma != ',' {
		s = strings.Replace(s, ",", ".", 1)
	}
	return number(s)
}

// plainHeader finds the columns of a plain CSV.
func plainHeader(name string, line int, head []string, o options) (date int, cols [elements]column, err error) {
	date = -1
	for e := range cols {
		cols[e] = column{index: -1, name: element(e).String()}
	}
	for i, h := range head {
		base, unit := columnName(h)
		if slices.Contains(dateNames, base) {
			if date >= 0 {
				return 0, cols, &Error{name, line, "header", h, "one column of dates"}
			}
			date = i
			continue
		}
		for e := range cols {
			if !slices.Contains(elementNames[e], base) {
				continue
			}
			if cols[e].index >= 0 {
				return 0, cols, &Error{name, line, "header", h, fmt.Sprintf("one column of %v; %q is one too", element(e), cols[e].name)}
			}
			temperature := element(e) != prcp
			switch {
			case unit == "" && temperature && o.fahrenheit:
				unit = "F"
			case unit == "" && temperature:
				unit = "C"
			case unit == "":
				unit = "mm"
			}
			if temperature != (unit == "C" || unit == "F") {
				return 0, cols, &Error{name, line, "header", h, "temperatures in C or F, precipitation in mm or in"}
			}
			cols[e] = column{i, strings.TrimSpace(h), unit}
		}
	}
	if date < 0 || cols[tmin].index < 0 || cols[tmax].index < 0 {
		return 0, cols, &Error{name, line, "header", strings.Join(head, ","), wantHeader}
	}
	return date, cols, nil
}

// columnName parts "tmin_c" or "Temp. Min (°C)" into its words and its unit.
func columnName(h string) (base, unit string) {
	words := strings.FieldsFunc(strings.ToLower(h), func(r rune) bool {
		return !unicode.IsLetter(r) && !unicode.IsDigit(r) || r == unicode.ReplacementChar
	})
	if n := len(words); n > 1 {
		if u, ok := units[words[n-1]]; ok {
			unit, words = u, words[:n-1]
			if n := len(words); n > 1 && words[n-1] == "deg" {
				words = words[:n-1]
			}
		}
	}
	return strings.Join(words, " "), unit
}

// separator guesses from the header what parts the fields.
func separator(data []byte) rune {
	head, _, _ := strings.Cut(string(data[:min(len(data), 4096)]), "\n")
	best := ','
	for _, r := range ";\t" {
		if strings.Count(head, string(r)) > strings.Count(head, string(best)) {
			best = r
		}
	}
	return best
}

// rows returns a function that reads CSV row by row with line numbers, and
// io.EOF at the end.
func rows(name string, data []byte, comma rune) func() (row []string, line int, err error) {
	r := csv.NewReader(strings.NewReader(string(data)))
	r.Comma = comma
	r.FieldsPerRecord = -1
	r.ReuseRecord = false
	return func() ([]string, int, error) {
		row, err := r.Read()
		if errors.Is(err, io.EOF) {
			return nil, 0, io.EOF
		}
		var p *csv.ParseError
		if errors.As(err, &p) {
			return nil, 0, &Error{File: name, Line: p.Line, Want: "separated fields with quotes that close: " + p.Err.Error()}
		}
		if err != nil {
			return nil, 0, fmt.Errorf("%s: %w", name, err)
		}
		line, _ := r.FieldPos(0)
		return row, line, nil
	}
}
