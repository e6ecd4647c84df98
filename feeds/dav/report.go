package dav

import (
	"encoding/xml"
	"net/http"
	"net/url"
	"strings"
)

// report answers a query over a collection, a list of objects by name, or what
// changed since a token.
func (h *Home) report(w http.ResponseWriter, r *http.Request, at place) error {
	text, err := body(r)
	if err != nil {
		return err
	}
	var first struct{ XMLName xml.Name }
	if err := parse(text, &first); err != nil {
		return err
	}
	if at.kind != collection {
		return &Refusal{http.StatusForbidden, "supported-report", "Reports are answered for collections."}
	}
	switch first.XMLName {
	case xml.Name{Space: calNS, Local: "calendar-query"}:
		return h.query(w, text, at.collection)
	case xml.Name{Space: calNS, Local: "calendar-multiget"}:
		return h.multiget(w, text, at.collection)
	case xml.Name{Space: davNS, Local: "sync-collection"}:
		return h.sync(w, text, at.collection)
	}
	return &Refusal{http.StatusForbidden, "supported-report", "Reports answered here are calendar-query, calendar-multiget and sync-collection."}
}

func (h *Home) query(w http.ResponseWriter, text []byte, c *Collection) error {
	var q struct {
		asked
		Filter struct {
			Comp *compFilter `xml:"urn:ietf:params:xml:ns:caldav comp-filter"`
		} `xml:"urn:ietf:params:xml:ns:caldav filter"`
	}
	if err := parse(text, &q); err != nil {
		return err
	}
	if q.Filter.Comp == nil || q.Filter.Comp.Name != "VCALENDAR" {
		return &Refusal{http.StatusForbidden, "C:valid-filter", "A filter begins with the component VCALENDAR."}
	}
	var b strings.Builder
	for i := range c.Objects {
		o := &c.Objects[i]
		if o.Gone {
			continue
		}
		pass, err := q.Filter.Comp.passes(c, o)
		if err != nil {
			return err
		}
		if !pass {
			continue
		}
		if err := h.response(&b, place{object, c, o}, &q.asked, true); err != nil {
			return err
		}
	}
	return multistatus(w, b.String())
}

func (h *Home) multiget(w http.ResponseWriter, text []byte, c *Collection) error {
	var q struct {
		asked
		Hrefs []string `xml:"DAV: href"`
	}
	if err := parse(text, &q); err != nil {
		return err
	}
	byPath := make(map[string]*Object, len(c.Objects))
	for i := range c.Objects {
		if o := &c.Objects[i]; !o.Gone {
			byPath[h.at(c, o)] = o
		}
	}
	var b strings.Builder
	for _, asked := range q.Hrefs {
		asked = strings.TrimSpace(asked)
		var o *Object
		if u, err := url.Parse(asked); err == nil { // a path, or a whole address
			o = byPath[u.Path]
		}
		if o == nil {
			notFound(&b, asked)
			continue
		}
		if err := h.response(&b, place{object, c, o}, &q.asked, true); err != nil {
			return err
		}
	}
	return multistatus(w, b.String())
}

func notFound(b *strings.Builder, href string) {
	b.WriteString("<d:response><d:href>" + escape(href) + "</d:href><d:status>HTTP/1.1 404 Not Found</d:status></d:response>")
}

// sync answers what changed since a token, and what is gone (RFC 6578, 3).
// Without a token it is all that is there.
func (h *Home) sync(w http.ResponseWriter, text []byte, c *Collection) error {
	var q struct {
		asked
		Token string `xml:"DAV: sync-token"`
		Level string `xml:"DAV: sync-level"`
		Limit *int   `xml:"DAV: limit>nresults"`
	}
	if err := parse(text, &q); err != nil {
		return err
	}
	changed := func(o *Object) bool { return !o.Gone }
	if token := strings.TrimSpace(q.Token); token != "" {
		var ok bool
		if changed, ok = c.Since(token); !ok {
			return &Refusal{http.StatusForbidden, "valid-sync-token", "The token is none of this collection's. Read it from the beginning."}
		}
	}
	var b strings.Builder
	n := 0
	for i := range c.Objects {
		o := &c.Objects[i]
		if !changed(o) {
			continue
		}
		if n++; q.Limit != nil && n > *q.Limit {
			return &Refusal{http.StatusInsufficientStorage, "number-of-matches-within-limits", "More changed than was asked for at most. Ask without a limit."}
		}
		if o.Gone {
			notFound(&b, href(h.at(c, o)))
			continue
		}
		if err := h.response(&b, place{object, c, o}, &q.asked, true); err != nil {
			return err
		}
	}
	return multistatus(w, b.String()+"<d:sync-token>"+escape(c.Token)+"</d:sync-token>")
}
