package feeds

import (
	"context"
	"fmt"
	"net/http"
	"strings"
	"testing"
	"time"

	"budswell/calendar"
	"budswell/feeds/ics/icstest"
)

func TestCancelledOnceThenGone(t *testing.T) {
	b := newBed(t)
	token := b.addFeed("ada", "maple", calendar.Filter{Trees: []string{"ridge-maple"}})
	path, tasks := "/f/"+token, "/f/"+token+"/tasks.ics"
	b.get(path)
	b.without("repot-rule/2027")
	b.set(b.now().Add(24 * time.Hour))
	bodies := map[string][]byte{}
	for _, p := range []string{path, tasks} {
		a := b.get(p)
		text := unfold(a.text)
		if strings.Count(text, "STATUS:CANCELLED") != 1 || strings.Count(text, "SUMMARY:Repot: ridge maple (cancelled)\r\n") != 1 || strings.Count(text, "SEQUENCE:1\r\n") != 1 {
			t.Errorf("%s: not cancelled, once, with its sequence raised:\n%s", p, text)
		}
		bodies[fmt.Sprint(len(bodies))] = []byte(a.text)
	}
	first := b.get(path)
	b.set(time.Date(2027, time.March, 31, 12, 0, 0, 0, time.UTC)) // 29 days later
	b.restart()
	if a := b.get(path); a.text != first.text {
		t.Error("what was cancelled does not stay as it is for thirty days, over a restart")
	}
	b.set(b.now().Add(24 * time.Hour))
	for _, p := range []string{path, tasks} {
		if a := b.get(p); strings.Contains(a.text, "CANCELLED") || strings.Contains(a.text, "Repot") || (p == path) != strings.Contains(a.text, "Wire") {
			t.Errorf("%s: thirty days later:\n%s", p, a.text)
		}
	}
	b.without("")
	b.set(b.now().Add(24 * time.Hour))
	back := unfold(b.get(path).text)
	if !strings.Contains(back, "SUMMARY:Repot: ridge maple\r\n") || !strings.Contains(back, "SEQUENCE:2\r\n") || strings.Contains(back, "CANCELLED") {
		t.Errorf("back in the plan:\n%s", back)
	}
	icstest.Check(t, bodies)
}

// What was done, or is over, leaves without a word.
func TestWhatIsNotCancelled(t *testing.T) {
	b := newBed(t)
	b.must(b.store.AddEntry(b.ctx(), "ada", "ridge-maple", calendar.Entry{On: date(2027, 3, 1), Did: "repot"}))
	token := b.addFeed("ada", "all", calendar.Filter{Works: []string{"repot"}})
	a := b.get("/f/" + token)
	if !strings.Contains(unfold(a.text), "SUMMARY:Repot: ridge maple (done)\r\n") {
		t.Fatalf("the done work does not show:\n%s", a.text)
	}
	done := events(a.text)[0]
	b.set(b.now().Add(24 * time.Hour))
	if still := events(b.get("/f/" + token).text)[0]; still != done {
		t.Errorf("a done event moved:\n%s", still)
	}
	b.without("repot-rule/2027")
	b.set(time.Date(2027, time.March, 30, 12, 0, 0, 0, time.UTC)) // the pine's window ended on the 29th
	a = b.get("/f/" + token)
	if len(events(a.text)) != 0 {
		t.Errorf("events of what was done or is over:\n%s", a.text)
	}
	tasks := unfold(b.get("/f/" + token + "/tasks.ics").text)
	if strings.Count(tasks, "BEGIN:VTODO") != 1 || !strings.Contains(tasks, "STATUS:CANCELLED") || !strings.Contains(tasks, "old pine") {
		t.Errorf("want the pine's task cancelled, which nobody did, and nothing else:\n%s", tasks)
	}
}

func TestTasksComeNear(t *testing.T) {
	b := newBed(t)
	path := "/f/" + b.addFeed("ada", "wire", calendar.Filter{Works: []string{"wire"}}) + "/tasks.ics"
	for _, row := range []struct {
		on    time.Time
		tasks int
	}{
		{time.Date(2027, time.August, 28, 12, 0, 0, 0, time.UTC), 0}, // 43 days before it opens
		{time.Date(2027, time.August, 29, 12, 0, 0, 0, time.UTC), 2},
		{time.Date(2027, time.August, 28, 12, 0, 0, 0, time.UTC), 2}, // as if it had moved a day later
	} {
		b.set(row.on)
		if a := b.get(path); strings.Count(a.text, "BEGIN:VTODO") != row.tasks || strings.Contains(a.text, "CANCELLED") {
			t.Errorf("on %v want %d tasks:\n%s", row.on, row.tasks, a.text)
		}
	}
}

func TestWithdrawnLinkExplainsItself(t *testing.T) {
	b := newBed(t)
	token := b.addFeed("ada", "all", calendar.Filter{})
	b.get("/f/" + token)
	b.must(b.store.RevokeFeed(b.ctx(), "ada", "all", b.now()))
	bodies := map[string][]byte{}
	for path, component := range map[string]string{"/f/" + token + ".ics": "VEVENT", "/f/" + token + "/tasks.ics": "VTODO"} {
		b.set(time.Date(2027, time.March, 1, 6, 0, 1, 0, time.UTC))
		first := b.get(path)
		if first.StatusCode != http.StatusOK || strings.Count(first.text, "BEGIN:"+component) != 1 || strings.Contains(first.text, "maple") ||
			!strings.Contains(unfold(first.text), "was withdrawn on Mon 1 Mar 2027") || !strings.Contains(first.text, ";VALUE=DATE:20270301") {
			t.Errorf("%s: %s\n%s", path, first.Status, first.text)
		}
		if a := b.get(path, "If-None-Match", first.Header.Get("ETag")); a.StatusCode != http.StatusNotModified {
			t.Errorf("%s: %s to its own tag", path, a.Status)
		}
		b.set(time.Date(2027, time.March, 31, 5, 59, 59, 0, time.UTC))
		b.restart()
		if a := b.get(path); a.text != first.text {
			t.Errorf("%s on its last day: %s\n%s", path, a.Status, a.text)
		}
		b.set(time.Date(2027, time.March, 31, 6, 0, 0, 0, time.UTC))
		if a := b.get(path); a.StatusCode != http.StatusGone || a.Header.Get("Cache-Control") != "no-store" {
			t.Errorf("%s after thirty days: %s", path, a.Status)
		}
		bodies[component] = []byte(first.text)
	}
	icstest.Check(t, bodies)
}

func TestLinkOfAGrowerWhoLeft(t *testing.T) {
	b := newBed(t)
	at := b.now().Add(-time.Hour)
	left := leftStore{b.store, at}
	b.server.cfg.Store = left
	b.restart()
	path := "/f/" + strings.Repeat("a", 32) + ".ics"
	if a := b.get(path); a.StatusCode != http.StatusOK || !strings.Contains(unfold(a.text), "The link of this calendar was withdrawn") {
		t.Errorf("%s\n%s", a.Status, a.text)
	}
	b.set(at.AddDate(0, 0, farewellDays))
	if a := b.get(path); a.StatusCode != http.StatusGone {
		t.Error(a.Status)
	}
}

// TestLinkOfAGrowerWhoLeftStaysGone: what is swept each hour is not what programs that
// poll for years must be told.
func TestLinkOfAGrowerWhoLeftStaysGone(t *testing.T) {
	b := newBed(t)
	b.grower("bea", "south")
	path := "/f/" + b.addFeed("bea", "f", calendar.Filter{})
	b.must(b.store.DeleteGrower(b.ctx(), "bea", b.now()))
	for days, status := range map[int]int{farewellDays - 1: 200, farewellDays: 410, 3 * 365: 410} {
		now := b.now().AddDate(0, 0, days)
		b.must(b.store.Sweep(b.ctx(), now, now.Add(-rememberLeft)))
		was := b.now()
		b.set(now)
		if a := b.get(path); a.StatusCode != status {
			t.Errorf("after %d days: %s, want %d", days, a.Status, status)
		}
		b.set(was)
	}
	b.must(b.store.Sweep(b.ctx(), b.now(), b.now()))
	if a := b.get(path); a.StatusCode != http.StatusNotFound {
		t.Errorf("forgotten: %s", a.Status)
	}
}

// leftStore has the hash of every link, and knows no more of any than that it ended.
type leftStore struct {
	calendar.Store
	at time.Time
}

func (s leftStore) FeedByToken(_ context.Context, hash string) (calendar.Feed, error) {
	return calendar.Feed{TokenHash: hash, Revoked: s.at}, fmt.Errorf("link: %w", calendar.ErrGone)
}
