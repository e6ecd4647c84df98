package dav

import (
	"net/http"
	"strings"
	"time"
)

// Filters of a calendar-query (RFC 4791, 9.7).
type (
	compFilter struct {
		Name       string       `xml:"name,attr"`
		NotDefined *struct{}    `xml:"urn:ietf:params:xml:ns:caldav is-not-defined"`
		Range      *timeRange   `xml:"urn:ietf:params:xml:ns:caldav time-range"`
		Props      []propFilter `xml:"urn:ietf:params:xml:ns:caldav prop-filter"`
		Comps      []compFilter `xml:"urn:ietf:params:xml:ns:caldav comp-filter"`
	}
	propFilter struct {
		Name       string      `xml:"name,attr"`
		NotDefined *struct{}   `xml:"urn:ietf:params:xml:ns:caldav is-not-defined"`
		Range      *timeRange  `xml:"urn:ietf:params:xml:ns:caldav time-range"`
		Text       *textMatch  `xml:"urn:ietf:params:xml:ns:caldav text-match"`
		Params     []*struct{} `xml:"urn:ietf:params:xml:ns:caldav param-filter"`
	}
	textMatch struct {
		Text   string `xml:",chardata"`
		Negate string `xml:"negate-condition,attr"`
	}
	timeRange struct {
		Start string `xml:"start,attr"`
		End   string `xml:"end,attr"`
	}
)

// slack is by how much the days of a place may begin before or after those of
// UTC: days are a place's own, and a range is of instants.
const slack = 14 * time.Hour

// passes reports whether an object passes the filter of the whole calendar.
func (f *compFilter) passes(c *Collection, o *Object) (bool, error) {
	if f.NotDefined != nil {
		return false, nil
	}
	for i := range f.Comps {
		inner := &f.Comps[i]
		there := strings.EqualFold(inner.Name, c.Component)
		if inner.NotDefined != nil {
			there = !there
		} else if there {
			var err error
			if there, err = inner.component(o); err != nil {
				return false, err
			}
		}
		if !there {
			return false, nil
		}
	}
	return true, nil
}

// component reports whether an object's one component passes.
func (f *compFilter) component(o *Object) (bool, error) {
	if f.Range != nil {
		if ok, err := f.Range.meets(o); !ok || err != nil {
			return false, err
		}
	}
	if len(f.Props) == 0 && len(f.Comps) == 0 {
		return true, nil
	}
	text, err := o.Text()
	if err != nil {
		return false, err
	}
	props, alarm := read(text)
	for i := range f.Props {
		if ok, err := f.Props[i].passes(props); !ok || err != nil {
			return false, err
		}
	}
	for i := range f.Comps {
		inner := &f.Comps[i]
		if inner.Range != nil || len(inner.Props) > 0 || len(inner.Comps) > 0 {
			return false, unsupported
		}
		if there := strings.EqualFold(inner.Name, "VALARM") && alarm; there == (inner.NotDefined != nil) {
			return false, nil
		}
	}
	return true, nil
}

var unsupported = &Refusal{http.StatusForbidden, "C:supported-filter", "Filters are by component, time range, and text of properties."}

func (f *propFilter) passes(props map[string][]string) (bool, error) {
	if f.Range != nil || len(f.Params) > 0 {
		return false, unsupported
	}
	values := props[strings.ToUpper(f.Name)]
	switch {
	case f.NotDefined != nil:
		return len(values) == 0, nil
	case f.Text == nil:
		return len(values) > 0, nil
	}
	for _, v := range values {
		if strings.Contains(strings.ToLower(v), strings.ToLower(f.Text.Text)) {
			return f.Text.Negate != "yes", nil
		}
	}
	return f.Text.Negate == "yes" && len(values) > 0, nil
}

// meets reports whether an object's days meet a range of instants.
func (t *timeRange) meets(o *Object) (bool, error) {
	start, err := instant(t.Start, time.Time{})
	if err != nil {
		return false, err
	}
	end, err := instant(t.End, time.Date(9999, 12, 31, 0, 0, 0, 0, time.UTC))
	if err != nil {
		return false, err
	}
	return o.First.Time().Add(-slack).Before(end) && (o.Last + 1).Time().Add(slack).After(start), nil
}

// instant reads an end of a range, or takes another where there is none.
func instant(v string, instead time.Time) (time.Time, error) {
	if v == "" {
		return instead, nil
	}
	at, err := time.Parse("20060102T150405Z", v)
	if err != nil {
		return at, &Refusal{http.StatusForbidden, "C:valid-filter", "A time range is written as 20270309T000000Z."}
	}
	return at, nil
}

// read returns the values of the properties of an object's one component, as
// they are written, by name, and whether it has an alarm.
func read(text []byte) (props map[string][]string, alarm bool) {
	props = map[string][]string{}
	depth := 0
	for _, l := range strings.Split(strings.ReplaceAll(string(text), "\r\n ", ""), "\r\n") {
		head, value, _ := strings.Cut(l, ":")
		name, _, _ := strings.Cut(head, ";")
		switch {
		case name == "BEGIN":
			depth++
			alarm = alarm || value == "VALARM"
		case name == "END":
			depth--
		case depth == 2:
			props[name] = append(props[name], value)
		}
	}
	return props, alarm
}
