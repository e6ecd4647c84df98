package feeds

import (
	"bytes"
	"fmt"
	"net/http"
	"net/url"
	"strconv"
	"sync"

	"github.com/labstack/echo/v4"

	"budswell/calendar"
	"budswell/climate"
	"budswell/climate/phenology"
	"budswell/feeds/pages"
	"budswell/feeds/wording"
)

// seasonTrees is how many trees one page of a season shows: with more it grows heavy.
const seasonTrees = 12

// seasonRoutes are the page of a place's season, and the script that draws its charts.
func (s *Server) seasonRoutes(e *echo.Echo, person []echo.MiddlewareFunc) {
	read := []string{"GET", "HEAD"}
	path, script := s.pages.Charts()
	e.Match(read, path, serveAlways("text/javascript; charset=utf-8", script))
	e.Match(read, "/places/:place/season", s.own(s.seasonPage), person...)
}

// sofar is how a place's season stands, reckoned once, when somebody first asks.
type sofar struct {
	progress func() (*climate.Progress, error)
	foreseen func() (map[string]phenology.Season, error)
}

func soFar(lore *calendar.Lore, p *calendar.Place, trees []calendar.Tree, on climate.Date) sofar {
	return sofar{
		progress: sync.OnceValues(func() (*climate.Progress, error) { return p.Weather.Progress(p.Site, on) }),
		foreseen: sync.OnceValues(func() (map[string]phenology.Season, error) {
			return calendar.Foreseen(lore, p, trees, p.Site.Season(on))
		}),
	}
}

// seasonPage shows the season of a place beside those of other years.
func (s *Server) seasonPage(c echo.Context, g calendar.Grower) error {
	ctx := c.Request().Context()
	id, err := url.PathUnescape(c.Param("place"))
	if err != nil {
		return calendar.ErrNotFound
	}
	all, err := s.garden(ctx, g.ID)
	if err != nil {
		return err
	}
	at := all.plotAt(id)
	if at == nil {
		return calendar.ErrNotFound
	}
	progress, err := at.sofar.progress()
	if err != nil {
		return fmt.Errorf("place %q: %w", at.plan.Site.Name, err)
	}
	in := tongueOf(ctx)
	page := pages.SeasonOf(in, progress)
	page.ID, page.Place, page.Known = at.place, at.plan.Site.Name, in.Supplied(at.plan.Supply, at.plan.On)
	page.Adjusted = wording.Adjusted(at.plan.Supply)
	if !at.known.Valid() {
		page.Known, page.Adjusted = "", ""
	}
	if err := s.addSeasonTrees(c, page, at, progress); err != nil {
		return err
	}
	return s.page(c, http.StatusOK, func(b *bytes.Buffer) error { return s.in(c).Season(b, page) })
}

// addSeasonTrees adds the trees that the page shows, from the one that the query names by number.
func (s *Server) addSeasonTrees(c echo.Context, page *pages.Season, at *plot, progress *climate.Progress) error {
	trees := at.plan.Trees
	from := 0
	if text := c.QueryParam("from"); text != "" {
		n, err := strconv.Atoi(text)
		if err != nil || n < 1 || n > max(len(trees), 1) {
			return refuse(calendar.ErrInvalid, tongueOf(c.Request().Context()).Say("There is no tree {1} on this page: want a number from 1 to {2}.", fmt.Sprintf("%.20q", text), max(len(trees), 1)))
		}
		from = n - 1
	}
	to := min(from+seasonTrees, len(trees))
	page.From, page.To, page.Of = from+1, to, len(trees)
	path := func(n int) string { return placePath(at.place, fmt.Sprintf("/season?from=%d#trees", n+1)) }
	if from > 0 {
		page.Earlier = path(max(0, from-seasonTrees))
	}
	if to < len(trees) {
		page.Later = path(to)
	}
	before, err := at.sofar.foreseen()
	if err != nil {
		// The rest of the page is of use without.
		s.cfg.Log.InfoContext(c.Request().Context(), "not known what the season's start let expect", "place", at.place, "error", err)
	}
	page.Foreseen = err == nil
	for i := from; i < to; i++ {
		t := &trees[i]
		page.Trees = append(page.Trees, pages.SeasonTreeOf(tongueOf(c.Request().Context()), t, progress, at.seasons[t.Tree.ID], before[t.Tree.ID]))
	}
	return nil
}
