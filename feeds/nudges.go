package feeds

import (
	"bytes"
	"context"
	"errors"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/labstack/echo/v4"

	"budswell/calendar"
	"budswell/climate"
	"budswell/feeds/nudge"
	"budswell/feeds/pages"
)

const (
	mostWebhooks   = 3 // in use at once
	longestAddress = 500
	sessionSecret  = "secret" // of a webhook just made, shown once
)

// nudgeRoutes are those of links in messages, which need no sign-in, and of the
// page on which a grower chooses what to be told.
func (s *Server) nudgeRoutes(e *echo.Echo, person []echo.MiddlewareFunc) {
	e.Match([]string{"GET", "HEAD"}, actRoute, s.actPage, noStore)
	e.POST(actRoute, s.act, noStore)
	e.POST(actRoute+"/back", s.actBack, noStore)
	e.Match([]string{"GET", "HEAD"}, nudge.PreferencesPath, s.own(s.nudgesPage), person...)
	e.POST(nudge.PreferencesPath, s.own(s.putPreferences), person...)
	e.POST("/trees/:id/log/back", s.own(s.takeBack), person...)
	e.POST("/webhooks", s.own(s.addWebhook), person...)
	e.POST("/webhooks/:id/end", s.own(s.endWebhook), person...)
}

// decideTries is how often it is decided anew what to tell where another plan of the
// same grower told something meanwhile.
const decideTries = 5

// decide decides what there is to tell of a garden, or what of it cannot wait, and
// puts it into the outbox.
func (s *Server) decide(ctx context.Context, g *garden, now time.Time, urgent bool) (err error) {
	for range decideTries {
		if err = s.decideOnce(ctx, g, now, urgent); !errors.Is(err, calendar.ErrConflict) {
			return err
		}
	}
	return err
}

func (s *Server) decideOnce(ctx context.Context, g *garden, now time.Time, urgent bool) error {
	st, id := s.cfg.Store, g.grower.ID
	d := nudge.Day{Grower: g.grower, In: g.in, Now: now, Urgent: urgent}
	var err error
	if d.Preferences, err = st.Preferences(ctx, id); err != nil {
		return err
	}
	if d.Webhooks, err = st.Webhooks(ctx, id); err != nil {
		return err
	}
	// Before the day's messages are counted, so that none comes in between unseen.
	if d.Subjects, err = st.Subjects(ctx, id); err != nil {
		return err
	}
	if d.Sent, err = st.Nudges(ctx, id, nudge.MostADay); err != nil {
		return err
	}
	if d.Told, err = st.ToldDays(ctx, id); err != nil {
		return err
	}
	for i := range g.plots {
		p := &g.plots[i]
		d.Places = append(d.Places, nudge.Morning{Place: p.place, Plan: p.plan, Seasons: p.seasons, Nights: p.nights})
	}
	nudges, days := nudge.Decide(d)
	if err := nudge.Seal(nudges, func() (string, string, error) { return NewSecret(s.cfg.Random) }); err != nil {
		return err
	}
	if _, err := st.DecideAfter(ctx, id, len(d.Subjects), nudges); err != nil {
		return err
	}
	if len(days) == 0 {
		return nil
	}
	return st.Tell(ctx, id, days, now)
}

// nudgesPage shows what a grower is told, and how.
func (s *Server) nudgesPage(c echo.Context, g calendar.Grower) error {
	p, err := s.cfg.Store.Preferences(c.Request().Context(), g.ID)
	if err != nil {
		return err
	}
	return s.nudgesWith(c, g, p, func(*pages.Nudges) {})
}

// nudgesWith shows the page with preferences, changed in some way; one with a
// fault is not what was sent for.
func (s *Server) nudgesWith(c echo.Context, g calendar.Grower, p calendar.Preferences, change func(*pages.Nudges)) error {
	ctx := c.Request().Context()
	places, err := s.cfg.Store.Sites(ctx)
	if err != nil {
		return err
	}
	var first *climate.Site
	for i := range places {
		if places[i].Grower == g.ID {
			first = &places[i].Site
			break
		}
	}
	var kinds []pages.Choice
	for _, k := range nudge.Kinds() {
		kinds = append(kinds, pages.Choice{Value: k.ID, Label: tongueOf(ctx).Say(k.Title)})
	}
	n := pages.NudgesOf(tongueOf(ctx), p, kinds, nudge.Zone(calendar.Preferences{}, first).String())
	n.CSRF, n.Email, n.Webhooks = csrfToken(c), g.Email, s.cfg.Webhooks
	n.Said, n.Secret = s.sessions.PopString(ctx, sessionSaid), s.sessions.PopString(ctx, sessionSecret)
	hooks, err := s.cfg.Store.Webhooks(ctx, g.ID)
	if err != nil {
		return err
	}
	for _, w := range hooks {
		n.Hooks = append(n.Hooks, pages.HookOf(tongueOf(ctx), w))
	}
	change(n)
	status := http.StatusOK
	if n.Fault != "" {
		status = http.StatusUnprocessableEntity
	}
	return s.page(c, status, func(b *bytes.Buffer) error { return s.in(c).Nudges(b, n) })
}

// putPreferences keeps what a grower chose.
func (s *Server) putPreferences(c echo.Context, g calendar.Grower) error {
	form, err := c.FormParams()
	if err != nil {
		return err
	}
	p, fault := preferencesOf(form)
	in := tongueOf(c.Request().Context())
	if fault != "" {
		return s.nudgesWith(c, g, p, func(n *pages.Nudges) {
			n.Fault = in.Say("Not kept: {1}", in.Say(fault))
			n.Moved, n.Cap, n.From, n.To = form.Get("moved"), form.Get("cap"), form.Get("from"), form.Get("to")
			n.Zone = form.Get("zone")
		})
	}
	ctx := c.Request().Context()
	if err := s.cfg.Store.PutPreferences(ctx, g.ID, p); err != nil {
		return err
	}
	s.sessions.Put(ctx, sessionSaid, tongueOf(ctx).Say("Kept. It holds from the next message on."))
	return c.Redirect(http.StatusSeeOther, nudge.PreferencesPath)
}

// preferencesOf reads a form; fault says what would be right where it is not.
func preferencesOf(form url.Values) (p calendar.Preferences, fault string) {
	p = calendar.DefaultPreferences()
	p.Mail, p.Wake, p.Zone, p.Off = form.Get("mail") != "", form.Get("wake") != "", strings.TrimSpace(form.Get("zone")), nil
	for _, k := range nudge.Kinds() {
		if !slices.Contains(form["kind"], k.ID) {
			p.Off = append(p.Off, k.ID)
		}
	}
	say := func(words string) {
		if fault == "" {
			fault = words
		}
	}
	number := func(name string, lo, hi int, words string) int {
		n, err := strconv.Atoi(strings.TrimSpace(form.Get(name)))
		if err != nil || n < lo || n > hi {
			say(words)
			return lo
		}
		return n
	}
	p.Level = float64(number("level", 10, 90, "choose from the list how sure it must be that buds swell.")) / 100
	p.Moved = number("moved", 3, 60, "the days by which a forecast moves must be a number from 3 to 60.")
	p.Cap = number("cap", 1, 20, "the messages a day must be a number from 1 to 20.")
	p.WeekDay = time.Weekday(number("week_day", 0, 6, "choose a day of the week from the list."))
	for _, v := range []struct {
		name string
		at   *int
	}{{"from", &p.QuietFrom}, {"to", &p.QuietTo}} {
		t, err := time.Parse("15:04", form.Get(v.name))
		if err != nil {
			say("quiet hours must be times of the day such as 21:00.")
			continue
		}
		*v.at = t.Hour()*60 + t.Minute()
	}
	if err := p.Validate(); err != nil {
		say("the time zone must be one of the IANA list, such as Europe/Zurich, or empty.")
		p.Zone = ""
	}
	return p, fault
}

// addWebhook adds an address to which nudges are posted, and shows its secret once.
func (s *Server) addWebhook(c echo.Context, g calendar.Grower) error {
	if !s.cfg.Webhooks {
		return calendar.ErrNotFound
	}
	ctx := c.Request().Context()
	w := calendar.Webhook{Grower: g.ID, URL: strings.TrimSpace(c.FormValue("url")), Created: s.cfg.Now()}
	fault, in := badAddress(w.URL), tongueOf(ctx)
	hooks, err := s.cfg.Store.Webhooks(ctx, g.ID)
	if err != nil {
		return err
	}
	if hooks = slices.DeleteFunc(hooks, func(w calendar.Webhook) bool { return !w.Ended.IsZero() }); len(hooks) >= mostWebhooks {
		fault = in.Say("no more than {1} webhooks can be in use at once; end one first.", strconv.Itoa(mostWebhooks))
	}
	if fault != "" {
		p, err := s.cfg.Store.Preferences(ctx, g.ID)
		if err != nil {
			return err
		}
		return s.nudgesWith(c, g, p, func(n *pages.Nudges) { n.Fault, n.URL = in.Say("Not added: {1}", in.Say(fault)), w.URL })
	}
	if w.Secret, err = nudge.NewWebhookSecret(s.cfg.Random); err != nil {
		return err
	}
	if w.ID, _, err = NewSecret(s.cfg.Random); err != nil {
		return err
	}
	if err := s.cfg.Store.AddWebhook(ctx, w); err != nil {
		return err
	}
	s.sessions.Put(ctx, sessionSecret, w.Secret)
	return c.Redirect(http.StatusSeeOther, nudge.PreferencesPath)
}

// badAddress says what is wrong with the address of a webhook. Whether it may be
// asked is for the client to say, who sees where its name leads.
func badAddress(address string) string {
	u, err := url.Parse(address)
	switch {
	case err != nil, u.Scheme != "https" && u.Scheme != "http", u.Hostname() == "", len(address) > longestAddress:
		return "the address must begin with https://, and be no longer than 500 letters."
	case u.User != nil:
		return "the address must hold no user or password."
	}
	return ""
}

// endWebhook ends a webhook for good.
func (s *Server) endWebhook(c echo.Context, g calendar.Grower) error {
	ctx := c.Request().Context()
	if err := s.cfg.Store.EndWebhook(ctx, g.ID, c.Param("id"), "you ended it", s.cfg.Now()); err != nil {
		return err
	}
	s.sessions.Put(ctx, sessionSaid, tongueOf(ctx).Say("The webhook was ended. Nothing is posted there from now on."))
	return c.Redirect(http.StatusSeeOther, nudge.PreferencesPath)
}
