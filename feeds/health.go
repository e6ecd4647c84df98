package feeds

import (
	"context"
	"fmt"
	"net/http"
	"slices"
	"strings"
	"time"

	"github.com/labstack/echo/v4"

	"budswell/climate"
)

// lateMorning is how old the last morning of a place may be: a day, the hour
// between two looks, and one in which it may be under way.
const lateMorning = 26 * time.Hour

// alive answers that the process is there.
func alive(c echo.Context) error { return c.String(http.StatusOK, "ok\n") }

// ready answers whether the service does what it is for, in words that name
// nobody: 200, or 503 where it does not.
func (s *Server) ready(c echo.Context) error {
	ok, words := s.state(c.Request().Context())
	c.Response().Header().Set("Cache-Control", "no-store")
	status := http.StatusOK
	if !ok {
		status = http.StatusServiceUnavailable
	}
	return c.String(status, strings.Join(words, "\n")+"\n")
}

func (s *Server) state(ctx context.Context) (ok bool, words []string) {
	// The cause is for the log; who asks may be anybody.
	if err := s.cfg.Store.Ready(ctx); err != nil {
		s.cfg.Log.ErrorContext(ctx, "not ready", "error", err)
		return false, []string{"not ready", "store: cannot be used; the log says why"}
	}
	words = []string{"ready", "store: reachable, its schema is current"}
	sites, err := s.cfg.Store.Sites(ctx)
	if err != nil {
		s.cfg.Log.ErrorContext(ctx, "not ready", "error", err)
		return false, []string{"not ready", "store: cannot be read; the log says why"}
	}
	ran, err := s.cfg.Store.LastRuns(ctx)
	if err != nil {
		s.cfg.Log.ErrorContext(ctx, "not ready", "error", err)
		return false, []string{"not ready", "store: cannot be read; the log says why"}
	}
	now := s.cfg.Now()
	late, never := 0, 0
	for _, p := range sites {
		switch last := ran["morning "+p.Grower+"/"+p.ID]; {
		case last.IsZero():
			never++
		case now.Sub(last) > lateMorning:
			late++
		}
	}
	if late > 0 {
		words[0] = "not ready"
	}
	words = append(words, fmt.Sprintf("mornings: %d of %d places late, %d not yet planned", late, len(sites), never))
	until, err := s.cfg.Store.WeatherUntil(ctx)
	switch {
	case err != nil:
		s.cfg.Log.ErrorContext(ctx, "not ready", "error", err)
		words[0] = "not ready"
		words = append(words, "weather: its age cannot be told; the log says why")
	case len(until) == 0:
		words = append(words, "weather: no place has a record")
	default:
		oldest := slices.Min(until)
		words = append(words, fmt.Sprintf("weather: %d of %d places have a record; the oldest goes up to %v, %d days ago",
			len(until), len(sites), oldest, climate.DateOf(now.UTC())-oldest))
	}
	return words[0] == "ready", words
}
