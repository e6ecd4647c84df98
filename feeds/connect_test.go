package feeds

import (
	"encoding/xml"
	"fmt"
	"io"
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/emersion/go-ical"
	"github.com/emersion/go-webdav"
	"github.com/emersion/go-webdav/caldav"

	"budswell/calendar"
	"budswell/feeds/ics/icstest"
)

// connect is a bed that takes passwords, with one of ada's.
func connect(t *testing.T) (b *bed, password string) {
	t.Helper()
	b = newBed(t, func(c *Config) { c.Base = "http://127.0.0.1" })
	return b, b.password("ada", "telephone")
}

func (b *bed) password(grower, id string) string {
	b.t.Helper()
	secret, hash, err := NewSecret(b.server.cfg.Random)
	b.must(err)
	b.must(b.store.PutPassword(b.ctx(), calendar.Password{ID: id, Grower: grower, Name: id, Hash: hash, Created: b.now()}))
	return secret
}

// dav sends a request as a program does.
func (b *bed) dav(method, path, user, password, body string, headers ...string) answered {
	b.t.Helper()
	r, err := http.NewRequestWithContext(b.ctx(), method, b.http.URL+path, strings.NewReader(body))
	b.must(err)
	r.SetBasicAuth(user, password)
	if strings.HasPrefix(body, "<") {
		r.Header.Set("Content-Type", "application/xml")
	}
	for i := 0; i < len(headers); i += 2 {
		r.Header.Set(headers[i], headers[i+1])
	}
	c := &http.Client{CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
	resp, err := c.Do(r)
	b.must(err)
	defer func() { _ = resp.Body.Close() }()
	text, err := io.ReadAll(resp.Body)
	b.must(err)
	return answered{resp, string(text)}
}

func (b *bed) program(user, password string) *caldav.Client {
	b.t.Helper()
	c, err := caldav.NewClient(webdav.HTTPClientWithBasicAuth(http.DefaultClient, user, password), b.http.URL+"/dav/")
	b.must(err)
	return c
}

// query asks a collection for all of a component.
func query(component string) *caldav.CalendarQuery {
	return &caldav.CalendarQuery{
		CompRequest: caldav.CalendarCompRequest{Name: "VCALENDAR", AllProps: true, AllComps: true},
		CompFilter:  caldav.CompFilter{Name: "VCALENDAR", Comps: []caldav.CompFilter{{Name: component}}},
	}
}

// TestProgramConnects goes the way of a program that knows no more than the
// server's address, with a client that somebody else wrote.
func TestProgramConnects(t *testing.T) {
	b, password := connect(t)
	c := b.program("ada", password)
	who, err := c.FindCurrentUserPrincipal(b.ctx())
	b.must(err)
	home, err := c.FindCalendarHomeSet(b.ctx(), who)
	b.must(err)
	list, err := c.FindCalendars(b.ctx(), home)
	b.must(err)
	if len(list) != 2 || list[0].SupportedComponentSet[0] != "VEVENT" || list[1].SupportedComponentSet[0] != "VTODO" || list[0].Name == list[1].Name {
		t.Fatalf("calendars %+v", list)
	}
	bodies := map[string][]byte{}
	for i, component := range []string{"VEVENT", "VTODO"} {
		objects, err := c.QueryCalendar(b.ctx(), list[i].Path, query(component))
		b.must(err)
		if len(objects) != 4-2*i { // repot and wire, two trees; wiring is no task yet
			t.Fatalf("%s: %d objects", component, len(objects))
		}
		var paths []string
		for _, o := range objects {
			paths = append(paths, o.Path)
			one, err := c.GetCalendarObject(b.ctx(), o.Path)
			b.must(err)
			if one.ETag != o.ETag || one.ETag == "" || one.Data.Children[0].Name != component || one.ModTime.IsZero() {
				t.Errorf("%s: tags %q and %q, %s", o.Path, one.ETag, o.ETag, one.Data.Children[0].Name)
			}
			raw := b.dav("GET", o.Path, "ada", password, "")
			bodies[fmt.Sprint(len(bodies))] = []byte(raw.text)
			if again := b.dav("GET", o.Path, "ada", password, "", "If-None-Match", raw.Header.Get("ETag")); again.StatusCode != http.StatusNotModified {
				t.Errorf("%s: %s to its own tag", o.Path, again.Status)
			}
		}
		some, err := c.MultiGetCalendar(b.ctx(), list[i].Path, &caldav.CalendarMultiGet{Paths: paths[:2], CompRequest: query(component).CompRequest})
		b.must(err)
		if len(some) != 2 || some[1].Path != paths[1] {
			t.Errorf("%s: of two asked for by name came %d", component, len(some))
		}
		q := query(component)
		q.CompFilter.Comps[0].Start, q.CompFilter.Comps[0].End = time.Date(2027, 3, 30, 14, 0, 0, 0, time.UTC), time.Date(2028, 1, 1, 0, 0, 0, 0, time.UTC)
		autumn, err := c.QueryCalendar(b.ctx(), list[i].Path, q)
		b.must(err)
		if len(autumn) != 2-2*i {
			t.Errorf("%s: %d objects after the repots, want the wiring of two trees", component, len(autumn))
		}
		q.CompFilter.Comps[0].Start = q.CompFilter.Comps[0].Start.Add(-time.Second)
		later, err := c.QueryCalendar(b.ctx(), list[i].Path, q)
		b.must(err)
		if len(later) != 4-2*i {
			t.Errorf("%s: %d objects from the last of the repots on", component, len(later))
		}
	}
	p, err := b.store.Passwords(b.ctx(), "ada")
	b.must(err)
	if !p[0].Used.Equal(b.now()) {
		t.Errorf("the password was last used at %v", p[0].Used)
	}
	icstest.Check(t, bodies)
}

func TestWhoMayConnect(t *testing.T) {
	b, password := connect(t)
	b.must(b.store.PutGrower(b.ctx(), calendar.Grower{ID: "ada", Name: "ADA", Email: "ada@example.org"}))
	b.grower("bo", "south")
	bos, old := b.password("bo", "telephone"), b.password("ada", "old")
	b.must(b.store.RevokePassword(b.ctx(), "ada", "old", b.now()))
	for name, row := range map[string]struct {
		user, password, path string
		status               int
	}{
		"id":                 {"ada", password, "/dav/ada/", 207},
		"mail address":       {"Ada@Example.ORG", password, "/dav/ada/", 207},
		"as typed":           {"ada", strings.ToUpper(password[:16]) + " " + password[16:], "/dav/ada/", 207},
		"wrong password":     {"ada", strings.Repeat("a", 32), "/dav/ada/", 401},
		"no password":        {"ada", "", "/dav/ada/", 401},
		"withdrawn":          {"ada", old, "/dav/ada/", 401},
		"another's password": {"ada", bos, "/dav/ada/", 401},
		"another's page key": {"ada", b.key, "/dav/ada/", 401},
		"no user":            {"", password, "/dav/ada/", 401},
		"unknown user":       {"eve", password, "/dav/ada/", 401},
		"another's home":     {"ada", password, "/dav/bo/", 404},
		"another's tasks":    {"ada", password, "/dav/bo/calendars/tasks/", 404},
		"nowhere":            {"ada", password, "/dav/ada/calendars/other/", 404},
		"without the slash":  {"ada", password, "/dav/ada/calendars/tasks", 207},
	} {
		b.set(b.now().Add(time.Hour)) // no guess follows another soon
		a := b.dav("PROPFIND", row.path, row.user, row.password, "", "Depth", "0")
		if a.StatusCode != row.status || row.status == 401 && !strings.HasPrefix(a.Header.Get("WWW-Authenticate"), "Basic ") {
			t.Errorf("%s: %s, want %d", name, a.Status, row.status)
		}
	}
	for _, secret := range []string{password, bos, old} {
		if strings.Contains(b.log.String(), secret) {
			t.Error("the log holds a password")
		}
	}
	if a := b.dav("PROPFIND", "/.well-known/caldav", "ada", password, ""); a.StatusCode != http.StatusPermanentRedirect || a.Header.Get("Location") != "http://127.0.0.1/dav/" {
		t.Errorf("/.well-known/caldav: %s to %s", a.Status, a.Header.Get("Location"))
	}
	for base, status := range map[string]int{"http://trees.example": 403, "https://trees.example": 207, "http://localhost:8080": 207, "http://[::1]": 207, "http://10.0.0.1": 403} {
		over := newBed(t, func(c *Config) { c.Base = base })
		if a := over.dav("PROPFIND", "/dav/", "ada", over.password("ada", "p"), "", "Depth", "0"); a.StatusCode != status {
			t.Errorf("under %s: %s, want %d", base, a.Status, status)
		}
	}
}

// repotOf returns the path of the maple's task and how it reads.
func repotOf(b *bed, c *caldav.Client) (string, *caldav.CalendarObject) {
	b.t.Helper()
	objects, err := c.QueryCalendar(b.ctx(), "/dav/ada/calendars/tasks/", query("VTODO"))
	b.must(err)
	for i, o := range objects {
		if s, err := o.Data.Children[0].Props.Text("SUMMARY"); err == nil && strings.HasPrefix(s, "Repot: ridge maple") {
			return o.Path, &objects[i]
		}
	}
	b.t.Fatal("no task of the maple's repot")
	return "", nil
}

func encode(b *bed, cal *ical.Calendar) string {
	b.t.Helper()
	var out strings.Builder
	b.must(ical.NewEncoder(&out).Encode(cal))
	return out.String()
}

func TestCompletingATaskLogsIt(t *testing.T) {
	b, password := connect(t)
	b.set(time.Date(2027, time.March, 14, 9, 0, 0, 0, time.UTC))
	c := b.program("ada", password)
	path, o := repotOf(b, c)
	before := encode(b, o.Data)
	todo := o.Data.Children[0]
	todo.Props.SetText("STATUS", "COMPLETED")
	todo.Props.SetText("PERCENT-COMPLETE", "100")
	todo.Props.SetDateTime("COMPLETED", time.Date(2027, time.March, 12, 23, 30, 0, 0, time.UTC)) // the 13th in Berlin
	done := encode(b, o.Data)

	put := func(text string, headers ...string) answered {
		t.Helper()
		return b.dav("PUT", path, "ada", password, text, append([]string{"Content-Type", "text/calendar; charset=utf-8"}, headers...)...)
	}
	if a := put(done, "If-Match", `"other"`); a.StatusCode != http.StatusPreconditionFailed {
		t.Errorf("with another's tag: %s", a.Status)
	}
	if a := put(done, "If-None-Match", "*"); a.StatusCode != http.StatusPreconditionFailed {
		t.Errorf("as a new one: %s", a.Status)
	}
	if log := mapleLog(b); len(log) != 0 {
		t.Fatalf("logged: %v", log)
	}
	if a := put(done, "If-Match", `"`+o.ETag+`"`); a.StatusCode != http.StatusNoContent || a.Header.Get("ETag") != "" {
		t.Fatalf("completing: %s, tag %q\n%s", a.Status, a.Header.Get("ETag"), a.text)
	}
	if log := mapleLog(b); len(log) != 1 || log[0].Did != "repot" || log[0].On != date(2027, 3, 13) {
		t.Fatalf("logged: %+v", log)
	}
	_, is := repotOf(b, c)
	props := is.Data.Children[0].Props
	if status, _ := props.Text("STATUS"); status != "COMPLETED" || props.Get("SEQUENCE").Value != "1" || props.Get("COMPLETED").Value != "20270313T120000Z" || is.ETag == o.ETag {
		t.Errorf("afterwards the task reads\n%s", encode(b, is.Data))
	}
	if a := put(done); a.StatusCode != http.StatusNoContent || len(mapleLog(b)) != 1 {
		t.Errorf("completing once more: %s, %d entries", a.Status, len(mapleLog(b)))
	}
	if a := put(strings.Replace(before, "STATUS:NEEDS-ACTION", "STATUS:CANCELLED", 1)); a.StatusCode != http.StatusForbidden || !strings.Contains(a.text, "cannot be called off") || len(mapleLog(b)) != 1 {
		t.Errorf("calling it off: %s\n%s", a.Status, a.text)
	}
	// Opened again, as a program does that somebody else wrote.
	todo = is.Data.Children[0]
	todo.Props.SetText("STATUS", "NEEDS-ACTION")
	todo.Props.SetText("PERCENT-COMPLETE", "0")
	todo.Props.Del("COMPLETED")
	if _, err := c.PutCalendarObject(b.ctx(), path, is.Data); err != nil {
		t.Fatalf("opening it again: %v", err)
	}
	if log := mapleLog(b); len(log) != 0 {
		t.Errorf("opened again, it stands in the log: %+v", log)
	}
	_, open := repotOf(b, c)
	if status, _ := open.Data.Children[0].Props.Text("STATUS"); status != "NEEDS-ACTION" || open.Data.Children[0].Props.Get("SEQUENCE").Value != "2" || open.ETag == is.ETag {
		t.Errorf("opened again the task reads\n%s", encode(b, open.Data))
	}
	if a := put(before); a.StatusCode != http.StatusNoContent {
		t.Errorf("opening it once more: %s\n%s", a.Status, a.text)
	}
	if a := put(done); a.StatusCode != http.StatusNoContent || len(mapleLog(b)) != 1 {
		t.Errorf("completing it anew: %s, %d entries", a.Status, len(mapleLog(b)))
	}
}

// What the log says more than that it was done is not thrown away by a program.
func TestOpeningATaskKeepsWhatItsPageSays(t *testing.T) {
	b, password := connect(t)
	b.set(time.Date(2027, time.March, 14, 9, 0, 0, 0, time.UTC))
	left := 0.25
	b.must(b.store.AddEntry(b.ctx(), "ada", "ridge-maple", calendar.Entry{On: date(2027, 3, 13), Did: "repot", FieldSoilLeft: &left, Note: "a third root"}))
	path, o := repotOf(b, b.program("ada", password))
	todo := o.Data.Children[0]
	if status, _ := todo.Props.Text("STATUS"); status != "COMPLETED" {
		t.Fatalf("at first it reads\n%s", encode(b, o.Data))
	}
	todo.Props.SetText("STATUS", "NEEDS-ACTION")
	todo.Props.Del("COMPLETED")
	todo.Props.Del("PERCENT-COMPLETE")
	a := b.dav("PUT", path, "ada", password, encode(b, o.Data), "Content-Type", "text/calendar")
	if a.StatusCode != http.StatusForbidden || !strings.Contains(a.text, "Take it back on the tree") || len(mapleLog(b)) != 1 {
		t.Errorf("opened: %s, %d entries\n%s", a.Status, len(mapleLog(b)), a.text)
	}
}

func mapleLog(b *bed) []calendar.Entry {
	b.t.Helper()
	trees, err := b.store.Trees(b.ctx(), "ada")
	b.must(err)
	for _, t := range trees {
		if t.ID == "ridge-maple" {
			return t.Log
		}
	}
	b.t.Fatal("no maple")
	return nil
}

func TestOtherChangesOfATask(t *testing.T) {
	b, password := connect(t)
	c := b.program("ada", password)
	path, o := repotOf(b, c)
	whole := encode(b, o.Data)
	events, err := c.QueryCalendar(b.ctx(), "/dav/ada/calendars/work/", query("VEVENT"))
	b.must(err)
	replaced := func(old, new string) string {
		t.Helper()
		if !strings.Contains(whole, old) {
			t.Fatalf("%q is not in\n%s", old, whole)
		}
		return strings.Replace(whole, old, new, 1)
	}
	for name, row := range map[string]struct {
		path, text string
		status     int
		says       string
	}{
		"an alarm that was seen":  {path, replaced("END:VTODO", "BEGIN:VALARM\r\nACTION:DISPLAY\r\nTRIGGER:-PT1H\r\nDESCRIPTION:x\r\nACKNOWLEDGED:20270301T060000Z\r\nEND:VALARM\r\nEND:VTODO"), 204, ""},
		"what programs add":       {path, replaced("END:VTODO", "X-PROGRAM-SORT:1\r\nEND:VTODO"), 204, ""},
		"another summary":         {path, replaced("SUMMARY:Repot", "SUMMARY:Do not repot"), 403, "cannot be changed here"},
		"another day":             {path, replaced("DUE;VALUE=DATE:20270329", "DUE;VALUE=DATE:20270401"), 403, "cannot be changed here"},
		"called off":              {path, replaced("STATUS:NEEDS-ACTION", "STATUS:CANCELLED"), 403, "cannot be called off"},
		"another UID":             {path, replaced("UID:", "UID:x"), 403, "no-uid-conflict"},
		"no calendar":             {path, "<html>", 403, "valid-calendar-object-resource"},
		"cut off":                 {path, whole[:len(whole)/2], 403, "valid-calendar-object-resource"},
		"a new task":              {"/dav/ada/calendars/tasks/new.ics", whole, 403, "made from the plan"},
		"an event":                {events[0].Path, whole, 403, "made from the plan"},
		"a collection":            {"/dav/ada/calendars/tasks/", whole, 403, "made from the plan"},
		"more than is read":       {path, strings.Repeat("x", 2<<20), 413, ""},
		"more than a task can be": {path, strings.Repeat("x", 100<<10), 403, "octets"},
	} {
		a := b.dav("PUT", row.path, "ada", password, row.text, "Content-Type", "text/calendar")
		if a.StatusCode != row.status || !strings.Contains(a.text, row.says) {
			t.Errorf("%s: %s, want %d and %q\n%s", name, a.Status, row.status, row.says, a.text)
		}
	}
	for _, method := range []string{"DELETE", "PROPPATCH", "MKCOL", "MKCALENDAR", "MOVE", "COPY"} {
		for _, at := range []string{path, events[0].Path, "/dav/ada/calendars/tasks/", "/dav/ada/calendars/new/"} {
			if a := b.dav(method, at, "ada", password, ""); a.StatusCode != http.StatusForbidden {
				t.Errorf("%s %s: %s", method, at, a.Status)
			}
		}
	}
	if a := b.dav("OPTIONS", path, "ada", password, ""); a.StatusCode != http.StatusNoContent || !strings.Contains(a.Header.Get("DAV"), "calendar-access") || strings.Contains(a.Header.Get("Allow"), "DELETE") {
		t.Errorf("OPTIONS: %s %v", a.Status, a.Header)
	}
	if len(mapleLog(b)) != 0 {
		t.Errorf("something was logged: %+v", mapleLog(b))
	}
	if _, is := repotOf(b, c); is.ETag != o.ETag || encode(b, is.Data) != whole {
		t.Error("the task changed")
	}
}

// A task that left the plan, and was done all the same, can still be said to be.
func TestCompletingACancelledTask(t *testing.T) {
	b, password := connect(t)
	c := b.program("ada", password)
	repotOf(b, c) // it was there
	b.without("repot-rule/2027")
	b.set(b.now().Add(24 * time.Hour))
	path, o := repotOf(b, c)
	cancelled := encode(b, o.Data)
	if !strings.Contains(cancelled, "STATUS:CANCELLED") {
		t.Fatal(cancelled)
	}
	put := func(text string) answered {
		return b.dav("PUT", path, "ada", password, text, "Content-Type", "text/calendar")
	}
	if a := put(cancelled); a.StatusCode != http.StatusNoContent {
		t.Errorf("as it was: %s", a.Status)
	}
	if a := put(strings.Replace(cancelled, "CANCELLED", "NEEDS-ACTION", 1)); a.StatusCode != http.StatusForbidden {
		t.Errorf("called back: %s", a.Status)
	}
	if a := put(strings.Replace(cancelled, "STATUS:CANCELLED", "STATUS:COMPLETED\r\nCOMPLETED:20270301T120000Z", 1)); a.StatusCode != http.StatusNoContent {
		t.Errorf("completed: %s\n%s", a.Status, a.text)
	}
	if log := mapleLog(b); len(log) != 1 || log[0].Did != "repot" || log[0].On != date(2027, 3, 1) {
		t.Errorf("logged %+v", log)
	}
}

func TestTaskThatCannotHaveBeenDone(t *testing.T) {
	b, password := connect(t)
	b.must(b.store.AddEntry(b.ctx(), "ada", "ridge-maple", calendar.Entry{On: date(2027, 2, 20), Did: "collect"}))
	path, o := repotOf(b, b.program("ada", password))
	o.Data.Children[0].Props.SetText("STATUS", "COMPLETED")
	o.Data.Children[0].Props.SetDateTime("COMPLETED", time.Date(2027, time.February, 1, 12, 0, 0, 0, time.UTC))
	a := b.dav("PUT", path, "ada", password, encode(b, o.Data), "Content-Type", "text/calendar")
	if a.StatusCode != http.StatusForbidden || !strings.Contains(a.text, "Not logged") || len(mapleLog(b)) != 1 {
		t.Errorf("repotted before it was collected: %s, %d entries\n%s", a.Status, len(mapleLog(b)), a.text)
	}
}

// changedSince asks a collection what changed.
func changedSince(b *bed, password, collection, token string) (changed, gone []string, next string) {
	b.t.Helper()
	a := b.dav("REPORT", collection, "ada", password, `<?xml version="1.0"?><d:sync-collection xmlns:d="DAV:"><d:sync-token>`+token+`</d:sync-token><d:sync-level>1</d:sync-level><d:prop><d:getetag/></d:prop></d:sync-collection>`)
	if a.StatusCode != http.StatusMultiStatus {
		b.t.Fatalf("sync: %s\n%s", a.Status, a.text)
	}
	var ms struct {
		Responses []struct {
			Href   string `xml:"DAV: href"`
			Status string `xml:"DAV: status"`
			Tag    string `xml:"DAV: propstat>prop>getetag"`
		} `xml:"DAV: response"`
		Token string `xml:"DAV: sync-token"`
	}
	b.must(xml.Unmarshal([]byte(a.text), &ms))
	for _, r := range ms.Responses {
		switch {
		case strings.Contains(r.Status, " 404 "):
			gone = append(gone, r.Href)
		case strings.HasPrefix(r.Tag, `"`):
			changed = append(changed, r.Href)
		default:
			b.t.Errorf("%s: neither there nor gone: %q", r.Href, r.Status)
		}
	}
	return changed, gone, ms.Token
}
