package dav

import (
	"encoding/xml"
	"errors"
	"io"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"budswell/climate"
)

const event = "BEGIN:VCALENDAR\r\nVERSION:2.0\r\nBEGIN:VEVENT\r\nUID:a\r\nSUMMARY;LANGUAGE=en:Repot: ridge\r\n  maple\r\nSTATUS:TENTATIVE\r\nCATEGORIES:Roots\r\nCATEGORIES:Repot\r\n" +
	"BEGIN:VALARM\r\nDESCRIPTION:alarm\r\nEND:VALARM\r\nEND:VEVENT\r\nEND:VCALENDAR\r\n"

// homeOf is a home of one calendar, with one event of 9 to 28 March 2027, under
// an id that paths must escape.
func homeOf(text string) *Home {
	o := Object{
		Name: "a b.ics", Tag: `"1"`, Modified: time.Date(2027, 3, 1, 0, 0, 0, 0, time.UTC), Changed: 5,
		First: climate.NewDate(2027, 3, 9), Last: climate.NewDate(2027, 3, 28),
		Text: func() ([]byte, error) { return []byte(text), nil },
	}
	gone := o
	gone.Name, gone.Gone = "gone.ics", true
	return &Home{
		Root: "/dav/", User: "ädä & co", Name: "A <b>", Log: slog.New(slog.DiscardHandler),
		Put: func(*Collection, *Object, []byte) error { return nil },
		Collections: []Collection{{
			Name: "work", Title: "Work & more", Component: "VEVENT", Token: "http://x/5", Objects: []Object{o, gone},
			Since: func(token string) (func(*Object) bool, bool) {
				return func(*Object) bool { return true }, token == "http://x/4"
			},
		}},
	}
}

func ask(h *Home, method, path, body string, headers ...string) *httptest.ResponseRecorder {
	r := httptest.NewRequest(method, "/", strings.NewReader(body))
	r.URL.Path = path
	for i := 0; i < len(headers); i += 2 {
		r.Header.Set(headers[i], headers[i+1])
	}
	w := httptest.NewRecorder()
	h.ServeHTTP(w, r)
	return w
}

const work = "/dav/ädä & co/calendars/work/"

func TestFilters(t *testing.T) {
	for name, row := range map[string]struct {
		filter string
		found  bool
		status int
	}{
		"all":                    {`<c:comp-filter name="VCALENDAR"/>`, true, 207},
		"events":                 {comp(`<c:comp-filter name="VEVENT"/>`), true, 207},
		"tasks":                  {comp(`<c:comp-filter name="VTODO"/>`), false, 207},
		"no tasks":               {comp(`<c:comp-filter name="VTODO"><c:is-not-defined/></c:comp-filter>`), true, 207},
		"no events":              {comp(`<c:comp-filter name="VEVENT"><c:is-not-defined/></c:comp-filter>`), false, 207},
		"no calendar":            {`<c:comp-filter name="VCALENDAR"><c:is-not-defined/></c:comp-filter>`, false, 207},
		"within":                 {comp(events(`<c:time-range start="20270301T000000Z" end="20270401T000000Z"/>`)), true, 207},
		"first day":              {comp(events(`<c:time-range start="20270101T000000Z" end="20270309T120000Z"/>`)), true, 207},
		"before":                 {comp(events(`<c:time-range start="20270101T000000Z" end="20270308T100000Z"/>`)), false, 207},
		"last day":               {comp(events(`<c:time-range start="20270328T120000Z"/>`)), true, 207},
		"after":                  {comp(events(`<c:time-range start="20270329T140000Z"/>`)), false, 207},
		"up to an end":           {comp(events(`<c:time-range end="20270310T000000Z"/>`)), true, 207},
		"an instant":             {comp(events(`<c:time-range start="20270310T000000Z" end="20270310T000000Z"/>`)), true, 207},
		"a time that is none":    {comp(events(`<c:time-range start="yesterday"/>`)), false, 403},
		"has a summary":          {comp(events(`<c:prop-filter name="SUMMARY"/>`)), true, 207},
		"has a location":         {comp(events(`<c:prop-filter name="LOCATION"/>`)), false, 207},
		"no location":            {comp(events(`<c:prop-filter name="LOCATION"><c:is-not-defined/></c:prop-filter>`)), true, 207},
		"text over a fold":       {comp(events(`<c:prop-filter name="summary"><c:text-match>Ridge Maple</c:text-match></c:prop-filter>`)), true, 207},
		"second category":        {comp(events(`<c:prop-filter name="CATEGORIES"><c:text-match>repot</c:text-match></c:prop-filter>`)), true, 207},
		"not of an alarm":        {comp(events(`<c:prop-filter name="DESCRIPTION"/>`)), false, 207},
		"text that is not there": {comp(events(`<c:prop-filter name="STATUS"><c:text-match>CONFIRMED</c:text-match></c:prop-filter>`)), false, 207},
		"negated":                {comp(events(`<c:prop-filter name="STATUS"><c:text-match negate-condition="yes">CONFIRMED</c:text-match></c:prop-filter>`)), true, 207},
		"negated and there":      {comp(events(`<c:prop-filter name="STATUS"><c:text-match negate-condition="yes">TENTATIVE</c:text-match></c:prop-filter>`)), false, 207},
		"with an alarm":          {comp(events(`<c:comp-filter name="VALARM"/>`)), true, 207},
		"without an alarm":       {comp(events(`<c:comp-filter name="VALARM"><c:is-not-defined/></c:comp-filter>`)), false, 207},
		"time of an alarm":       {comp(events(`<c:comp-filter name="VALARM"><c:time-range start="20270301T000000Z"/></c:comp-filter>`)), false, 403},
		"parameters":             {comp(events(`<c:prop-filter name="SUMMARY"><c:param-filter name="LANGUAGE"/></c:prop-filter>`)), false, 403},
		"no filter":              {``, false, 403},
		"another root":           {`<c:comp-filter name="VEVENT"/>`, false, 403},
	} {
		w := ask(homeOf(event), "REPORT", work, `<c:calendar-query xmlns:d="DAV:" xmlns:c="urn:ietf:params:xml:ns:caldav"><d:prop><d:getetag/><c:calendar-data/></d:prop><c:filter>`+row.filter+`</c:filter></c:calendar-query>`)
		if w.Code != row.status || strings.Contains(w.Body.String(), "SUMMARY") != row.found {
			t.Errorf("%s: %d\n%s", name, w.Code, w.Body)
		}
	}
}

func comp(inner string) string {
	return `<c:comp-filter name="VCALENDAR">` + inner + `</c:comp-filter>`
}

func events(inner string) string {
	return `<c:comp-filter name="VEVENT">` + inner + `</c:comp-filter>`
}

func TestAnswers(t *testing.T) {
	const object = work + "a b.ics"
	for name, row := range map[string]struct {
		method, path, depth, body string
		status                    int
		has                       []string
	}{
		"root":               {"PROPFIND", "/dav/", "0", "", 207, []string{"<d:href>/dav/</d:href>", "<d:current-user-principal><d:href>/dav/%C3%A4d%C3%A4%20&amp;%20co/</d:href>"}},
		"user and home":      {"PROPFIND", "/dav/ädä & co/", "1", "", 207, []string{"A &lt;b&gt;", "<d:principal/>", "/calendars/</d:href><d:propstat>"}},
		"what is not there":  {"PROPFIND", work, "0", `<d:propfind xmlns:d="DAV:" xmlns:q="urn:q"><d:prop><d:displayname/><q:colour/></d:prop></d:propfind>`, 207, []string{"Work &amp; more", `<x:colour xmlns:x="urn:q"/>`, "404 Not Found"}},
		"names":              {"PROPFIND", work, "0", `<d:propfind xmlns:d="DAV:"><d:propname/></d:propfind>`, 207, []string{"<d:displayname/>", "<s:getctag/>"}},
		"nothing asked":      {"PROPFIND", work, "0", `<d:propfind xmlns:d="DAV:"><d:prop/></d:propfind>`, 207, []string{"200 OK"}},
		"objects":            {"PROPFIND", work, "1", "", 207, []string{"/work/a%20b.ics", "&#34;1&#34;"}},
		"too deep":           {"PROPFIND", "/dav/", "infinity", "", 403, []string{"propfind-finite-depth"}},
		"no depth":           {"PROPFIND", "/dav/", "", "", 403, []string{"propfind-finite-depth"}},
		"by name":            {"REPORT", work, "1", `<c:calendar-multiget xmlns:d="DAV:" xmlns:c="urn:ietf:params:xml:ns:caldav"><d:prop><c:calendar-data/></d:prop><d:href>https://x.example/dav/%C3%A4d%C3%A4%20&amp;%20co/calendars/work/a%20b.ics</d:href><d:href>/elsewhere/b.ics</d:href><d:href>%zz</d:href></c:calendar-multiget>`, 207, []string{"BEGIN:VEVENT", "/elsewhere/b.ics</d:href><d:status>HTTP/1.1 404", "%zz"}},
		"since":              {"REPORT", work, "0", `<d:sync-collection xmlns:d="DAV:"><d:sync-token>http://x/4</d:sync-token><d:prop><d:getetag/></d:prop></d:sync-collection>`, 207, []string{"gone.ics</d:href><d:status>HTTP/1.1 404", "<d:sync-token>http://x/5</d:sync-token>"}},
		"since, at most one": {"REPORT", work, "0", `<d:sync-collection xmlns:d="DAV:"><d:sync-token>http://x/4</d:sync-token><d:limit><d:nresults>1</d:nresults></d:limit><d:prop/></d:sync-collection>`, 507, []string{"number-of-matches-within-limits"}},
		"another report":     {"REPORT", work, "0", `<d:expand-property xmlns:d="DAV:"/>`, 403, []string{"supported-report"}},
		"report of a user":   {"REPORT", "/dav/ädä & co/", "0", `<d:sync-collection xmlns:d="DAV:"/>`, 403, []string{"supported-report"}},
		"no XML":             {"REPORT", work, "0", `{"a": 1}`, 400, nil},
		"entities":           {"PROPFIND", work, "0", `<!DOCTYPE a [<!ENTITY b "c">]><d:propfind xmlns:d="DAV:"><d:allprop/></d:propfind>`, 400, []string{"document type"}},
		"nested":             {"PROPFIND", work, "0", strings.Repeat("<a>", 40) + strings.Repeat("</a>", 40), 400, []string{"too deep"}},
		"gone":               {"GET", work + "gone.ics", "", "", 404, nil},
		"below an object":    {"GET", object + "/", "", "", 404, nil},
		"a person who looks": {"GET", "/dav/", "", "", 200, []string{"This address is for calendar and task programs"}},
		"locking":            {"LOCK", object, "", "", 405, nil},
	} {
		w := ask(homeOf(event), row.method, row.path, row.body, "Depth", row.depth)
		if w.Code != row.status {
			t.Errorf("%s: %d, want %d\n%s", name, w.Code, row.status, w.Body)
		}
		for _, part := range row.has {
			if !strings.Contains(w.Body.String(), part) {
				t.Errorf("%s: %q is not in\n%s", name, part, w.Body)
			}
		}
		if strings.Contains(w.Header().Get("Content-Type"), "xml") {
			wellFormed(t, name, w.Body.String())
		}
	}
}

func wellFormed(t *testing.T, name, text string) {
	t.Helper()
	for d := xml.NewDecoder(strings.NewReader(text)); ; {
		if _, err := d.Token(); errors.Is(err, io.EOF) {
			return
		} else if err != nil {
			t.Fatalf("%s: %v\n%s", name, err, text)
		}
	}
}

// Faults of the service are logged and told without their words.
func TestFaults(t *testing.T) {
	h := homeOf(event)
	h.Collections[0].Objects[0].Text = func() ([]byte, error) { return nil, errors.New("the disk is gone") }
	if w := ask(h, "GET", work+"a b.ics", ""); w.Code != http.StatusInternalServerError || strings.Contains(w.Body.String(), "disk") {
		t.Errorf("%d %s", w.Code, w.Body)
	}
}

// FuzzRequest sends any body to every kind of report and PROPFIND: the answer is
// well-formed and no fault of the service.
func FuzzRequest(f *testing.F) {
	f.Add(`<c:calendar-query xmlns:d="DAV:" xmlns:c="urn:ietf:params:xml:ns:caldav"><d:prop><d:getetag/></d:prop><c:filter>` + comp(events(`<c:time-range start="20270301T000000Z"/><c:prop-filter name="A"><c:text-match negate-condition="yes">b</c:text-match></c:prop-filter>`)) + `</c:filter></c:calendar-query>`)
	f.Add(`<d:sync-collection xmlns:d="DAV:"><d:sync-token>http://x/4</d:sync-token><d:limit><d:nresults>9</d:nresults></d:limit><d:prop><x xmlns="&lt;"/></d:prop></d:sync-collection>`)
	f.Add(`<c:calendar-multiget xmlns:d="DAV:" xmlns:c="urn:ietf:params:xml:ns:caldav"><d:allprop/><d:href> /a </d:href></c:calendar-multiget>`)
	f.Add(`<d:propfind xmlns:d="DAV:"><d:prop><d:displayname/></d:prop></d:propfind>`)
	f.Fuzz(func(t *testing.T, body string) {
		for _, method := range []string{"REPORT", "PROPFIND"} {
			w := ask(homeOf(event), method, work, body, "Depth", "1")
			if w.Code >= 500 && w.Code != http.StatusInsufficientStorage {
				t.Fatalf("%s: %d", method, w.Code)
			}
			if strings.Contains(w.Header().Get("Content-Type"), "xml") {
				wellFormed(t, method, w.Body.String())
			}
		}
	})
}
