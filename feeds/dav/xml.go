package dav

import (
	"bytes"
	"encoding/xml"
	"errors"
	"net/http"
	"strings"
)

// Namespaces, with the prefixes that answers use for them.
const (
	davNS      = "DAV:"                          // d
	calNS      = "urn:ietf:params:xml:ns:caldav" // c
	serverNS   = "http://calendarserver.org/ns/" // s, of getctag
	appleNS    = "http://apple.com/ns/ical/"     // a, of calendar-color
	namespaces = ` xmlns:d="` + davNS + `" xmlns:c="` + calNS + `" xmlns:s="` + serverNS + `" xmlns:a="` + appleNS + `"`
)

var prefixes = map[string]string{davNS: "d:", calNS: "c:", serverNS: "s:", appleNS: "a:"}

// names is a list of properties that are asked for.
type names struct {
	Items []struct{ XMLName xml.Name } `xml:",any"`
}

// asked is which properties a request wants: some, all, or their names only.
type asked struct {
	Prop     *names    `xml:"DAV: prop"`
	AllProp  *struct{} `xml:"DAV: allprop"`
	PropName *struct{} `xml:"DAV: propname"`
}

// deepestXML is how deep elements may lie in one another; a query of ours has
// eight.
const deepestXML = 32

// parse reads a request's XML. Deep and foreign documents are refused before any
// of them is taken in.
func parse(text []byte, into any) error {
	d := xml.NewDecoder(bytes.NewReader(text))
	depth := 0
	for {
		t, err := d.RawToken()
		if t == nil || err != nil {
			break
		}
		switch t.(type) {
		case xml.StartElement:
			depth++
		case xml.EndElement:
			depth--
		case xml.Directive:
			return &Refusal{http.StatusBadRequest, "", "The request has a document type; none is wanted."}
		}
		if depth > deepestXML {
			return &Refusal{http.StatusBadRequest, "", "The request is nested too deep."}
		}
	}
	if err := xml.Unmarshal(text, into); err != nil {
		return &Refusal{http.StatusBadRequest, "", "The request is not XML of the kind that is wanted here: " + strings.ToValidUTF8(err.Error(), "?")}
	}
	return nil
}

// escape writes text for XML.
func escape(s string) string {
	var b strings.Builder
	_ = xml.EscapeText(&b, []byte(s)) // a builder takes everything
	return b.String()
}

// element writes an element of a known namespace with what is in it, or of
// another with nothing.
func element(b *strings.Builder, name xml.Name, inner string) {
	tag, open := prefixes[name.Space]+name.Local, ""
	if prefixes[name.Space] == "" {
		tag, open = "x:"+name.Local, ` xmlns:x="`+escape(name.Space)+`"`
		if name.Space == "" {
			tag, open = name.Local, ""
		}
	}
	if inner == "" {
		b.WriteString("<" + tag + open + "/>")
		return
	}
	b.WriteString("<" + tag + open + ">" + inner + "</" + tag + ">")
}

// multistatus answers with what is in it (RFC 4918, 13).
func multistatus(w http.ResponseWriter, inner string) error {
	w.Header().Set("Content-Type", "application/xml; charset=utf-8")
	w.WriteHeader(http.StatusMultiStatus)
	_, _ = w.Write([]byte(xml.Header + "<d:multistatus" + namespaces + ">" + inner + "</d:multistatus>\n")) // the reader is gone; nothing to do about it
	return nil
}

// refuse answers a request that is not done, with the condition that it fails
// (RFC 4918, 16) and words for people.
func (h *Home) refuse(w http.ResponseWriter, r *http.Request, err error) {
	no, ok := errors.AsType[*Refusal](err)
	if !ok {
		h.Log.ErrorContext(r.Context(), "dav", "method", r.Method, "error", err)
		no = &Refusal{http.StatusInternalServerError, "", "Something went wrong here, and it was written down; try again later."}
	}
	if no.Condition == "" {
		http.Error(w, no.Words, no.Status)
		return
	}
	name := "d:" + no.Condition
	if rest, ok := strings.CutPrefix(no.Condition, "C:"); ok {
		name = "c:" + rest
	}
	w.Header().Set("Content-Type", "application/xml; charset=utf-8")
	w.WriteHeader(no.Status)
	_, _ = w.Write([]byte(xml.Header + "<d:error" + namespaces + "><" + name + "/><d:responsedescription>" + escape(no.Words) + "</d:responsedescription></d:error>\n"))
}
