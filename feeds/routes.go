package feeds

import (
	"bytes"
	"compress/gzip"
	"errors"
	"log/slog"
	"net/http"
	"regexp"
	"strings"
	"sync"
	"time"

	"github.com/labstack/echo/v4"
	"github.com/labstack/echo/v4/middleware"

	"budswell/feeds/pages"
)

// contentPolicy lets a page load its own style sheet and scripts and nothing else;
// nothing that stands in the page itself runs.
const contentPolicy = "default-src 'none'; script-src 'self'; connect-src 'self'; style-src 'self'; img-src data:; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"

// secretPaths are the routes whose path holds a secret; they answer in plain
// text, and only the pattern of a route is ever logged.
const (
	feedRoute  = "/f/:token"
	enterRoute = "/enter/:key"
)

func (s *Server) routes() *echo.Echo {
	e := echo.New()
	e.HideBanner, e.HidePort = true, true
	e.Logger.SetOutput(logWriter{s.cfg.Log})
	e.IPExtractor = trusted(s.cfg.Proxies)
	e.HTTPErrorHandler = s.tell
	secure := s.base.Scheme == "https"
	e.Use(
		s.metrics.requests,
		capRequestID,
		middleware.RequestID(),
		inContext,
		listen,
		middleware.RequestLoggerWithConfig(middleware.RequestLoggerConfig{
			LogMethod: true, LogRoutePath: true, LogStatus: true, LogLatency: true, LogError: true, HandleError: true,
			LogValuesFunc: s.logRequest,
		}),
		middleware.RecoverWithConfig(middleware.RecoverConfig{LogErrorFunc: func(c echo.Context, err error, stack []byte) error {
			s.cfg.Log.ErrorContext(c.Request().Context(), "panic", "error", err, "stack", string(stack))
			return err
		}}),
		middleware.SecureWithConfig(middleware.SecureConfig{
			ContentTypeNosniff: "nosniff", XFrameOptions: "DENY", ReferrerPolicy: "no-referrer", ContentSecurityPolicy: contentPolicy,
			HSTSMaxAge: map[bool]int{true: 365 * 24 * 60 * 60}[secure], HSTSExcludeSubdomains: true,
		}),
		middleware.BodyLimitWithConfig(middleware.BodyLimitConfig{Limit: "64K", Skipper: func(c echo.Context) bool { return takesFiles(c) || underDAV(c) }}),
		middleware.BodyLimitWithConfig(middleware.BodyLimitConfig{Limit: uploadForm}),
		middleware.ContextTimeout(workTime),
	)
	read := func(path string, h echo.HandlerFunc, m ...echo.MiddlewareFunc) {
		e.Match([]string{"GET", "HEAD"}, path, h, m...)
	}
	read("/healthz", alive)
	read("/readyz", s.ready)
	read(feedRoute, s.feed)
	read(taskRoute, s.tasks)
	s.davRoutes(e)
	s.regionRoutes(e)
	style, css := s.pages.Style()
	read(style, serveAlways("text/css; charset=utf-8", css))

	person := []echo.MiddlewareFunc{
		echo.WrapMiddleware(s.sessions.LoadAndSave),
		middleware.CSRFWithConfig(middleware.CSRFConfig{
			TokenLookup: "form:_csrf", CookieName: s.cookie("csrf"), CookieMaxAge: int(sessionLife.Seconds()), CookiePath: "/", CookieHTTPOnly: true, CookieSecure: secure, CookieSameSite: http.SameSiteLaxMode,
		}),
		noStore,
	}
	s.benchRoutes(e, person)
	read(enterRoute, s.enter, person...)
	e.POST("/leave", s.leave, person...)
	e.POST("/feeds", s.own(s.makeFeed), person...)
	e.POST("/feeds/:id/revoke", s.own(s.revokeFeed), person...)
	s.programRoutes(e, person)
	read("/trees/:id/log", s.own(s.logPage), person...)
	e.POST("/trees/:id/log", s.own(s.logEntry), person...)
	s.accountRoutes(e, person)
	s.nudgeRoutes(e, person)
	s.wishRoutes(e, person)
	s.readingRoutes(e, person)
	s.startRoutes(e, person)
	s.loreRoutes(e, person)
	s.clubRoutes(e, person)
	s.regionFormRoutes(e, person)
	s.seasonRoutes(e, person)
	s.printRoutes(e, person)
	return e
}

var requestID = regexp.MustCompile(`^[A-Za-z0-9._-]{1,64}$`)

// capRequestID drops a request's own id when it is long or odd; a new one is
// made then.
func capRequestID(next echo.HandlerFunc) echo.HandlerFunc {
	return func(c echo.Context) error {
		if h := c.Request().Header; !requestID.MatchString(h.Get(echo.HeaderXRequestID)) {
			h.Del(echo.HeaderXRequestID)
		}
		return next(c)
	}
}

// noStore keeps pages of a person out of every cache.
func noStore(next echo.HandlerFunc) echo.HandlerFunc {
	return func(c echo.Context) error {
		c.Response().Header().Set("Cache-Control", "no-store")
		return next(c)
	}
}

// serveAlways serves what never changes under its path.
func serveAlways(kind string, content []byte) echo.HandlerFunc {
	made := sync.OnceValues(func() (*body, error) {
		return newBody(kind, "public, max-age=31536000, immutable", content, time.Time{})
	})
	return func(c echo.Context) error {
		b, err := made()
		if err == nil {
			b.ServeHTTP(c.Response(), c.Request())
		}
		return err
	}
}

// logRequest writes one line a request. It names the route and never the path,
// which holds the secrets of links.
func (s *Server) logRequest(c echo.Context, v middleware.RequestLoggerValues) error {
	level := slog.LevelInfo
	attrs := []slog.Attr{
		slog.String("method", v.Method), slog.String("route", v.RoutePath), slog.Int("status", v.Status),
		slog.Duration("took", v.Latency),
	}
	if v.Status >= http.StatusInternalServerError && v.Error != nil {
		level = slog.LevelError
		attrs = append(attrs, slog.String("error", v.Error.Error()))
	}
	s.cfg.Log.LogAttrs(c.Request().Context(), level, "request", attrs...)
	return nil
}

// tell answers a request that failed, in plain text where a program asked.
func (s *Server) tell(err error, c echo.Context) {
	if c.Response().Committed {
		return
	}
	status, words := answer(err)
	in := tongueOf(c.Request().Context())
	h := c.Response().Header()
	h.Set("Cache-Control", "no-store")
	if h2, ok := errors.AsType[*echo.HTTPError](err); ok && h2.Code == http.StatusMethodNotAllowed {
		status = h2.Code
	}
	var failed error
	switch path := c.Path(); {
	case c.Request().Method == http.MethodHead:
		failed = c.NoContent(status)
	case path == feedRoute, path == taskRoute, path == "/healthz", path == "/readyz", strings.HasSuffix(path, ".ics"), strings.HasSuffix(c.Request().URL.Path, ".ics"), strings.HasPrefix(path, davRoot):
		failed = c.String(status, words+"\n")
	default:
		failed = s.page(c, status, func(b *bytes.Buffer) error {
			return s.in(c).Message(b, &pages.Message{Title: in.Say(http.StatusText(status)), Text: in.Say(words)})
		})
	}
	if failed != nil {
		s.cfg.Log.WarnContext(c.Request().Context(), "answer not written", "error", failed)
	}
}

// page answers with a page that render writes.
func (s *Server) page(c echo.Context, status int, render func(*bytes.Buffer) error) error {
	var b bytes.Buffer
	if err := render(&b); err != nil {
		return err
	}
	out, h := b.Bytes(), c.Response().Header()
	h.Add("Vary", "Accept-Encoding")
	if mayPack(c.Request(), status) && takesGzip(c.Request().Header.Values("Accept-Encoding")) {
		packed, err := pack(out, gzip.DefaultCompression)
		if err != nil {
			return err
		}
		h.Set("Content-Encoding", "gzip")
		out = packed
	}
	return c.HTMLBlob(status, out)
}

// logWriter passes what echo itself logs on.
type logWriter struct{ log *slog.Logger }

func (w logWriter) Write(b []byte) (int, error) {
	w.log.Warn(strings.TrimSpace(string(b)))
	return len(b), nil
}
