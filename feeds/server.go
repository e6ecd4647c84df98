// Package feeds is how people hear of what their trees need: calendar feeds that
// programs subscribe to by secret link, a page, and, in nudge, messages.
//
// A plan is made for each place every morning and whenever something was logged;
// from it each feed is written once and served many times. Nothing is computed
// for a request that finds what it asks for.
package feeds

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net"
	"net/http"
	"net/url"
	"strings"
	"time"

	"github.com/alexedwards/scs/v2"
	"github.com/labstack/echo/v4"

	"budswell/calendar"
	"budswell/feeds/pages"
)

// Config is what a server is given.
type Config struct {
	Store calendar.Store
	Lore  *calendar.Lore

	// Base is the address that people reach the service by, such as
	// "https://trees.example"; links are made from it.
	Base string

	Now    func() time.Time
	Random io.Reader // for secrets; crypto/rand.Reader outside tests
	Log    *slog.Logger

	// Webhooks says that nudges are posted to webhooks, so that growers may give some.
	Webhooks bool

	// Sessions keeps sign-ins; nil: in memory, lost when the service stops.
	Sessions scs.Store
}

// Server serves feeds and pages. Make one with [New].
type Server struct {
	cfg      Config
	base     *url.URL
	pages    *pages.Pages
	sessions *scs.SessionManager
	planner  planner
	gardens  shelf[*garden]
	regions  shelf[*publicRegion]
	echo     *echo.Echo
}

// Time limits of a connection. A reader that sends or takes its bytes more
// slowly is cut off.
const (
	readHeaderTime = 5 * time.Second
	readTime       = 15 * time.Second
	workTime       = 45 * time.Second
	writeTime      = 60 * time.Second
	idleTime       = 2 * time.Minute
	stopTime       = 10 * time.Second
	maxHeader      = 16 << 10
)

// New makes a server; nothing runs until its handler is used.
func New(cfg Config) (*Server, error) {
	switch {
	case cfg.Store == nil, cfg.Lore == nil, cfg.Now == nil, cfg.Random == nil:
		return nil, errors.New("feeds: a server wants a store, a lore, a clock and randomness")
	case cfg.Log == nil:
		cfg.Log = slog.New(slog.DiscardHandler)
	}
	base, err := url.Parse(strings.TrimRight(cfg.Base, "/"))
	if err != nil || base.Host == "" || base.Scheme != "http" && base.Scheme != "https" || base.RawQuery != "" || base.Fragment != "" || base.User != nil {
		return nil, fmt.Errorf("feeds: base address %q: want one such as https://trees.example", cfg.Base)
	}
	ps, err := pages.New()
	if err != nil {
		return nil, err
	}
	s := &Server{cfg: cfg, base: base, pages: ps, planner: newPlanner(cfg.Lore)}
	s.sessions = s.newSessions()
	s.echo = s.routes()
	return s, nil
}

// Handler returns the whole service as one handler.
func (s *Server) Handler() http.Handler { return s.echo }

// Serve answers on l until ctx ends, then lets running requests finish for up to
// ten seconds.
func (s *Server) Serve(ctx context.Context, l net.Listener) error {
	hs := &http.Server{
		Handler:           s.echo,
		ReadHeaderTimeout: readHeaderTime, ReadTimeout: readTime, WriteTimeout: writeTime, IdleTimeout: idleTime,
		MaxHeaderBytes: maxHeader,
		ErrorLog:       slog.NewLogLogger(s.cfg.Log.Handler(), slog.LevelWarn),
	}
	failed := make(chan error, 1)
	go func() { failed <- hs.Serve(l) }()
	select {
	case err := <-failed:
		return fmt.Errorf("feeds: serve: %w", err)
	case <-ctx.Done():
	}
	stop, cancel := context.WithTimeout(context.WithoutCancel(ctx), stopTime)
	defer cancel()
	if err := hs.Shutdown(stop); err != nil {
		return fmt.Errorf("feeds: stop: %w", err)
	}
	return nil
}

// link returns the public address of a path.
func (s *Server) link(path string) string { return s.base.String() + path }
