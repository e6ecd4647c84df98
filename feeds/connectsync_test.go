package feeds

import (
	"fmt"
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"budswell/calendar"
)

func TestSyncTellsOnlyWhatChanged(t *testing.T) {
	b, password := connect(t)
	const work, tasks = "/dav/ada/calendars/work/", "/dav/ada/calendars/tasks/"
	all, _, first := changedSince(b, password, work, "")
	if len(all) != 4 || first == "" {
		t.Fatalf("at first %d, token %q", len(all), first)
	}
	if u, err := url.Parse(first); err != nil || !u.IsAbs() {
		t.Errorf("the token %q is no URI", first)
	}
	b.set(b.now().Add(24 * time.Hour))
	if changed, gone, next := changedSince(b, password, work, first); len(changed) != 0 || len(gone) != 0 || next != first {
		t.Errorf("overnight %v changed, %v gone, token %s after %s", changed, gone, next, first)
	}
	b.must(b.store.AddEntry(b.ctx(), "ada", "ridge-maple", calendar.Entry{On: date(2027, 3, 2), Saw: "bud-swell"}))
	b.restart()
	changed, gone, second := changedSince(b, password, work, first)
	if len(changed) != 1 || len(gone) != 0 || second == first {
		t.Errorf("after a sighting %v changed, %v gone, token %s", changed, gone, second)
	}
	b.without("wire-rule/2027")
	b.set(b.now().Add(24 * time.Hour))
	changed, gone, third := changedSince(b, password, work, second)
	if len(changed) != 2 || len(gone) != 0 {
		t.Errorf("when two works were cancelled %v changed, %v gone", changed, gone)
	}
	b.set(b.now().Add(cancelledDays * 24 * time.Hour))
	b.restart()
	if changed, gone, _ = changedSince(b, password, work, third); len(changed) != 0 || len(gone) != 2 {
		t.Errorf("after thirty days %v changed, %v gone; want the two gone that were cancelled", changed, gone)
	}
	if changed, gone, _ = changedSince(b, password, work, ""); len(changed) != 2 || len(gone) != 0 {
		t.Errorf("from the beginning %v, %v gone; want what is there", changed, gone)
	}
	for name, token := range map[string]string{"garbage": "x", "another collection's": strings.Replace(first, "work", "tasks", 1), "of the future": "http://127.0.0.1/dav/sync/work/99999999999", "negative": "http://127.0.0.1/dav/sync/work/-1"} {
		a := b.dav("REPORT", work, "ada", password, `<d:sync-collection xmlns:d="DAV:"><d:sync-token>`+token+`</d:sync-token><d:sync-level>1</d:sync-level><d:prop/></d:sync-collection>`)
		if a.StatusCode != http.StatusForbidden || !strings.Contains(a.text, "valid-sync-token") {
			t.Errorf("token %s: %s\n%s", name, a.Status, a.text)
		}
	}
	tag := func(at string) string {
		a := b.dav("PROPFIND", at, "ada", password, `<d:propfind xmlns:d="DAV:" xmlns:s="http://calendarserver.org/ns/"><d:prop><s:getctag/></d:prop></d:propfind>`, "Depth", "0")
		return a.text
	}
	if tag(work) == tag(tasks) || !strings.Contains(tag(work), "/sync/work/") {
		t.Errorf("tags of collections: %s", tag(work))
	}
}

func TestPasswordIsShownOnce(t *testing.T) {
	b, _ := connect(t)
	b.open()
	if a := b.post("/programs", url.Values{"program": {" "}}); !strings.Contains(a.text, "Say in 1 to 100 letters") {
		t.Errorf("without a name: %s", a.Status)
	}
	a := b.post("/programs", url.Values{"program": {"tasks <on> the desk"}})
	fresh := find(a.node(t), "input", "class", "link")
	if a.StatusCode != http.StatusOK || len(fresh) != 3 || attr(fresh[0], "value") != "http://127.0.0.1/dav/" || attr(fresh[1], "value") != "ada" {
		t.Fatalf("%s, %d fields", a.Status, len(fresh))
	}
	password := attr(fresh[2], "value")
	if a := b.dav("PROPFIND", "/dav/", "ada", password, "", "Depth", "0"); a.StatusCode != http.StatusMultiStatus {
		t.Errorf("the password: %s", a.Status)
	}
	again := b.send(b.client, http.MethodGet, "/calendars", nil)
	if strings.Contains(again.text, password) {
		t.Error("the password is shown a second time")
	}
	list := find(again.node(t), "section", "id", "programs")[0]
	if !strings.Contains(text(list), "tasks <on> the desk made 1 March 2027, last used 1 March 2027") {
		t.Errorf("the list says %q", text(list))
	}
	passwords, err := b.store.Passwords(b.ctx(), "ada")
	b.must(err)
	if strings.Contains(fmt.Sprint(passwords), password) {
		t.Error("the password itself is kept")
	}
	for _, p := range passwords {
		if p.Name != "telephone" {
			b.post("/programs/"+p.ID+"/revoke", url.Values{})
		}
	}
	if a := b.dav("PROPFIND", "/dav/", "ada", password, "", "Depth", "0"); a.StatusCode != http.StatusUnauthorized {
		t.Errorf("when it is withdrawn: %s", a.Status)
	}
	if a := b.send(b.newClient(), http.MethodPost, "/programs", url.Values{"program": {"x"}}); a.StatusCode != http.StatusForbidden && a.StatusCode != http.StatusBadRequest {
		t.Errorf("from outside: %s", a.Status)
	}
	plain := newBed(t)
	plain.open()
	page := plain.send(plain.client, http.MethodGet, "/calendars", nil)
	if !strings.Contains(page.text, "Passwords are taken over https only") || strings.Contains(page.text, `action="/programs"`) {
		t.Error("without https a password can be made")
	}
}

// What programs store when a feed of tasks and a connection are both read: no UID
// is in both lists of one.
func TestUIDsOfCollectionsDiffer(t *testing.T) {
	b, password := connect(t)
	a, _, _ := changedSince(b, password, "/dav/ada/calendars/work/", "")
	c, _, _ := changedSince(b, password, "/dav/ada/calendars/tasks/", "")
	for _, one := range a {
		for _, other := range c {
			if strings.HasSuffix(other, one[strings.LastIndex(one, "/"):]) {
				t.Errorf("%s and %s", one, other)
			}
		}
	}
}
