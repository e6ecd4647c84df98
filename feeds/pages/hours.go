package pages

import (
	"io"
	"maps"
	"slices"
	"strconv"
	"strings"
	"time"

	"budswell/calendar"
	"budswell/feeds/wording"
)

// Hours is the form of the time that a grower has, as it was typed.
type Hours struct {
	CSRF        string
	Said, Fault string
	Known       bool // hours were told before

	Days    []DayRow // from that with which the week begins
	Away    []AwayRow
	Extra   []ExtraRow
	Helpers []HelperRow
	Works   []WorkRow
}

// DayRow is a weekday with its hours.
type DayRow struct{ Field, Name, Hours string }

// AwayRow is days away.
type AwayRow struct{ From, To string }

// ExtraRow is a day with more hours.
type ExtraRow struct{ On, Hours string }

// HelperRow is somebody who helps on a day or each such weekday.
type HelperRow struct {
	Row            int
	On, Day, Hours string
	Hard           bool
	Weekdays       []Choice
}

// WorkRow is how long a work takes.
type WorkRow struct {
	Work, Minutes, SetUp string
	Choices              []Choice
}

// freeRows is how many empty rows each list of the form has.
const freeRows = 2

// DayField returns the name of a weekday's field.
func DayField(d time.Weekday) string { return "day_" + strconv.Itoa(int(d)) }

// HoursOf fills the form; h may be nil.
func HoursOf(in *wording.Tongue, h *calendar.Hours) *Hours {
	out := &Hours{Known: h != nil}
	if h == nil {
		h = &calendar.Hours{}
	}
	for _, d := range in.Week() {
		row := DayRow{Field: DayField(d), Name: in.Weekday(d)}
		if m := h.Weekdays[d]; m > 0 {
			row.Hours = inHours(m)
		}
		out.Days = append(out.Days, row)
	}
	for _, a := range h.Away {
		out.Away = append(out.Away, AwayRow{a.From.String(), a.To.String()})
	}
	for _, e := range h.Extra {
		out.Extra = append(out.Extra, ExtraRow{e.On.String(), inHours(e.Minutes)})
	}
	for _, p := range h.Helpers {
		row := HelperRow{Hours: inHours(p.Minutes), Hard: p.Hard}
		if p.On.Valid() {
			row.On = p.On.String()
		} else {
			row.Day = strconv.Itoa(int(p.Weekday))
		}
		out.Helpers = append(out.Helpers, row)
	}
	ids := slices.Sorted(maps.Keys(h.Minutes))
	for _, id := range slices.Sorted(maps.Keys(h.SetUp)) {
		if h.Minutes[id] == 0 {
			ids = append(ids, id)
		}
	}
	text := func(m int) string {
		if m == 0 {
			return ""
		}
		return strconv.Itoa(m)
	}
	for _, id := range ids {
		out.Works = append(out.Works, WorkRow{Work: id, Minutes: text(h.Minutes[id]), SetUp: text(h.SetUp[id])})
	}
	return out
}

// inHours writes minutes as hours, exactly enough to be read back as the same.
func inHours(minutes int) string {
	s := strconv.FormatFloat(float64(minutes)/60, 'f', 2, 64)
	return strings.TrimSuffix(strings.TrimRight(s, "0"), ".")
}

// Room adds the empty rows, and what may be chosen in each.
func (h *Hours) Room(in *wording.Tongue, works []calendar.Work) {
	for range freeRows {
		h.Away = append(h.Away, AwayRow{})
		h.Extra = append(h.Extra, ExtraRow{})
		h.Helpers = append(h.Helpers, HelperRow{})
		h.Works = append(h.Works, WorkRow{})
	}
	for i := range h.Helpers {
		r := &h.Helpers[i]
		r.Row = i
		for _, d := range in.Week() {
			v := strconv.Itoa(int(d))
			r.Weekdays = append(r.Weekdays, Choice{Value: v, Label: in.Say("every {1}", in.Weekday(d)), Picked: v == r.Day})
		}
	}
	for i := range h.Works {
		r := &h.Works[i]
		for k := range works {
			r.Choices = append(r.Choices, Choice{Value: works[k].ID, Label: in.Title(works[k].Title), Picked: works[k].ID == r.Work})
		}
	}
}

// Hours writes the page.
func (p *Pages) Hours(w io.Writer, h *Hours) error { return p.write(w, "hours.html", h) }
