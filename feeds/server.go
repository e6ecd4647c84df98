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
	"net/netip"
	"net/url"
	"strings"
	"sync"
	"time"

	"github.com/alexedwards/scs/v2"
	"github.com/labstack/echo/v4"

	"budswell/calendar"
	"budswell/calendar/lore"
	"budswell/climate"
	"budswell/feeds/pages"
)

// Config is what a server is given.
type Config struct {
	Store calendar.Store
	Lore  *calendar.Lore

	// Ground is what the lore was made of; over it growers and clubs lay their own words.
	// Nil: there are none.
	Ground *lore.Ground

	// Base is the address that people reach the service by, such as
	// "https://trees.example"; links are made from it.
	Base string

	Now    func() time.Time
	Random io.Reader // for secrets; crypto/rand.Reader outside tests
	Log    *slog.Logger

	// Credit says whose weather a source gives, and where the terms stand; nil: the
	// kind's name must do.
	Credit func(w calendar.WeatherSource) (words, address string)

	// ReadStation reads a file of daily weather that a grower uploads; nil: none are
	// taken.
	ReadStation func(name string, r io.Reader) (*climate.Record, error)

	// Services are the kinds of weather sources that growers may turn on.
	Services []string

	// Mail sends a message at once; nil: the service sends none, and keepers hand
	// on links themselves.
	Mail func(ctx context.Context, to, title, text string) error

	// Open lets anybody join who can read mail at the address they name. Else the
	// keeper invites.
	Open bool

	// ClubsInvite lets an invitation into a club bring people who are not with the
	// service yet. Else it is for growers of the service alone.
	ClubsInvite bool

	// Proxies are the addresses of reverse proxies, whose word on who asks is taken.
	Proxies []netip.Prefix

	// Webhooks says that nudges are posted to webhooks, so that growers may give some.
	Webhooks bool
}

// Server serves feeds and pages. Make one with [New].
type Server struct {
	cfg      Config
	base     *url.URL
	pages    *pages.Pages
	sessions *scs.SessionManager
	planner  planner
	gardens  shelf[*garden]
	editions shelf[*edition]
	lores    shelf[*knowing] // with words laid over, by what was laid
	by       string          // which program and lore make editions
	echo     *echo.Echo

	metrics   *metrics
	passwords *passwords
	guard     *guard
	looks     *turns
	mailing   sync.WaitGroup // links on their way
	typing    sync.Mutex     // held while typed readings are written
	stopTime  time.Duration
}

// Time limits of a connection. A reader that sends or takes its bytes more
// slowly is cut off.
const (
	readHeaderTime = 5 * time.Second
	readTime       = 15 * time.Second
	workTime       = 45 * time.Second
	writeTime      = 60 * time.Second
	idleTime       = 2 * time.Minute
	stopTime       = 8 * time.Second // for requests to finish
	lastTime       = time.Second     // and then for links that are being mailed; ten in all with what follows
	maxHeader      = 16 << 10
)

// New makes a server; nothing runs until its handler is used.
func New(cfg Config) (*Server, error) {
	switch {
	case cfg.Store == nil, cfg.Lore == nil, cfg.Now == nil, cfg.Random == nil:
		return nil, errors.New("feeds: a server wants a store, a lore, a clock and randomness")
	case cfg.Open && cfg.Mail == nil:
		return nil, errors.New("feeds: a service that is open to all must be able to mail them a link")
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
	cfg.Log = slog.New(requestLog{cfg.Log.Handler()})
	s := &Server{cfg: cfg, base: base, pages: ps, stopTime: stopTime}
	if s.by, err = maker(&cfg); err != nil {
		return nil, err
	}
	if s.metrics, err = newMetrics(cfg.Store, cfg.Now); err != nil {
		return nil, err
	}
	s.gardens.weigh, s.gardens.top = (*garden).trees, mostTrees
	s.planner = s.timed(newPlanner(cfg.Lore))
	s.passwords, s.guard, s.looks = newPasswords(usualCost), &guard{now: cfg.Now}, newTurns()
	s.sessions = s.newSessions()
	s.echo = s.routes()
	return s, nil
}

// Handler returns the whole service as one handler.
func (s *Server) Handler() http.Handler { return s.echo }

// Serve answers on l until ctx ends, then lets running requests finish, and cuts
// off those that take longer than eight seconds; it returns within ten.
func (s *Server) Serve(ctx context.Context, l net.Listener) error {
	hs := httpServer(s.echo, s.cfg.Log)
	failed := make(chan error, 1)
	go func() { failed <- hs.Serve(l) }()
	sweeping, cancel := context.WithCancel(ctx)
	defer cancel()
	go s.sweep(sweeping)
	select {
	case err := <-failed:
		return fmt.Errorf("feeds: serve: %w", err)
	case <-ctx.Done():
	}
	return s.stop(context.WithoutCancel(ctx), hs)
}

// ServeMetrics answers Prometheus on l until ctx ends.
func (s *Server) ServeMetrics(ctx context.Context, l net.Listener) error {
	hs := httpServer(s.Metrics(), s.cfg.Log)
	defer context.AfterFunc(ctx, func() { _ = hs.Close() })()
	if err := hs.Serve(l); !errors.Is(err, http.ErrServerClosed) {
		return fmt.Errorf("feeds: serve metrics: %w", err)
	}
	return nil
}

func httpServer(h http.Handler, log *slog.Logger) *http.Server {
	return &http.Server{
		Handler:           h,
		ReadHeaderTimeout: readHeaderTime, ReadTimeout: readTime, WriteTimeout: writeTime, IdleTimeout: idleTime,
		MaxHeaderBytes: maxHeader,
		ErrorLog:       slog.NewLogLogger(log.Handler(), slog.LevelWarn),
	}
}

// stop ends what runs, within the time that stopping may take.
func (s *Server) stop(ctx context.Context, hs *http.Server) error {
	ctx, cancel := context.WithTimeout(ctx, s.stopTime)
	defer cancel()
	err := hs.Shutdown(ctx)
	if errors.Is(err, context.DeadlineExceeded) {
		s.cfg.Log.Warn("requests were cut off: they took too long to end", "after", s.stopTime)
		err = hs.Close()
	}
	if err != nil {
		return fmt.Errorf("feeds: stop: %w", err)
	}
	mailed := make(chan struct{})
	go func() {
		s.mailing.Wait()
		close(mailed)
	}()
	select {
	case <-mailed:
	case <-time.After(lastTime):
		s.cfg.Log.Warn("a link was not mailed: who asked for it must ask again")
	}
	return nil
}

// sweepEvery is how often what is of no more use is deleted, and rememberLeft how long
// the hashes of the feeds of growers who left are kept: programs poll for years, and are
// told that a feed is gone, which makes them stop, rather than that there is none. A
// hash of a random secret tells nothing of anyone.
const (
	sweepEvery   = time.Hour
	rememberLeft = 3 * 366 * 24 * time.Hour
)

func (s *Server) sweep(ctx context.Context) {
	tick := time.NewTicker(sweepEvery)
	defer tick.Stop()
	for {
		now := s.cfg.Now()
		if err := s.cfg.Store.Sweep(ctx, now, now.Add(-rememberLeft)); err != nil && ctx.Err() == nil {
			s.cfg.Log.ErrorContext(ctx, "sweep", "error", err)
		}
		select {
		case <-ctx.Done():
			return
		case <-tick.C:
		}
	}
}

// link returns the public address of a path.
func (s *Server) link(path string) string { return s.base.String() + path }
