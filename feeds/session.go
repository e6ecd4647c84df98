package feeds

import (
	"context"
	"encoding/json"
	"errors"
	"net/http"
	"strings"
	"time"

	"github.com/alexedwards/scs/v2"
	"github.com/labstack/echo/v4"

	"budswell/calendar"
)

// What a session holds; all of it text.
const (
	sessionGrower = "grower" // id
	sessionSince  = "since"  // when the grower signed in
	sessionAgent  = "agent"  // the browser, as it names itself
	sessionNew    = "new"    // made in this request; never stored
	sessionSaid   = "said"   // a sentence to show once
	sessionMade   = "made"   // the secret of a feed just made, shown once
	sessionNamed  = "named"  // and the feed's name
	sessionYears  = "years"  // and whether it shows the years, which are no tasks: "yes" or empty
)

const (
	sessionLife = 30 * 24 * time.Hour // from sign-in
	sessionIdle = 14 * 24 * time.Hour // from the last visit

	// seenWithin is how exactly the last visit is known: without a change a
	// session is written no more often.
	seenWithin = time.Minute
)

func (s *Server) newSessions() *scs.SessionManager {
	m := scs.New()
	m.Lifetime = sessionLife
	m.IdleTimeout = sessionIdle
	m.Cookie.Name = s.cookie("session")
	m.Cookie.HttpOnly = true
	m.Cookie.SameSite = http.SameSiteLaxMode
	m.Cookie.Secure = s.base.Scheme == "https"
	m.Codec = sessionCodec{}
	m.Store = &sessionStore{s.cfg.Store, s.cfg.Now}
	m.ErrorFunc = func(w http.ResponseWriter, r *http.Request, err error) {
		s.cfg.Log.ErrorContext(r.Context(), "session", "error", err)
		http.Error(w, "The sign-in could not be read or kept. Try again later.", http.StatusInternalServerError)
	}
	return m
}

// cookie returns the name of a cookie. Behind https it has the prefix by which
// browsers take it from this host alone.
func (s *Server) cookie(name string) string {
	if s.base.Scheme == "https" {
		return "__Host-" + name
	}
	return name
}

// sessionCodec writes a session as JSON, the same for the same content.
type sessionCodec struct{}

type sessionData struct {
	Deadline time.Time      `json:"deadline"`
	Values   map[string]any `json:"values"`
}

func (sessionCodec) Encode(deadline time.Time, values map[string]any) ([]byte, error) {
	return json.Marshal(sessionData{deadline, values})
}

func (sessionCodec) Decode(b []byte) (time.Time, map[string]any, error) {
	var d sessionData
	err := json.Unmarshal(b, &d)
	if d.Values == nil {
		d.Values = map[string]any{}
	}
	return d.Deadline, d.Values, err
}

// sessionStore keeps sessions in the database, under the hash of the cookie's
// value. When they end is decided here, by the service's clock.
type sessionStore struct {
	store calendar.Store
	now   func() time.Time
}

// FindCtx implements scs.CtxStore.
func (s *sessionStore) FindCtx(ctx context.Context, token string) ([]byte, bool, error) {
	v, err := s.store.Session(ctx, HashSecret(token), s.now())
	if errors.Is(err, calendar.ErrNotFound) {
		return nil, false, nil
	}
	return v.Data, err == nil, err
}

// CommitCtx implements scs.CtxStore. An answer that says what went wrong is
// written, and the session with it, when the request's time is over already.
func (s *sessionStore) CommitCtx(ctx context.Context, token string, b []byte, _ time.Time) error {
	ctx, cancel := context.WithTimeout(context.WithoutCancel(ctx), readTime)
	defer cancel()
	now := s.now()
	deadline, values, err := sessionCodec{}.Decode(b)
	if err != nil {
		return err
	}
	text := func(key string) string { v, _ := values[key].(string); return v }
	made := text(sessionNew) != ""
	delete(values, sessionNew)
	v := calendar.Session{Hash: HashSecret(token), Grower: text(sessionGrower), Seen: now, Expires: now.Add(sessionIdle)}
	if since, err := time.Parse(time.RFC3339, text(sessionSince)); err == nil && since.Add(sessionLife).Before(v.Expires) {
		v.Expires = since.Add(sessionLife)
	}
	if v.Data, err = (sessionCodec{}).Encode(deadline, values); err != nil {
		return err
	}
	if made {
		return s.store.PutSession(ctx, v)
	}
	was, err := s.store.Session(ctx, v.Hash, now)
	switch {
	case errors.Is(err, calendar.ErrNotFound):
		return nil // ended meanwhile
	case err != nil:
		return err
	case string(was.Data) == string(v.Data) && now.Sub(was.Seen) < seenWithin:
		return nil
	}
	if err := s.store.KeepSession(ctx, v); !errors.Is(err, calendar.ErrNotFound) {
		return err
	}
	return nil
}

// DeleteCtx implements scs.CtxStore.
func (s *sessionStore) DeleteCtx(ctx context.Context, token string) error {
	return s.store.EndSession(ctx, HashSecret(token))
}

// Find, Commit and Delete make a scs.Store of it; scs calls those above.
func (s *sessionStore) Find(token string) ([]byte, bool, error) {
	return s.FindCtx(context.Background(), token)
}

// Commit implements scs.Store.
func (s *sessionStore) Commit(token string, b []byte, expires time.Time) error {
	return s.CommitCtx(context.Background(), token, b, expires)
}

// Delete implements scs.Store.
func (s *sessionStore) Delete(token string) error { return s.DeleteCtx(context.Background(), token) }

// signIn makes a new session of a grower under a new secret.
func (s *Server) signIn(c echo.Context, grower string) error {
	ctx := c.Request().Context()
	if err := s.sessions.RenewToken(ctx); err != nil {
		return err
	}
	agent := c.Request().UserAgent()
	s.sessions.Put(ctx, sessionGrower, grower)
	s.sessions.Put(ctx, sessionSince, s.cfg.Now().UTC().Format(time.RFC3339))
	s.sessions.Put(ctx, sessionAgent, strings.ToValidUTF8(agent[:min(len(agent), longestAgent)], ""))
	s.sessions.Put(ctx, sessionNew, "yes")
	s.cfg.Log.InfoContext(ctx, "signed in", "grower", grower)
	return nil
}

// longestAgent is how much is kept of what a browser calls itself, in bytes.
const longestAgent = 200

// sessionHash names the session of a request in the store.
func (s *Server) sessionHash(ctx context.Context) string { return HashSecret(s.sessions.Token(ctx)) }

// enter takes the secret of a grower's link, and goes on to the page, so that
// the secret stands in the address bar no longer than need be.
func (s *Server) enter(c echo.Context) error {
	key := c.Param("key")
	if !secretForm.MatchString(key) {
		return calendar.ErrNotFound
	}
	g, err := s.cfg.Store.GrowerByKey(c.Request().Context(), HashSecret(key))
	if err != nil {
		return err
	}
	if err := s.signIn(c, g.ID); err != nil {
		return err
	}
	return c.Redirect(http.StatusSeeOther, "/")
}

// leave ends the session.
func (s *Server) leave(c echo.Context) error {
	if err := s.sessions.Destroy(c.Request().Context()); err != nil {
		return err
	}
	return c.Redirect(http.StatusSeeOther, "/")
}

// grower returns who is signed in; false where nobody is.
func (s *Server) grower(c echo.Context) (calendar.Grower, bool, error) {
	ctx := c.Request().Context()
	id := s.sessions.GetString(ctx, sessionGrower)
	if id == "" {
		return calendar.Grower{}, false, nil
	}
	g, err := s.cfg.Store.Grower(ctx, id)
	if errors.Is(err, calendar.ErrNotFound) {
		return g, false, nil
	}
	if err != nil {
		return g, false, err
	}
	l, err := s.cfg.Store.Locale(ctx, id)
	if err != nil {
		return g, false, err
	}
	speak(c, l)
	return g, true, nil
}
