package pages

import (
	"io"
	"math"
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
	Unit  string // of temperatures

	Count int       // days typed in all
	Days  []Reading // the last of them, the newest first

	// What was typed, and what is wrong with it.
	On, Tmin, Tmax, Prcp string
	Fault                string
}

// Reading is a day of the list.
type Reading struct{ On, Day, Says string }

// ReadingOf writes a day out.
func ReadingOf(in *wording.Tongue, r climate.Reading) Reading {
	var says []string
	for _, v := range []struct {
		value float64
		says  func(x float64) string
	}{
		{r.Tmin, func(x float64) string { return in.Say("lowest {1}", in.Temperature(x, 6)) }},
		{r.Tmax, func(x float64) string { return in.Say("highest {1}", in.Temperature(x, 6)) }},
		{r.Prcp, func(x float64) string { return in.Say("rain {1} mm", in.Number(x, 6)) }},
	} {
		if !math.IsNaN(v.value) {
			says = append(says, v.says(v.value))
		}
	}
	return Reading{On: r.On.String(), Day: in.WeekDay(r.On), Says: strings.Join(says, ", ")}
}

// Readings writes the page.
func (p *Pages) Readings(w io.Writer, r *Readings) error { return p.write(w, "readings.html", r) }
