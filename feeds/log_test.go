package feeds

import (
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"budswell/calendar"
	"budswell/feeds/ics/icstest"
)

func TestLogPlansAnew(t *testing.T) {
	b := newBed(t)
	b.set(time.Date(2027, time.March, 20, 6, 0, 0, 0, time.UTC))
	b.open()
	form := b.send(b.client, http.MethodGet, "/trees/ridge-maple/log", nil).node(t)
	if signs := find(form, "option", "", ""); len(signs) != 1+8+8+3 { // choose, signs of a deciduous tree, not yet, works
		t.Errorf("%d choices in the form, want 20", len(signs))
	}
	feed := "/f/" + b.addFeed("ada", "all", calendar.Filter{Trees: []string{"ridge-maple"}, Works: []string{"repot"}})
	before := b.get(feed)
	a := b.post("/trees/ridge-maple/log", url.Values{"on": {"2027-03-18"}, "what": {"saw:bud-swell"}, "note": {"on the ridge side"}})
	if a.StatusCode != http.StatusOK || !strings.Contains(a.text, "ridge maple: logged, and planned anew.") {
		t.Fatalf("%s\n%s", a.Status, a.text)
	}
	after := b.get(feed)
	if !strings.Contains(before.text, "DTSTART;VALUE=DATE:20270309") || !strings.Contains(after.text, "DTSTART;VALUE=DATE:20270318") || !strings.Contains(after.text, "SEQUENCE:1") {
		t.Errorf("the feed did not follow:\n%s", after.text)
	}
	b.post("/trees/ridge-maple/log", url.Values{"on": {"2027-03-20"}, "what": {"did:repot"}})
	if past := find(b.send(b.client, http.MethodGet, "/trees/ridge-maple/log", nil).node(t), "ul", "class", "past"); len(past) != 1 ||
		!strings.Contains(text(past[0]), "Sat 20 Mar 2027: Repot") || !strings.Contains(text(past[0]), "saw bud swell (on the ridge side)") {
		t.Error("the log so far is not shown")
	}
	done := b.get(feed)
	if !strings.Contains(done.text, "SUMMARY:Repot: ridge maple (done)") || strings.Contains(done.text, "VALARM") {
		t.Errorf("the work is not marked done:\n%s", done.text)
	}
	trees, err := b.store.Trees(b.ctx(), "ada")
	b.must(err)
	if log := trees[0].Log; len(log) != 2 || log[0].Note != "on the ridge side" || log[1].Did != "repot" {
		t.Errorf("the log: %+v", log)
	}
	icstest.Check(t, map[string][]byte{"after": []byte(after.text), "done": []byte(done.text)})
}

func TestLogRefused(t *testing.T) {
	b := newBed(t)
	b.open()
	b.must(b.store.AddEntry(b.ctx(), "ada", "ridge-maple", calendar.Entry{On: date(2027, 2, 1), Saw: "leaf-out"}))
	b.must(b.server.replan(b.ctx(), "ada", b.now()))
	for name, row := range map[string]struct {
		form  url.Values
		words string
	}{
		"no day":          {url.Values{"on": {""}, "what": {"did:repot"}}, "YYYY-MM-DD"},
		"tomorrow":        {url.Values{"on": {"2027-03-02"}, "what": {"did:repot"}}, "not be after today"},
		"long ago":        {url.Values{"on": {"1901-03-02"}, "what": {"did:repot"}}, "forty years"},
		"nothing":         {url.Values{"on": {"2027-02-28"}}, "choose what"},
		"no such work":    {url.Values{"on": {"2027-02-28"}, "what": {"did:sing"}}, "no such work"},
		"not its sign":    {url.Values{"on": {"2027-02-28"}, "what": {"saw:candles-extending"}}, "no such sign"},
		"a long note":     {url.Values{"on": {"2027-02-28"}, "what": {"did:repot"}, "note": {strings.Repeat("a", 501)}}, "500 letters"},
		"a contradiction": {url.Values{"on": {"2027-02-28"}, "what": {"saw:bud-swell"}, "note": {"typed"}}, "leaf-out"},
	} {
		a := b.post("/trees/ridge-maple/log", row.form)
		if a.StatusCode != http.StatusUnprocessableEntity {
			t.Errorf("%s: %s", name, a.Status)
			continue
		}
		n := a.node(t)
		if alerts := find(n, "", "role", "alert"); len(alerts) != 1 || !strings.Contains(text(alerts[0]), row.words) {
			t.Errorf("%s: want an alert with %q in\n%s", name, row.words, a.text)
		}
		if got := attr(find(n, "input", "name", "note")[0], "value"); got != row.form.Get("note") {
			t.Errorf("%s: what was typed is lost: %q", name, got)
		}
	}
	if a := b.post("/trees/nobody's/log", url.Values{"on": {"2027-02-28"}, "what": {"did:repot"}}); a.StatusCode != http.StatusNotFound {
		t.Errorf("a tree that is not there: %s", a.Status)
	}
	trees, err := b.store.Trees(b.ctx(), "ada")
	b.must(err)
	if len(trees[0].Log) != 1 {
		t.Errorf("something was logged: %+v", trees[0].Log)
	}
}
