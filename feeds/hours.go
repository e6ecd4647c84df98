package feeds

import (
	"bytes"
	"math"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/labstack/echo/v4"

	"budswell/calendar"
	"budswell/climate"
	"budswell/feeds/pages"
	"budswell/feeds/wording"
)

// mostRows is how many rows of a kind the form of hours holds at most.
const mostRows = 60

// hoursPage shows the form of the hours that there are.
func (s *Server) hoursPage(c echo.Context, g calendar.Grower) error {
	h, err := s.cfg.Store.Hours(c.Request().Context(), g.ID)
	if err != nil {
		return err
	}
	form := pages.HoursOf(tongueOf(c.Request().Context()), h)
	form.Said = s.sessions.PopString(c.Request().Context(), sessionSaid)
	return s.hoursWith(c, http.StatusOK, form)
}

func (s *Server) hoursWith(c echo.Context, status int, h *pages.Hours) error {
	h.CSRF = csrfToken(c)
	ctx := c.Request().Context()
	h.Room(tongueOf(ctx), s.knownTo(ctx, s.sessions.GetString(ctx, sessionGrower)).Works)
	return s.page(c, status, func(b *bytes.Buffer) error { return s.in(c).Hours(b, h) })
}

// putHours keeps the hours and chooses the days anew.
func (s *Server) putHours(c echo.Context, g calendar.Grower) error {
	form, err := c.FormParams()
	if err != nil {
		return err
	}
	ctx := c.Request().Context()
	if form.Get("forget") != "" {
		if err := s.cfg.Store.PutHours(ctx, g.ID, nil); err != nil {
			return err
		}
		return s.afresh(c, g.ID, "Your hours are forgotten: everything shows its whole window again.", "/hours")
	}
	in := tongueOf(ctx)
	typed := typedHours(in, form)
	h, fault := hoursOf(in, typed)
	if fault == "" {
		if err := h.Check(s.knownTo(ctx, g.ID)); err != nil {
			fault = in.Say("a work is not among the choices. Load the page again, and pick once more.")
		}
	}
	if fault != "" {
		known, err := s.cfg.Store.Hours(ctx, g.ID)
		if err != nil {
			return err
		}
		typed.Known, typed.Fault = known != nil, in.Say("Not kept: {1}", fault)
		return s.hoursWith(c, http.StatusUnprocessableEntity, typed)
	}
	if err := s.cfg.Store.PutHours(ctx, g.ID, h); err != nil {
		return err
	}
	return s.afresh(c, g.ID, "Your hours are kept, and the days chosen.", "/agenda")
}

// afresh plans anew after something was kept, says so, and goes on to a page.
func (s *Server) afresh(c echo.Context, grower, said, to string) error {
	ctx := c.Request().Context()
	in := tongueOf(ctx)
	said = in.Say(said)
	if err := s.replan(ctx, grower, s.cfg.Now()); err != nil {
		s.cfg.Log.ErrorContext(ctx, "kept, but no new plan", "grower", grower, "error", err)
		said += " " + in.Say("A new plan could not be made; the one from before is shown, and it will be tried again tomorrow.")
	}
	s.sessions.Put(ctx, sessionSaid, said)
	return c.Redirect(http.StatusSeeOther, to)
}

// typedHours takes the form as it was typed; rows that are empty are left out.
func typedHours(in *wording.Tongue, form url.Values) *pages.Hours {
	out := pages.HoursOf(in, nil)
	for i := range out.Days {
		out.Days[i].Hours = strings.TrimSpace(form.Get(out.Days[i].Field))
	}
	get := func(name string, row int) string {
		if all := form[name]; row < len(all) {
			return strings.TrimSpace(all[row])
		}
		return ""
	}
	for i := range min(mostRows, len(form["away_from"])) {
		if r := (pages.AwayRow{From: get("away_from", i), To: get("away_to", i)}); r != (pages.AwayRow{}) {
			out.Away = append(out.Away, r)
		}
	}
	for i := range min(mostRows, len(form["extra_on"])) {
		if r := (pages.ExtraRow{On: get("extra_on", i), Hours: get("extra_hours", i)}); r != (pages.ExtraRow{}) {
			out.Extra = append(out.Extra, r)
		}
	}
	for i := range min(mostRows, len(form["helper_on"])) {
		r := pages.HelperRow{On: get("helper_on", i), Day: get("helper_day", i), Hours: get("helper_hours", i)}
		if r.On+r.Day+r.Hours == "" {
			continue
		}
		r.Hard = slices.Contains(form["helper_hard"], strconv.Itoa(i))
		out.Helpers = append(out.Helpers, r)
	}
	for i := range min(mostRows, len(form["work"])) {
		r := pages.WorkRow{Work: get("work", i), Minutes: get("work_minutes", i), SetUp: get("work_set_up", i)}
		if r.Work+r.Minutes+r.SetUp != "" {
			out.Works = append(out.Works, r)
		}
	}
	return out
}

// hoursOf reads what was typed; fault says what would be right where it is not.
func hoursOf(in *wording.Tongue, typed *pages.Hours) (h *calendar.Hours, fault string) {
	r := hoursReader{in: in, h: &calendar.Hours{Minutes: calendar.WorkMinutes{}, SetUp: calendar.WorkMinutes{}}}
	for i, d := range in.Week() {
		if v := typed.Days[i].Hours; v != "" {
			r.h.Weekdays[d] = r.hours(v, 0, 24, in.Say("on {1}", in.Weekday(d)))
		}
	}
	for _, v := range typed.Away {
		from := r.day(v.From, in.Say("the first day away"))
		to := from
		if v.To != "" {
			to = r.day(v.To, in.Say("the last day away"))
		}
		if from.Valid() && to.Valid() && to < from {
			r.no(in.Say("the last day away, {1}, must not lie before the first, {2}.", in.Day(to), in.Day(from)))
		}
		r.h.Away = append(r.h.Away, calendar.Absence{From: from, To: to})
	}
	for _, v := range typed.Extra {
		on := r.day(v.On, in.Say("a day with more hours"))
		if slices.ContainsFunc(r.h.Away, func(a calendar.Absence) bool { return on.Valid() && a.From <= on && on <= a.To }) {
			r.no(in.Say("{1} has more hours, and lies in the days away: take it out in one place.", in.Day(on)))
		}
		r.h.Extra = append(r.h.Extra, calendar.ExtraDay{On: on, Minutes: r.hours(v.Hours, 1.0/60, 24, in.Say("more on a day"))})
	}
	for _, v := range typed.Helpers {
		r.helper(v)
	}
	for _, v := range typed.Works {
		r.work(v)
	}
	if r.fault == "" && r.h.Weekdays == [7]int{} && len(r.h.Extra) == 0 && len(r.h.Helpers) == 0 {
		r.no(in.Say("there are no hours on any day; tell some, or forget your hours to have whole windows."))
	}
	return r.h, r.fault
}

// hoursReader reads hours and keeps the first fault.
type hoursReader struct {
	in    *wording.Tongue
	h     *calendar.Hours
	fault string
}

func (r *hoursReader) no(words string) {
	if r.fault == "" {
		r.fault = words
	}
}

// hours reads hours, which may have a fraction after a point or a comma, as minutes.
func (r *hoursReader) hours(s string, least, most float64, where string) int {
	v, err := strconv.ParseFloat(strings.ReplaceAll(s, ",", "."), 64)
	if err != nil || !(v >= least && v <= most) {
		low := "0"
		if least > 0 {
			low = r.in.Say("more than 0")
		}
		r.no(r.in.Say("the hours {1} must be a number, {2} to {3}, such as 2.5.", where, low, r.in.Number(most, 0)))
		return 0
	}
	return int(math.Round(60 * v))
}

func (r *hoursReader) day(s, what string) climate.Date {
	d, err := climate.ParseDate(s)
	if err != nil {
		r.no(r.in.Say("{1} must be one that exists, written YYYY-MM-DD.", what))
		return climate.NoDate
	}
	return d
}

func (r *hoursReader) helper(v pages.HelperRow) {
	p := calendar.Helper{On: climate.NoDate, Hard: v.Hard, Minutes: r.hours(v.Hours, 1.0/60, 100, r.in.Say("of a helper"))}
	switch {
	case (v.On == "") == (v.Day == ""):
		r.no(r.in.Say("a helper comes on one day or on every such day of the week: give one of the two."))
	case v.On != "":
		p.On = r.day(v.On, r.in.Say("the day of a helper"))
	default:
		d, err := strconv.Atoi(v.Day)
		if err != nil || d < 0 || d > 6 {
			r.no(r.in.Say("choose the day of the week of a helper from the list."))
		}
		p.Weekday = time.Weekday(d)
	}
	r.h.Helpers = append(r.h.Helpers, p)
}

func (r *hoursReader) work(v pages.WorkRow) {
	minutes := func(s string, most int, what string) int {
		n, err := strconv.Atoi(s)
		if err != nil || n < 1 || n > most {
			r.no(r.in.Say("the minutes {1} must be a whole number from 1 to {2}.", what, strconv.Itoa(most)))
		}
		return n
	}
	switch {
	case v.Work == "":
		r.no(r.in.Say("choose the work that takes these minutes."))
		return
	case v.Minutes == "" && v.SetUp == "":
		r.no(r.in.Say("give the minutes of the work, for one tree or to set up, or choose none."))
	case r.h.Minutes[v.Work] != 0 || r.h.SetUp[v.Work] != 0:
		r.no(r.in.Say("a work is given twice: put its minutes in one row."))
	}
	if v.Minutes != "" {
		r.h.Minutes[v.Work] = minutes(v.Minutes, 960, r.in.Say("for one tree"))
	}
	if v.SetUp != "" {
		r.h.SetUp[v.Work] = minutes(v.SetUp, 480, r.in.Say("to set up"))
	}
}

// agendaPage shows who fits into which day, and what two more hours on one would
// bring where that is asked for.
func (s *Server) agendaPage(c echo.Context, g calendar.Grower) error {
	ctx := c.Request().Context()
	all, err := s.garden(ctx, g.ID)
	if err != nil {
		return err
	}
	page := pages.AgendaOf(tongueOf(ctx), all.agenda)
	page.Said = s.sessions.PopString(ctx, sessionSaid)
	if asked := c.QueryParam("more"); asked != "" && all.agenda != nil {
		day, err := climate.ParseDate(asked)
		if err != nil || day < all.agenda.On || day > all.agenda.On+moreWithin {
			return refuse(calendar.ErrInvalid, "The day must be one of the coming weeks, written YYYY-MM-DD.")
		}
		page.More = pages.MoreOf(tongueOf(ctx), all.agenda.More(day, moreMinutes))
	}
	return s.page(c, http.StatusOK, func(b *bytes.Buffer) error { return s.in(c).Agenda(b, page) })
}

const (
	moreMinutes = 120
	moreWithin  = 120 // days ahead of which more time may be asked for
)
