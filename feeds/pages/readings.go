package pages

import (
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"budswell/climate"
	"budswell/feeds/wording"
)

// Readings is the page on which a grower types what was read at a place.
type Readings struct {
	CSRF  string
	Path  string
	Place string
	Said  string
	Today string // ISO, the latest day that may be typed

	Count int       // days typed in all
	Days  []Reading // the last of them, the newest first

	// What was typed, and what is wrong with it.
	On, Tmin, Tmax, Prcp string
	Fault                string
}

// Reading is a day of the list.
type Reading struct{ On, Day, Says string }

// ReadingOf writes a day out.
func ReadingOf(r climate.Reading) Reading {
	says := ""
	for _, v := range []struct {
		value      float64
		name, unit string
	}{{r.Tmin, "lowest", "°C"}, {r.Tmax, "highest", "°C"}, {r.Prcp, "rain", "mm"}} {
		if !math.IsNaN(v.value) {
			says += fmt.Sprintf(", %s %s %s", v.name, strings.Replace(strconv.FormatFloat(v.value, 'f', -1, 64), "-", "−", 1), v.unit)
		}
	}
	return Reading{On: r.On.String(), Day: wording.WeekDay(r.On), Says: says[min(2, len(says)):]}
}

// Readings writes the page.
func (p *Pages) Readings(w io.Writer, r *Readings) error { return p.write(w, "readings.html", r) }
