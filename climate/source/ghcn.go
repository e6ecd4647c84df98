package source

import (
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"time"

	"budswell/climate"
)

// The three forms of GHCN-Daily (NOAA NCEI; Menne et al. 2012, J. Atmos. Oceanic
// Technol. 29, 897-910, from memory). Layout of the .dly file and of the long CSV after NOAA's
// readme.txt and readme-by_station.txt; that of the attributes of the CSV with one line a
// day after its documentation at second hand. In all of them temperatures are
// tenths of a degree C and precipitation is tenths of a millimetre; a value that
// failed a quality check carries a flag and is refused; -9999 is missing.
//
// Days whose minimum is above the maximum and not flagged, which NOAA's
// consistency check lets through now and then, lose both values, and the record
// notes how many.

var ghcnElements = map[string]element{"TMIN": tmin, "TMAX": tmax, "PRCP": prcp}

var ghcnNames = [elements]string{"TMIN", "TMAX", "PRCP"}

// ghcnMissing stands where there is no value.
const ghcnMissing = "-9999"

// ghcn gathers the values of one station.
type ghcn struct {
	*days
	station  string
	lo, hi   float64 // least and greatest temperature as written
	readings int
}

func newGHCN(name string) *ghcn { return &ghcn{days: newDays(name, ghcnNames)} }

// of checks that all lines are of one station.
func (g *ghcn) of(id string, line int) error {
	id = strings.TrimSpace(id)
	if g.station == "" {
		g.station = id
	}
	if id != g.station {
		return &Error{g.name, line, "station", id, "one station a file; it began with " + g.station}
	}
	return nil
}

// value takes one value in tenths, as it stands in the file.
func (g *ghcn) value(d climate.Date, line int, of element, text, quality string) error {
	text = strings.TrimSpace(text)
	if text == "" || text == ghcnMissing {
		return nil
	}
	v, ok := number(text)
	if !ok || v != float64(int(v)) {
		unit := "C"
		if of == prcp {
			unit = "mm"
		}
		return &Error{g.name, line, g.names[of], text, "a whole number of tenths of a " + unit + ", or -9999"}
	}
	if strings.TrimSpace(quality) != "" {
		g.refused++
		return nil
	}
	if of != prcp {
		if g.readings == 0 {
			g.lo, g.hi = v, v
		}
		g.lo, g.hi = min(g.lo, v), max(g.hi, v)
		g.readings++
	}
	return g.add(d, line, of, v/10, text, " in tenths")
}

// record puts the station's days together, from the first temperature to the last.
func (g *ghcn) record() (*climate.Record, error) {
	if g.readings == 0 {
		return nil, &Error{File: g.name, Want: "values of TMIN and TMAX that passed their quality checks"}
	}
	// A year of whole degrees read as tenths would lie between -6 and 13 C.
	if g.readings > 365 && g.lo >= -60 && g.hi <= 130 {
		return nil, &Error{File: g.name, Field: "TMIN, TMAX", Value: fmt.Sprintf("%v to %v", g.lo, g.hi), Want: "tenths of a degree C: these look like whole degrees"}
	}
	g.first, g.last = 1<<31-1, -1<<31
	for _, v := range g.values {
		if v.of != prcp {
			g.see(v.date)
		}
	}
	g.values = slices.DeleteFunc(g.values, func(v value) bool { return v.date < g.first || v.date > g.last })
	r, err := g.days.record(false)
	if err == nil {
		r.Source = "GHCN-Daily " + g.station
	}
	return r, err
}

// ghcnDate reads YYYYMMDD.
func ghcnDate(s string) (climate.Date, bool) {
	t, err := time.Parse("20060102", s)
	if err != nil {
		return climate.NoDate, false
	}
	d, err := climate.ParseDate(t.Format(time.DateOnly))
	return d, err == nil
}

// isAccess reports whether a CSV header is that of a GHCN-Daily station file with
// one line a day.
func isAccess(line string) bool {
	h := strings.Split(strings.ReplaceAll(line, `"`, ""), ",")
	return slices.Contains(h, "STATION") && slices.Contains(h, "DATE") &&
		(slices.Contains(h, "TMAX_ATTRIBUTES") || slices.Contains(h, "TMIN_ATTRIBUTES"))
}

// readAccess reads the CSV with one line a day: STATION, DATE, and each element
// with its attributes "measurement flag,quality flag,source flag".
func readAccess(name string, data []byte) (*climate.Record, error) {
	next := rows(name, data, ',')
	head, _, err := next()
	if errors.Is(err, io.EOF) {
		err = &Error{File: name, Line: 1, Want: "a header with STATION and DATE"}
	}
	if err != nil {
		return nil, err
	}
	station, date := slices.Index(head, "STATION"), slices.Index(head, "DATE")
	if station < 0 || date < 0 {
		return nil, &Error{name, 1, "header", strings.Join(head, ","), "STATION and DATE"}
	}
	g := newGHCN(name)
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
			return nil, &Error{name, line, "", strings.Join(row, ","), fmt.Sprintf("%d fields as in the header: is the file cut off?", len(head))}
		}
		if err := g.of(row[station], line); err != nil {
			return nil, err
		}
		d, err := climate.ParseDate(row[date])
		if err != nil {
			return nil, &Error{name, line, "DATE", row[date], "a day that exists, written YYYY-MM-DD"}
		}
		if before, ok := seen[d]; ok {
			return nil, &Error{name, line, "DATE", row[date], fmt.Sprintf("each day once; line %d has it too", before)}
		}
		seen[d] = line
		for of, label := range ghcnNames {
			i := slices.Index(head, label)
			if i < 0 {
				continue
			}
			quality := ""
			if a := slices.Index(head, label+"_ATTRIBUTES"); a >= 0 {
				if flags := strings.Split(row[a], ","); len(flags) > 1 {
					quality = flags[1]
				}
			}
			if err := g.value(d, line, element(of), row[i], quality); err != nil {
				return nil, err
			}
		}
	}
	return g.record()
}

// longHeader is the first line that some of the long CSV files have.
const longHeader = "ID,DATE,ELEMENT"

// isLong reports whether a line is of a GHCN-Daily CSV with one line a value.
func isLong(line string) bool {
	if strings.HasPrefix(line, longHeader) {
		return true
	}
	f := strings.Split(line, ",")
	if len(f) < 7 || len(f[0]) != 11 || len(f[2]) != 4 {
		return false
	}
	_, ok := ghcnDate(f[1])
	return ok
}

// readLong reads ID, DATE (YYYYMMDD), ELEMENT, VALUE, measurement flag, quality
// flag, source flag, time of observation.
func readLong(name string, data []byte) (*climate.Record, error) {
	const fields = 8
	g := newGHCN(name)
	for line, text := range lines(data) {
		if line == 1 && strings.HasPrefix(text, longHeader) {
			continue
		}
		f := strings.Split(text, ",")
		if len(f) != fields {
			return nil, &Error{name, line, "", text, "8 fields, ID,DATE,ELEMENT,VALUE,M,Q,S,TIME: is the file cut off?"}
		}
		if err := g.of(f[0], line); err != nil {
			return nil, err
		}
		d, ok := ghcnDate(f[1])
		if !ok {
			return nil, &Error{name, line, "DATE", f[1], "a day that exists, written YYYYMMDD"}
		}
		of, ok := ghcnElements[f[2]]
		if !ok {
			continue
		}
		if err := g.value(d, line, of, f[3], f[5]); err != nil {
			return nil, err
		}
	}
	return g.record()
}

// Columns of the fixed-width form, from 0: station 0-10, year 11-14, month 15-16,
// element 17-20, then for each of 31 days a value of five columns and the
// flags of measurement, quality and source.
const (
	dlyDays  = 21
	dlyDay   = 8
	dlyWidth = dlyDays + 31*dlyDay
)

// isDly reports whether a line is of a GHCN-Daily .dly file.
func isDly(line string) bool {
	if len(line) < dlyDays+5 || strings.ContainsAny(line[:dlyDays], ",;\t") {
		return false
	}
	_, ok := ghcnDate(line[11:17] + "01")
	return ok
}

// readDly reads the fixed-width form.
func readDly(name string, data []byte) (*climate.Record, error) {
	g := newGHCN(name)
	for line, text := range lines(data) {
		// Blank flags at the end of a line may have been cut off on the way.
		if len(text) < dlyWidth-3 || len(text) > dlyWidth {
			return nil, &Error{name, line, "", text, fmt.Sprintf("%d columns: is the file cut off?", dlyWidth)}
		}
		text += strings.Repeat(" ", dlyWidth-len(text))
		if err := g.of(text[:11], line); err != nil {
			return nil, err
		}
		first, ok := ghcnDate(text[11:17] + "01")
		if !ok {
			return nil, &Error{name, line, "year and month", text[11:17], "YYYYMM from 1700 to 2300"}
		}
		label := text[17:21]
		of, ok := ghcnElements[label]
		if !ok {
			continue
		}
		for i := range 31 {
			f := text[dlyDays+i*dlyDay:][:dlyDay]
			d := first + climate.Date(i)
			if d.Month() != first.Month() {
				if v := strings.TrimSpace(f[:5]); v != ghcnMissing && v != "" {
					return nil, &Error{name, line, fmt.Sprintf("%s on day %d", label, i+1), v, "-9999 on days that the month does not have"}
				}
				continue
			}
			if err := g.value(d, line, of, f[:5], f[6:7]); err != nil {
				return nil, err
			}
		}
	}
	return g.record()
}

// lines yields the lines of data, counted from 1, without an empty last one.
func lines(data []byte) func(yield func(int, string) bool) {
	return func(yield func(int, string) bool) {
		n := 0
		for line := range strings.Lines(string(data)) {
			n++
			if !yield(n, strings.TrimRight(line, "\r\n")) {
				return
			}
		}
	}
}
