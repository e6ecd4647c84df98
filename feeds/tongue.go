package feeds

import (
	"context"

	"github.com/labstack/echo/v4"

	"budswell/calendar"
	"budswell/feeds/pages"
	"budswell/feeds/wording"
)

// tongueKey is where a request's context has the tongue of whoever asks.
type tongueKey struct{}

// tongueOf returns the tongue of whoever asks: that which the grower chose, else that
// which the browser asks for.
func tongueOf(ctx context.Context) *wording.Tongue {
	if t, ok := ctx.Value(tongueKey{}).(*wording.Tongue); ok {
		return t
	}
	return wording.English
}

// speak sets the tongue of a request by a locale and what the browser asks for.
func speak(c echo.Context, l calendar.Locale) {
	r := c.Request()
	t := wording.In(l, r.Header.Get("Accept-Language"))
	c.SetRequest(r.WithContext(context.WithValue(r.Context(), tongueKey{}, t)))
}

// listen gives each request the tongue that the browser asks for, until more is known.
func listen(next echo.HandlerFunc) echo.HandlerFunc {
	return func(c echo.Context) error {
		speak(c, calendar.DefaultLocale())
		return next(c)
	}
}

// in returns the pages as whoever asks reads them.
func (s *Server) in(c echo.Context) *pages.Pages { return s.pages.In(tongueOf(c.Request().Context())) }

// growersTongue returns the tongue in which a grower is written to where no browser
// asks, as in feeds: English where none was chosen.
func (s *Server) growersTongue(ctx context.Context, grower string) (*wording.Tongue, error) {
	l, err := s.cfg.Store.Locale(ctx, grower)
	if err != nil {
		return nil, err
	}
	return wording.In(l, ""), nil
}
