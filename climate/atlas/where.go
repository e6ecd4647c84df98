package atlas

import (
	"fmt"
	"strconv"
	"strings"
)

// Where is a place as a person gives it: by name, or by numbers.
type Where struct {
	Name      string // as given, or as GeoNames has it
	Lat, Lon  float64
	Elevation *float64 // m; nil where it was not given
	Named     bool     // found by name, so that [Attribution] is to be shown
}

// ParseWhere reads LAT,LON or LAT,LON,ELEVATION, degrees north and east and metres,
// or else the name of a place; see [Find].
func ParseWhere(text string) (Where, error) {
	parts := strings.Split(text, ",")
	if !numeric(parts[0]) {
		n, err := Find(text)
		if err != nil {
			return Where{}, err
		}
		return Where{Name: n.String(), Lat: n.Lat, Lon: n.Lon, Named: true}, nil
	}
	fault := func(what, part, want string) (Where, error) {
		return Where{}, fmt.Errorf("place %q: %s %q: want %s, as in 50.1,8.7 or 50.1,8.7,120", text, what, strings.TrimSpace(part), want)
	}
	read := func(s string, lo, hi float64) (float64, bool) {
		s = strings.TrimSpace(s)
		v, err := strconv.ParseFloat(s, 64)
		return v, err == nil && numeric(s) && v >= lo && v <= hi
	}
	if len(parts) < 2 || len(parts) > 3 {
		return Where{}, fmt.Errorf("place %q: want two numbers or three with commas between: LAT,LON or LAT,LON,ELEVATION", text)
	}
	w := Where{Name: strings.TrimSpace(text)}
	var ok bool
	if w.Lat, ok = read(parts[0], -90, 90); !ok {
		return fault("lat", parts[0], "degrees north from -90 to 90")
	}
	if w.Lon, ok = read(parts[1], -180, 180); !ok {
		return fault("lon", parts[1], "degrees east from -180 to 180")
	}
	if len(parts) == 3 {
		h, ok := read(parts[2], lowest, highest)
		if !ok {
			return fault("elevation", parts[2], fmt.Sprintf("metres from %d to %d", lowest, highest))
		}
		w.Elevation = &h
	}
	return w, nil
}

// numeric reports whether s begins like a number written in digits: no name does, and no hexadecimal
// or infinity passes.
func numeric(s string) bool {
	s = strings.TrimSpace(s)
	rest := strings.TrimLeft(s, "+-.0123456789")
	return len(rest) < len(s) && strings.Trim(rest, "eE+-0123456789") == "" && strings.ContainsAny(s[:len(s)-len(rest)], "0123456789")
}
