// Package dav lets calendar and task programs read collections of events and
// tasks, and hear what changed in them: the part of CalDAV (RFC 4791 on WebDAV,
// RFC 4918) that a program needs which only reads, with sync-collection (RFC
// 6578), the getctag that came before it, and entity tags.
//
// Collections are made by the service, so nothing can be added to them or taken
// away; writing an object back is for the caller to judge, who makes of it what it
// can mean.
//
// The server of go-webdav 0.6.0 does too little of this, as its source shows: it
// has no sync-collection, no getctag and no privileges; a calendar-query loses
// negate-condition, and finds no task by time range; objects are encoded anew by
// another library, and not sent as they are written; and its answers cannot be
// added to from outside the module. Its client reads what is served here, in tests.
package dav

import (
	"errors"
	"io"
	"log/slog"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"time"

	"budswell/climate"
)

// Home is all that one user may read.
type Home struct {
	Root string // path of the service, such as "/dav/"
	User string // id; part of paths
	Name string // of the user, as people read it
	Mail string // empty: none

	Collections []Collection

	// Put judges an object that a program wrote back; c and o are as they were. An
	// error that is a *Refusal is told, any other is the service's own fault.
	Put func(c *Collection, o *Object, text []byte) error
	Log *slog.Logger
}

// Collection is a calendar or a list of tasks.
type Collection struct {
	Name        string // last part of its path
	Title       string // as programs show it
	Description string
	Color       string // #RRGGBB
	Component   string // VEVENT or VTODO
	Writable    bool   // objects may be written back

	Token   string // of the state it is in; it moves with every change, and is a URI when prefixed
	Objects []Object

	// Since says whether an object changed after a token was told, and false
	// where the token is not one of ours.
	Since func(token string) (changed func(*Object) bool, ok bool)
}

// Object is an event or a task.
type Object struct {
	Name        string // last part of its path
	Tag         string // entity tag, quoted
	Modified    time.Time
	Changed     int64 // when it last changed, as tokens count
	Gone        bool  // it is there no more
	First, Last climate.Date
	Text        func() ([]byte, error)
}

// Refusal says why something cannot be done, to a program and to whoever reads
// its messages.
type Refusal struct {
	Status    int
	Condition string // element in the namespace "DAV:", or "C:..." in CalDAV's
	Words     string
}

func (r *Refusal) Error() string { return r.Words }

// longestRequest is the longest body, in octets, that is read: a program may ask
// for all objects by name.
const longestRequest = 1 << 20

// allow is every method that anything here answers.
const allow = "OPTIONS, GET, HEAD, PUT, PROPFIND, REPORT"

// ServeHTTP answers a request of the user, who is known by now.
func (h *Home) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	w.Header().Set("DAV", "1, 3, calendar-access")
	w.Header().Set("Cache-Control", "private, no-cache")
	r.Body = http.MaxBytesReader(w, r.Body, longestRequest)
	if err := h.serve(w, r); err != nil {
		h.refuse(w, r, err)
	}
}

func (h *Home) serve(w http.ResponseWriter, r *http.Request) error {
	if r.Method == http.MethodOptions {
		w.Header().Set("Allow", allow)
		w.WriteHeader(http.StatusNoContent)
		return nil
	}
	switch r.Method {
	case http.MethodDelete, "PROPPATCH", "MKCOL", "MKCALENDAR", "COPY", "MOVE":
		return readOnly
	}
	at, err := h.find(r.URL.Path)
	if err != nil && r.Method == http.MethodPut {
		return readOnly
	}
	if err != nil {
		return err
	}
	switch r.Method {
	case http.MethodGet, http.MethodHead:
		return h.get(w, r, at)
	case http.MethodPut:
		return h.put(w, r, at)
	case "PROPFIND":
		return h.propfind(w, r, at)
	case "REPORT":
		return h.report(w, r, at)
	}
	w.Header().Set("Allow", allow)
	return &Refusal{http.StatusMethodNotAllowed, "", "This is not done here."}
}

// place is what a path leads to: the root, the user, the collections' home, a
// collection or an object.
type place struct {
	kind       kind
	collection *Collection
	object     *Object
}

type kind int

const (
	root kind = iota
	principal
	home
	collection
	object
)

// Paths, each under the one before.
func (h *Home) principal() string                  { return h.Root + h.User + "/" }
func (h *Home) home() string                       { return h.principal() + "calendars/" }
func (h *Home) path(c *Collection) string          { return h.home() + c.Name + "/" }
func (h *Home) at(c *Collection, o *Object) string { return h.path(c) + o.Name }

// href writes a path as it stands in answers.
func href(path string) string { return (&url.URL{Path: path}).EscapedPath() }

var readOnly = &Refusal{http.StatusForbidden, "need-privileges", "What is here is made from the plan: it can be read, and tasks can be completed and opened again, and nothing else."}

var nothing = &Refusal{http.StatusNotFound, "", "There is nothing at this address."}

// find finds what a path leads to; the last slash of a collection's may be missing.
func (h *Home) find(path string) (place, error) {
	whole := strings.TrimSuffix(path, "/") + "/"
	switch whole {
	case h.Root:
		return place{kind: root}, nil
	case h.principal():
		return place{kind: principal}, nil
	case h.home():
		return place{kind: home}, nil
	}
	rest, ok := strings.CutPrefix(whole, h.home())
	if !ok {
		return place{}, nothing
	}
	name, rest, _ := strings.Cut(rest, "/")
	for i := range h.Collections {
		c := &h.Collections[i]
		if c.Name != name {
			continue
		}
		if rest == "" {
			return place{kind: collection, collection: c}, nil
		}
		if o := c.named(strings.TrimSuffix(rest, "/")); o != nil && !strings.HasSuffix(path, "/") {
			return place{object, c, o}, nil
		}
	}
	return place{}, nothing
}

func (c *Collection) named(name string) *Object {
	for i := range c.Objects {
		if o := &c.Objects[i]; o.Name == name && !o.Gone {
			return o
		}
	}
	return nil
}

func (h *Home) get(w http.ResponseWriter, r *http.Request, at place) error {
	if at.kind != object {
		w.Header().Set("Content-Type", "text/plain; charset=utf-8")
		_, err := io.WriteString(w, "This address is for calendar and task programs: give it to one, with your user name and a password made for it on your page.\n")
		return err
	}
	text, err := at.object.Text()
	if err != nil {
		return err
	}
	w.Header().Set("ETag", at.object.Tag)
	w.Header().Set("Content-Type", contentType(at.collection))
	http.ServeContent(w, r, "", at.object.Modified, strings.NewReader(string(text)))
	return nil
}

func contentType(c *Collection) string {
	return "text/calendar; charset=utf-8; component=" + c.Component
}

// put hands an object that was written back to whoever judges it. The answer has
// no entity tag: what is kept is not what was sent (RFC 4791, 5.3.4), so that the
// program reads it again.
func (h *Home) put(w http.ResponseWriter, r *http.Request, at place) error {
	if at.kind != object || !at.collection.Writable {
		return readOnly
	}
	if want := r.Header.Get("If-Match"); want != "" && !matches(want, at.object.Tag) || matches(r.Header.Get("If-None-Match"), at.object.Tag) {
		return &Refusal{http.StatusPreconditionFailed, "", "The task has changed since your program read it. Let it read again first."}
	}
	text, err := body(r)
	if err != nil {
		return err
	}
	if err := h.Put(at.collection, at.object, text); err != nil {
		return err
	}
	w.WriteHeader(http.StatusNoContent)
	return nil
}

// matches reports whether a list of entity tags holds one.
func matches(list, tag string) bool {
	for _, t := range strings.Split(list, ",") {
		if t = strings.TrimSpace(t); t == "*" || t == tag {
			return true
		}
	}
	return false
}

func body(r *http.Request) ([]byte, error) {
	text, err := io.ReadAll(r.Body)
	if tooLong, ok := errors.AsType[*http.MaxBytesError](err); ok {
		return nil, &Refusal{http.StatusRequestEntityTooLarge, "C:max-resource-size", "That is longer than the " + strconv.FormatInt(tooLong.Limit, 10) + " octets that are read."}
	}
	if err != nil {
		return nil, &Refusal{http.StatusBadRequest, "", "The request broke off."}
	}
	return text, nil
}
