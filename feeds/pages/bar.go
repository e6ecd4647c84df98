package pages

import (
	"fmt"
	"strings"

	"budswell/calendar"
	"budswell/climate"
	"budswell/feeds/wording"
)

// Size of a bar in its own units; it is drawn as wide as there is room.
const (
	dayWidth  = 10
	barHeight = 40
)

// Bar is the picture of a window over the days shown, the first at the left: a
// hill as high as the window is likely to be open on each day, a thick
// mark on the likely day, and rules where it opens and closes as likely as not.
type Bar struct {
	Width, Height int
	Hill          string // path data
	Weeks         []int  // x of the weeks' rules
	Ends          []int  // x of the 50 % days of opening and closing
	Mark          int    // x of the likely day, -1 when it is outside
	Words         string // what the picture says
}

func bar(in *wording.Tongue, w *calendar.Planned, on climate.Date) *Bar {
	win := &w.Window
	if !win.Opens.P50.Valid() {
		return nil
	}
	b := &Bar{Width: shownDays * dayWidth, Height: barHeight, Mark: -1}
	const top = 6
	var hill strings.Builder
	fmt.Fprintf(&hill, "M0 %d", barHeight)
	for i := range shownDays {
		y := barHeight - int(wording.Open(w, on+climate.Date(i))*(barHeight-top)+0.5)
		fmt.Fprintf(&hill, "V%dh%d", y, dayWidth)
	}
	fmt.Fprintf(&hill, "V%dz", barHeight)
	b.Hill = hill.String()
	for d := 7; d < shownDays; d += 7 {
		b.Weeks = append(b.Weeks, d*dayWidth)
	}
	x := func(d climate.Date) (int, bool) { return int(d-on) * dayWidth, d >= on && d < on+shownDays }
	for _, d := range []climate.Date{win.Opens.P50, win.Closes.P50 + 1} {
		if at, ok := x(d); ok {
			b.Ends = append(b.Ends, at)
		}
	}
	mark := win.Likely
	if w.Due.Valid() {
		mark = w.Due
	}
	if at, ok := x(mark); ok {
		b.Mark = at + dayWidth/2
	}
	b.Words = in.Say("Six weeks from {1}: opens as likely as not by {2}, closes by {3}, best about {4}.",
		in.Day(on), in.Day(win.Opens.P50), in.Day(win.Closes.P50), in.Day(mark))
	return b
}
