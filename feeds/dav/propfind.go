package dav

import (
	"encoding/xml"
	"net/http"
	"strconv"
	"strings"
)

// property is a property of a place, with its value as XML.
type property struct {
	name  xml.Name
	value string
}

// propfind answers what is asked of a place, and with depth 1 of what is in it.
func (h *Home) propfind(w http.ResponseWriter, r *http.Request, at place) error {
	text, err := body(r)
	if err != nil {
		return err
	}
	want := asked{AllProp: &struct{}{}} // of an empty body
	if len(text) > 0 {
		request := struct {
			XMLName xml.Name `xml:"DAV: propfind"`
			asked
		}{}
		if err := parse(text, &request); err != nil {
			return err
		}
		want = request.asked
	}
	depth := r.Header.Get("Depth")
	if depth != "0" && depth != "1" {
		return &Refusal{http.StatusForbidden, "propfind-finite-depth", "Ask with Depth 0 or 1."}
	}
	places := []place{at}
	if depth == "1" {
		places = append(places, h.inside(at)...)
	}
	var b strings.Builder
	for _, p := range places {
		if err := h.response(&b, p, &want, false); err != nil {
			return err
		}
	}
	return multistatus(w, b.String())
}

// inside lists what is directly in a place.
func (h *Home) inside(at place) []place {
	var out []place
	switch at.kind {
	case root:
		out = append(out, place{kind: principal})
	case principal:
		out = append(out, place{kind: home})
	case home:
		for i := range h.Collections {
			out = append(out, place{kind: collection, collection: &h.Collections[i]})
		}
	case collection:
		for i := range at.collection.Objects {
			if o := &at.collection.Objects[i]; !o.Gone {
				out = append(out, place{object, at.collection, o})
			}
		}
	}
	return out
}

// address returns the path of a place.
func (h *Home) address(at place) string {
	switch at.kind {
	case root:
		return h.Root
	case principal:
		return h.principal()
	case home:
		return h.home()
	case collection:
		return h.path(at.collection)
	}
	return h.at(at.collection, at.object)
}

// response writes the properties of a place that are asked for, those that it has
// and those that it has not (RFC 4918, 9.1). The text of an object is told in
// reports only.
func (h *Home) response(b *strings.Builder, at place, want *asked, report bool) error {
	have, err := h.properties(at, report && want.Prop != nil)
	if err != nil {
		return err
	}
	b.WriteString("<d:response><d:href>" + escape(href(h.address(at))) + "</d:href>")
	var found, missing strings.Builder
	switch {
	case want.Prop != nil:
		for _, asked := range want.Prop.Items {
			if v, ok := valueOf(have, asked.XMLName); ok {
				element(&found, asked.XMLName, v)
			} else {
				element(&missing, asked.XMLName, "")
			}
		}
	default:
		for _, p := range have {
			value := p.value
			if want.PropName != nil {
				value = ""
			}
			element(&found, p.name, value)
		}
	}
	propstat(b, found.String(), "200 OK")
	propstat(b, missing.String(), "404 Not Found")
	if found.Len() == 0 && missing.Len() == 0 { // nothing was asked for
		b.WriteString("<d:status>HTTP/1.1 200 OK</d:status>")
	}
	b.WriteString("</d:response>")
	return nil
}

func propstat(b *strings.Builder, props, status string) {
	if props != "" {
		b.WriteString("<d:propstat><d:prop>" + props + "</d:prop><d:status>HTTP/1.1 " + status + "</d:status></d:propstat>")
	}
}

func valueOf(have []property, name xml.Name) (string, bool) {
	for _, p := range have {
		if p.name == name {
			return p.value, true
		}
	}
	return "", false
}

// properties lists what a place has.
func (h *Home) properties(at place, text bool) ([]property, error) {
	var out []property
	dav := func(local, value string) { out = append(out, property{xml.Name{Space: davNS, Local: local}, value}) }
	cal := func(local, value string) { out = append(out, property{xml.Name{Space: calNS, Local: local}, value}) }
	link := func(path string) string { return "<d:href>" + escape(href(path)) + "</d:href>" }

	dav("current-user-principal", link(h.principal()))
	if at.kind == object {
		return h.ofObject(out, at, text)
	}
	dav("owner", link(h.principal()))
	privileges := "<d:privilege><d:read/></d:privilege><d:privilege><d:read-current-user-privilege-set/></d:privilege>"
	switch at.kind {
	case root:
		dav("resourcetype", "<d:collection/>")
	case principal:
		dav("resourcetype", "<d:collection/><d:principal/>")
		dav("displayname", escape(h.Name))
		dav("principal-URL", link(h.principal()))
		cal("calendar-home-set", link(h.home()))
		address := link(h.principal())
		if h.Mail != "" {
			address += "<d:href>mailto:" + escape(h.Mail) + "</d:href>"
		}
		cal("calendar-user-address-set", address)
	case home:
		dav("resourcetype", "<d:collection/>")
		dav("displayname", escape(h.Name))
	case collection:
		c := at.collection
		dav("resourcetype", "<d:collection/><c:calendar/>")
		dav("displayname", escape(c.Title))
		dav("sync-token", escape(c.Token))
		dav("supported-report-set", "<d:supported-report><d:report><c:calendar-query/></d:report></d:supported-report>"+
			"<d:supported-report><d:report><c:calendar-multiget/></d:report></d:supported-report>"+
			"<d:supported-report><d:report><d:sync-collection/></d:report></d:supported-report>")
		cal("calendar-description", escape(c.Description))
		cal("supported-calendar-component-set", `<c:comp name="`+escape(c.Component)+`"/>`)
		cal("supported-calendar-data", `<c:calendar-data content-type="text/calendar" version="2.0"/>`)
		cal("max-resource-size", strconv.Itoa(longestRequest))
		out = append(out, property{xml.Name{Space: serverNS, Local: "getctag"}, escape(c.Token)},
			property{xml.Name{Space: appleNS, Local: "calendar-color"}, escape(c.Color)})
		if c.Writable {
			privileges += "<d:privilege><d:write-content/></d:privilege>"
		}
	}
	dav("current-user-privilege-set", privileges)
	return out, nil
}

func (h *Home) ofObject(out []property, at place, text bool) ([]property, error) {
	dav := func(local, value string) { out = append(out, property{xml.Name{Space: davNS, Local: local}, value}) }
	dav("resourcetype", "")
	dav("getetag", escape(at.object.Tag))
	dav("getcontenttype", escape(contentType(at.collection)))
	dav("getlastmodified", at.object.Modified.UTC().Format(http.TimeFormat))
	if !text {
		return out, nil
	}
	t, err := at.object.Text()
	if err != nil {
		return nil, err
	}
	dav("getcontentlength", strconv.Itoa(len(t)))
	return append(out, property{xml.Name{Space: calNS, Local: "calendar-data"}, escape(string(t))}), nil
}
