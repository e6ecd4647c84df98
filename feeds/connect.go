package feeds

import (
	"context"
	"crypto/subtle"
	"errors"
	"fmt"
	"net"
	"net/http"
	"strconv"
	"strings"
	"time"

	"github.com/labstack/echo/v4"

	"budswell/calendar"
	"budswell/climate"
	"budswell/feeds/dav"
	"budswell/feeds/ics"
)

// Programs connect under davRoot with a user name and a password made for them.
const davRoot = "/dav/"

// usedEvery is how often the last use of a password is written down.
const usedEvery = time.Hour

func (s *Server) davRoutes(e *echo.Echo) {
	methods := []string{
		http.MethodOptions, http.MethodGet, http.MethodHead, http.MethodPut, http.MethodDelete, "PROPFIND", "PROPPATCH", "REPORT",
		"MKCOL", "MKCALENDAR", "COPY", "MOVE",
	}
	e.Match(methods, "/.well-known/caldav", func(c echo.Context) error { // RFC 6764, 5
		return c.Redirect(http.StatusPermanentRedirect, s.link(davRoot))
	})
	e.Match(methods, "/dav", s.connected)
	e.Match(methods, davRoot+"*", s.connected)
}

// underDAV reports a request whose body is limited by package dav, above what
// forms are.
func underDAV(c echo.Context) bool { return strings.HasPrefix(c.Request().URL.Path, davRoot) }

// connected answers a program that names its user and password.
func (s *Server) connected(c echo.Context) error {
	w, r := c.Response(), c.Request()
	if !s.secret() {
		http.Error(w, "Passwords are taken over https only. The service's --base address must begin with it.", http.StatusForbidden)
		return nil
	}
	g, err := s.byPassword(c)
	switch {
	case errors.Is(err, calendar.ErrNotFound):
		w.Header().Set("WWW-Authenticate", `Basic realm="budswell", charset="UTF-8"`)
		http.Error(w, "Give your user name, and a password that you made for this program on your page.", http.StatusUnauthorized)
		return nil
	case err != nil:
		return err
	}
	e, err := s.editionOf(r.Context(), g.ID)
	if err != nil {
		return err
	}
	at := r.Clone(r.Context())
	at.URL.Path = s.base.Path + at.URL.Path // which a proxy that serves us below a path took off
	s.homeOf(r.Context(), &g, e).ServeHTTP(w, at)
	return nil
}

// secret reports whether what passes between a program and the service cannot be
// read on the way: it is told so by the address that people use.
func (s *Server) secret() bool {
	if s.base.Scheme == "https" {
		return true
	}
	host := s.base.Hostname()
	ip := net.ParseIP(host)
	return host == "localhost" || ip != nil && ip.IsLoopback()
}

// byPassword returns whose user name, id or mail address, and password a request
// has; everything that is wrong about them is ErrNotFound alike.
func (s *Server) byPassword(c echo.Context) (g calendar.Grower, err error) {
	user, secret, ok := c.Request().BasicAuth()
	if !ok {
		return g, calendar.ErrNotFound
	}
	ctx := c.Request().Context()
	check := func() (bool, error) {
		g, err = s.holder(ctx, user, strings.ToLower(strings.NewReplacer(" ", "", "-", "").Replace(secret))) // as people type it
		if errors.Is(err, calendar.ErrNotFound) {
			return false, nil
		}
		return err == nil, err
	}
	if ok, err := s.throttle(c, "program", strings.ToLower(user), check); err != nil {
		return g, err
	} else if !ok {
		return g, calendar.ErrNotFound
	}
	return g, nil
}

// holder returns the grower whose name and password these are. A password has 160
// random bits and is found by its hash, so that time tells nothing of it; what is
// then compared is so in constant time.
func (s *Server) holder(ctx context.Context, user, secret string) (calendar.Grower, error) {
	if !secretForm.MatchString(secret) {
		return calendar.Grower{}, calendar.ErrNotFound
	}
	hash, now := HashSecret(secret), s.cfg.Now()
	p, err := s.cfg.Store.PasswordByHash(ctx, hash)
	if errors.Is(err, calendar.ErrGone) {
		err = calendar.ErrNotFound
	}
	if err != nil {
		return calendar.Grower{}, err
	}
	g, err := s.cfg.Store.Grower(ctx, p.Grower)
	if err != nil {
		return g, err
	}
	if subtle.ConstantTimeCompare([]byte(p.Hash), []byte(hash))&(equalName(user, g.ID)|equalName(user, g.Email)) != 1 {
		return calendar.Grower{}, calendar.ErrNotFound
	}
	if now.Sub(p.Used) >= usedEvery {
		if err := s.cfg.Store.UsedPassword(ctx, p.Grower, p.ID, now); err != nil {
			return g, err
		}
	}
	return g, nil
}

func equalName(user, name string) int {
	if name == "" {
		return 0
	}
	return subtle.ConstantTimeCompare([]byte(strings.ToLower(user)), []byte(strings.ToLower(name)))
}

// homeOf lays an edition out as two collections.
func (s *Server) homeOf(ctx context.Context, g *calendar.Grower, e *edition) *dav.Home {
	entries := e.entries()
	work := dav.Collection{
		Name: "work", Title: "Work on trees", Description: withNote(aboutWork, e.note), Color: "#556B2F", Component: "VEVENT",
	}
	tasks := dav.Collection{
		Name: "tasks", Title: "Tasks on trees", Color: "#556B2F", Component: "VTODO", Writable: true,
		Description: withNote("Work on trees in its season, as tasks. Dates are forecasts and move with the weather: look at the tree first. Completing one logs the work as done; opening it again takes that back.", e.note),
	}
	uids := map[string]string{}
	for i := range e.Shown {
		v := &e.Shown[i]
		entry := entries[v.UID]
		if entry.Ahead {
			continue // years ahead, and no work
		}
		c := &work
		if entry.Task {
			c = &tasks
		}
		name, _, _ := strings.Cut(v.UID, "@")
		o := dav.Object{
			Name: name + ".ics", Tag: `"` + ics.Tag(v.Revision) + `"`, Modified: ics.Modified(v.Revision), Changed: v.Changed, Gone: v.Gone,
			First: entry.First, Last: entry.Last, Text: func() ([]byte, error) { return ics.Object(&entry, v.Revision) },
		}
		uids[o.Name] = v.UID
		c.Objects = append(c.Objects, o)
	}
	s.token(&work)
	s.token(&tasks)
	return &dav.Home{
		Root: s.base.Path + davRoot, User: g.ID, Name: g.Name, Mail: g.Email, Collections: []dav.Collection{work, tasks}, Log: s.cfg.Log,
		Put: func(_ *dav.Collection, o *dav.Object, text []byte) error {
			return s.written(ctx, g, entries[uids[o.Name]], text)
		},
	}
}

// token gives a collection its sync-token: a URI (RFC 6578, 3.2) that ends in the
// number of the last change in it.
func (s *Server) token(c *dav.Collection) {
	last := int64(0)
	for i := range c.Objects {
		last = max(last, c.Objects[i].Changed)
	}
	stem := s.link(davRoot) + "sync/" + c.Name + "/"
	c.Token = stem + strconv.FormatInt(last, 10)
	c.Since = func(token string) (func(*dav.Object) bool, bool) {
		number, ours := strings.CutPrefix(token, stem)
		n, err := strconv.ParseInt(number, 10, 64)
		if !ours || err != nil || n < 0 || n > last {
			return nil, false
		}
		return func(o *dav.Object) bool { return o.Changed > n }, true
	}
}

// written judges a task that a program wrote back. One that is completed now is
// logged as done, and one that is so no more is taken back, where no more was logged
// than that it was done. What a task says comes from the plan, so other changes of it
// are refused. What programs add for themselves, such as that an alarm was seen, is
// left out without a word.
func (s *Server) written(ctx context.Context, g *calendar.Grower, was ics.Entry, text []byte) error {
	is, err := ics.ReadTask(text)
	if err != nil {
		return &dav.Refusal{Status: http.StatusForbidden, Condition: "C:valid-calendar-object-resource", Words: err.Error()}
	}
	no := func(words string) error {
		return &dav.Refusal{Status: http.StatusForbidden, Condition: "need-privileges", Words: words}
	}
	switch {
	case is.UID != was.UID:
		return &dav.Refusal{Status: http.StatusForbidden, Condition: "C:no-uid-conflict", Words: "A task keeps its UID."}
	case was.Done && is.Cancelled:
		return no("This work is in the log as done, and cannot be called off here. If it was not done, take it back on the tree's page.")
	case was.Done && !is.Completed:
		return s.uncomplete(ctx, g, was)
	case was.Done:
		return nil
	case is.Completed:
		return s.complete(ctx, g, was, is)
	case was.Cancelled.Valid() && is.Cancelled:
		return nil
	case was.Cancelled.Valid():
		return no("This task has left the plan, and comes back only with it.")
	case is.Cancelled:
		return no("Tasks come from the plan and cannot be called off here. One that is not done goes when its window closes.")
	case is.Summary != was.Summary || is.Due != was.Last:
		return no("Tasks come from the plan: what they say, and when, cannot be changed here. Complete them, or log on the tree's page.")
	}
	return nil
}

// complete logs a work as done and plans anew.
func (s *Server) complete(ctx context.Context, g *calendar.Grower, was ics.Entry, is *ics.Edit) error {
	all, err := s.garden(ctx, g.ID)
	if err != nil {
		return err
	}
	t, at, zone := all.tree(was.Tree)
	if t == nil {
		return &dav.Refusal{Status: http.StatusForbidden, Condition: "need-privileges", Words: "The tree of this task is not kept any more."}
	}
	now := s.cfg.Now()
	on := at.On
	switch {
	case is.On.Valid():
		on = is.On
	case !is.At.IsZero() && is.At.Before(now): // a clock that is ahead means now
		on = climate.DateOf(is.At.In(zone))
	}
	e := calendar.Entry{On: min(on, at.On), Did: was.Work}
	if words := against(all.in, all.lore, e, t, at); words != "" {
		return &dav.Refusal{Status: http.StatusForbidden, Condition: "need-privileges", Words: all.in.Say("Not logged: {1}", words)}
	}
	if err := s.cfg.Store.AddEntry(ctx, g.ID, t.Tree.ID, e); err != nil {
		return fmt.Errorf("log %q of a task as done: %w", was.Work, err)
	}
	s.replanAfter(ctx, g.ID)
	return nil
}

// uncomplete takes back the entry that completing a task made, and plans anew. One
// that says more, such as what was left of the field soil, was written on the tree's
// page, and is not thrown away by a tap in a list.
func (s *Server) uncomplete(ctx context.Context, g *calendar.Grower, was ics.Entry) error {
	e := calendar.Entry{On: was.First, Did: was.Work}
	err := s.cfg.Store.Withdraw(ctx, g.ID, was.Tree, e, s.cfg.Now())
	if errors.Is(err, calendar.ErrNotFound) {
		return &dav.Refusal{
			Status: http.StatusForbidden, Condition: "need-privileges",
			Words: "Not taken back: the log says more of this work than that it was done, or does not hold it any more. Take it back on the tree's page.",
		}
	}
	if err != nil {
		return fmt.Errorf("take back %q of a task: %w", was.Work, err)
	}
	s.replanAfter(ctx, g.ID)
	return nil
}

// tree finds a tree with its plan, that of its place, and where that is; nil
// where there is none.
func (g *garden) tree(id string) (*calendar.TreePlan, *calendar.Plan, *time.Location) {
	for i := range g.plots {
		p := g.plots[i].plan
		for k := range p.Trees {
			if p.Trees[k].Tree.ID == id {
				return &p.Trees[k], p, g.plots[i].zone
			}
		}
	}
	return nil, nil, nil
}
