package feeds

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"strings"
	"time"

	"github.com/labstack/echo/v4"

	"budswell/calendar"
	"budswell/climate"
	"budswell/feeds/ics"
	"budswell/feeds/pages"
)

// taskRoute is the path of a link's tasks; as of all routes with a secret, only
// the pattern is ever logged.
const taskRoute = "/f/:token/tasks.ics"

// feed serves a grower's calendar to whoever has its link.
func (s *Server) feed(c echo.Context) error {
	return s.serveFeed(c, strings.TrimSuffix(c.Param("token"), ".ics"), false)
}

// tasks serves the same work as a list of tasks.
func (s *Server) tasks(c echo.Context) error { return s.serveFeed(c, c.Param("token"), true) }

func (s *Server) serveFeed(c echo.Context, token string, tasks bool) error {
	if !secretForm.MatchString(token) {
		return calendar.ErrNotFound
	}
	ctx := c.Request().Context()
	f, err := s.cfg.Store.FeedByToken(ctx, HashSecret(token))
	if errors.Is(err, calendar.ErrGone) {
		b, err := s.farewell(ctx, f, tasks, s.cfg.Now())
		if err != nil {
			return err
		}
		return serveCalendar(c, b)
	}
	if err != nil {
		return err
	}
	name := feedBody(f.ID)
	if tasks {
		name = tasksBody(f.ID)
	}
	b, err := s.polled(ctx, f.Grower, name, s.cfg.Now())
	if err != nil {
		return err
	}
	if b == nil {
		e, err := s.editionOf(ctx, f.Grower)
		if err != nil {
			return err
		}
		if b = e.feeds[name]; b == nil {
			return calendar.ErrNotFound
		}
	}
	return serveCalendar(c, b)
}

func serveCalendar(c echo.Context, b *body) error {
	c.Response().Header().Set("Content-Disposition", `inline; filename="trees.ics"`)
	b.ServeHTTP(c.Response(), c.Request())
	return nil
}

// farewellDays is for how many days the link of a feed that was withdrawn, or
// whose grower has left, still explains itself.
const farewellDays = 30

// farewell is what a withdrawn link shows for a while: one event, or one task, on
// the day of its end, and nothing of anyone's trees. Afterwards it is ErrGone.
func (s *Server) farewell(ctx context.Context, f calendar.Feed, tasks bool, now time.Time) (*body, error) {
	at := f.Revoked.UTC().Truncate(time.Second)
	last := at.AddDate(0, 0, farewellDays)
	if !now.Before(last) {
		return nil, calendar.ErrGone
	}
	in, err := s.growersTongue(ctx, f.Grower)
	if err != nil {
		return nil, err
	}
	day := climate.DateOf(at)
	e := ics.Entry{
		UID: ics.UID("link "+f.TokenHash, "farewell", fmt.Sprint(tasks)), Task: tasks, Priority: 5,
		Summary: in.Say("The link of this calendar was withdrawn"),
		Description: in.Say("The link that your program reads was withdrawn on {1}, and shows no work any more. Take the calendar off your program. "+
			"If you still want it, open your page at {2} and make a new feed. This notice ends on {3}; then there is nothing here.", in.WeekDay(day), s.link("/"), in.WeekDay(climate.DateOf(last))),
		URL: s.link("/"), First: day, Last: day, Cancelled: climate.NoDate,
	}
	c := ics.Calendar{UID: ics.UID("link "+f.TokenHash, "feed", fmt.Sprint(tasks)), Name: f.Name, Description: e.Summary + ".", URL: e.URL, Entries: []ics.Entry{e}}
	revisions := map[string]calendar.Revision{}
	for _, r := range c.Digests() {
		r.Modified = at
		revisions[r.UID] = r
	}
	text, err := c.Bytes(revisions)
	if err != nil {
		return nil, err
	}
	return newBody(calendarKind, personCache, text, at)
}

// FeedLink returns the address of a feed from its secret.
func FeedLink(base, secret string) string {
	return strings.TrimRight(base, "/") + "/f/" + secret + ".ics"
}

// TaskLink returns the address of the same work as tasks.
func TaskLink(base, secret string) string {
	return strings.TrimRight(base, "/") + "/f/" + secret + "/tasks.ics"
}

// PageLink returns the address that opens a grower's page from its secret.
func PageLink(base, secret string) string { return strings.TrimRight(base, "/") + "/enter/" + secret }

// RegionLink returns the public address of a region.
func RegionLink(base, id string) string { return strings.TrimRight(base, "/") + "/r/" + id }

// longestName is the longest name of a feed, in letters.
const longestName = 100

// makeFeed makes a feed and shows its link once.
func (s *Server) makeFeed(c echo.Context, g calendar.Grower) error {
	form, err := c.FormParams()
	if err != nil {
		return err
	}
	ctx := c.Request().Context()
	f := calendar.Feed{
		Grower: g.ID, Name: strings.TrimSpace(form.Get("name")),
		Filter: calendar.Filter{Trees: form["tree"], Groups: form["group"], Classes: form["class"], Works: form["work"], Years: form.Get("years") != ""},
	}
	if !calendar.ValidName(f.Name, longestName) {
		return s.calendarsWith(c, g, &pages.Fault{Words: "A feed wants a name of 1 to 100 letters, by which you find it in your calendar program.", Name: f.Name}, f.Filter)
	}
	if bad, err := s.unknown(ctx, g.ID, f.Filter); err != nil {
		return err
	} else if bad != "" {
		return refuse(calendar.ErrInvalid, tongueOf(ctx).Say("The feed was not made: {1} is not among the choices. Load the page again, and pick once more.", bad))
	}
	if err := s.newFeed(c, f); err != nil {
		return err
	}
	return c.Redirect(http.StatusSeeOther, "/calendars")
}

// newFeed makes a feed; the page that comes next shows its link.
func (s *Server) newFeed(c echo.Context, f calendar.Feed) (err error) {
	ctx := c.Request().Context()
	var secret string
	if secret, f.TokenHash, err = NewSecret(s.cfg.Random); err != nil {
		return err
	}
	if f.ID, _, err = NewSecret(s.cfg.Random); err != nil {
		return err
	}
	f.Created = s.cfg.Now()
	if err := s.cfg.Store.PutFeed(ctx, f); err != nil {
		return err
	}
	s.sessions.Put(ctx, sessionMade, secret)
	s.sessions.Put(ctx, sessionNamed, f.Name)
	if f.Filter.Years {
		s.sessions.Put(ctx, sessionYears, "yes")
	}
	return nil
}

// revokeFeed withdraws a feed's link for good.
func (s *Server) revokeFeed(c echo.Context, g calendar.Grower) error {
	ctx := c.Request().Context()
	if err := s.cfg.Store.RevokeFeed(ctx, g.ID, c.Param("id"), s.cfg.Now()); err != nil {
		return err
	}
	s.sessions.Put(ctx, sessionSaid, tongueOf(ctx).Say("The feed was withdrawn. Its link shows no work from now on: for thirty days it tells whoever reads it so, then nothing."))
	return c.Redirect(http.StatusSeeOther, "/calendars#feeds")
}
