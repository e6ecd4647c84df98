package feeds

import (
	"context"
	"encoding/json"
	"errors"
	"net/http"
	"net/http/httptest"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"budswell/calendar"
	"budswell/calendar/store"
	"budswell/climate"
	"budswell/feeds/ics/icstest"
)

// restart puts another server over the same database, which has nothing in memory.
func (b *bed) restart() {
	b.t.Helper()
	again, err := New(b.server.cfg)
	b.must(err)
	again.planner = b.server.planner
	b.server = again
	b.http.Config.Handler = again.Handler()
}

// without plans by hand, less the works of a key.
func (b *bed) without(key string) {
	b.server.planner.trees = func(_ *calendar.Lore, p *calendar.Place, shows []calendar.Show, trees []calendar.Tree, on climate.Date) (*planting, error) {
		plan, err := b.plan(nil, p, shows, trees, on)
		if err == nil {
			for i := range plan.Trees {
				t := &plan.Trees[i]
				t.Works = slices.DeleteFunc(t.Works, func(w calendar.Planned) bool { return w.Key == key })
			}
		}
		return plan, err
	}
}

func TestPollAfterARestartPlansNothing(t *testing.T) {
	b := newBed(t)
	token := b.addFeed("ada", "all", calendar.Filter{})
	b.must(b.store.PutRegion(b.ctx(), valley))
	paths := []string{"/f/" + token + ".ics", "/f/" + token + "/tasks.ics", "/r/valley", "/r/valley/calendar.ics"}
	first := map[string]answered{}
	for _, p := range paths {
		first[p] = b.get(p)
	}
	planned := b.plans.Load()
	regions := 0
	b.server.planner.groups = func(_ *calendar.Lore, r *calendar.Region, on climate.Date) (*calendar.RegionPlan, error) {
		regions++
		return b.planGroups(nil, r, on)
	}
	b.set(b.now().Add(15 * time.Hour)) // still the same day in Berlin
	b.restart()
	for _, p := range paths {
		for accept, suffix := range map[string]string{"": "", "gzip": "-gz"} {
			tag := strings.TrimSuffix(first[p].Header.Get("ETag"), `"`) + suffix + `"`
			if a := b.get(p, "If-None-Match", tag, "Accept-Encoding", accept); a.StatusCode != http.StatusNotModified {
				t.Errorf("%s after a restart: %s to its own tag", p, a.Status)
			}
		}
		a := b.get(p)
		if a.text != first[p].text || a.Header.Get("Last-Modified") != first[p].Header.Get("Last-Modified") || a.Header.Get("Cache-Control") != first[p].Header.Get("Cache-Control") {
			t.Errorf("%s: not as it was before the restart", p)
		}
	}
	if b.plans.Load() != planned || regions != 0 {
		t.Errorf("planned %d and %d times more", b.plans.Load()-planned, regions)
	}
	b.set(b.now().Add(2*time.Hour + morningTime)) // 2 March there, and its morning is late
	b.get(paths[0])
	b.get(paths[3])
	if b.plans.Load() != planned+1 || regions != 1 {
		t.Errorf("on the next day: planned %d and %d times more, want once each", b.plans.Load()-planned, regions)
	}
}

// A change that another process wrote, and its edition, are taken over.
func TestTwoServersOverOneDatabase(t *testing.T) {
	b := newBed(t)
	path := "/f/" + b.addFeed("ada", "all", calendar.Filter{})
	b.get(path)
	other, err := New(b.server.cfg)
	b.must(err)
	other.planner = b.server.planner
	b.must(b.store.AddEntry(b.ctx(), "ada", "ridge-maple", calendar.Entry{On: date(2027, 3, 1), Saw: "bud-swell"}))
	there := httptest.NewRecorder()
	other.Handler().ServeHTTP(there, httptest.NewRequest(http.MethodGet, path, nil))
	planned := b.plans.Load()
	if a := b.get(path); a.text != there.Body.String() || a.Header.Get("ETag") != there.Header().Get("ETag") {
		t.Error("two servers over one database say two things")
	}
	if b.plans.Load() != planned {
		t.Error("the second server planned what the first had published")
	}
}

// raced lets another server publish just before the first edition is put.
type raced struct {
	calendar.Store
	once  sync.Once
	other func()
}

func (r *raced) PutEdition(ctx context.Context, owner string, e calendar.Edition, after int64) error {
	r.once.Do(r.other)
	return r.Store.PutEdition(ctx, owner, e, after)
}

func TestTwoServersPublishAtOnce(t *testing.T) {
	for name, change := range map[string]func(*bed){
		"the same": func(*bed) {},
		"then something changed": func(b *bed) { // what the other published is old already
			b.must(b.store.AddEntry(b.ctx(), "ada", "ridge-maple", calendar.Entry{On: date(2027, 3, 1), Saw: "bud-swell"}))
		},
	} {
		b := newBed(t)
		path := "/f/" + b.addFeed("ada", "all", calendar.Filter{})
		other, err := New(b.server.cfg)
		b.must(err)
		other.planner = b.server.planner
		theirs := httptest.NewRecorder()
		b.server.cfg.Store = &raced{Store: b.store, other: func() {
			other.Handler().ServeHTTP(theirs, httptest.NewRequest(http.MethodGet, path, nil))
			change(b)
		}}
		b.restart()
		a := b.get(path)
		if a.StatusCode != http.StatusOK || theirs.Code != http.StatusOK {
			t.Fatalf("%s: %s and %d", name, a.Status, theirs.Code)
		}
		if name == "the same" && a.text != theirs.Body.String() {
			t.Errorf("%s: two servers say two things", name)
		}
		now, kept := b.get(path), ""
		e, err := b.store.Edition(b.ctx(), "grower ada")
		b.must(err)
		for _, body := range e.Bodies {
			if body.Name == feedBody("all") {
				plain, err := unpack(body.Packed)
				b.must(err)
				kept = string(plain)
			}
		}
		if kept != now.text || strings.Contains(now.text, "SEQUENCE:1\r\n") != (name != "the same") {
			t.Errorf("%s: what is served now is not what is kept, or not of now:\n%s", name, now.text)
		}
	}
}

func TestAnotherProgramMakesFeedsAnew(t *testing.T) {
	b := newBed(t)
	path := "/f/" + b.addFeed("ada", "all", calendar.Filter{})
	first := b.get(path)
	b.server.cfg.Base = "http://elsewhere.example"
	b.restart()
	a := b.get(path)
	if !strings.Contains(a.text, "http://elsewhere.example/") || strings.Contains(a.text, "http://trees.example/") || b.plans.Load() != 2 {
		t.Errorf("under another address the feed still leads to the old one (%d plans)", b.plans.Load())
	}
	if n := strings.Count(a.text, "SEQUENCE:1\r\n"); n != 4 || len(events(first.text)) != 4 {
		t.Errorf("%d events changed in place, want all 4", n)
	}
}

func TestManyAskAtOnce(t *testing.T) {
	b := newBed(t)
	path := "/f/" + b.addFeed("ada", "all", calendar.Filter{})
	var wait sync.WaitGroup
	for range 24 {
		wait.Go(func() {
			if a := b.get(path); a.StatusCode != http.StatusOK {
				t.Error(a.Status)
			}
		})
	}
	wait.Wait()
	if n := b.plans.Load(); n != 1 {
		t.Errorf("planned %d times for many who asked at once", n)
	}
}

func TestLastGoodFeedAfterARestart(t *testing.T) {
	b := newBed(t)
	token := b.addFeed("ada", "all", calendar.Filter{})
	first := b.get("/f/" + token)
	b.fail.Store(true)
	b.set(b.now().Add(48 * time.Hour))
	b.restart()
	late := b.addFeed("ada", "late", calendar.Filter{Works: []string{"repot"}})
	bodies := map[string][]byte{}
	for _, path := range []string{"/f/" + token, "/f/" + token + "/tasks.ics", "/f/" + late} {
		a := b.get(path)
		if !strings.Contains(unfold(a.text), "X-WR-CALDESC:This is the plan of Mon 1 Mar 2027: no newer one could be made since.") {
			t.Errorf("%s does not say of which day it is: %s\n%s", path, a.Status, a.text)
		}
		bodies[strings.ReplaceAll(path, "/", "-")] = []byte(a.text)
	}
	if !slices.Equal(events(string(bodies["-f-"+token])), events(first.text)) {
		t.Error("the events are not those of the last good plan")
	}
	tries := b.plans.Load()
	b.get("/f/" + token)
	b.set(b.now().Add(retryTime - time.Second))
	b.get("/f/" + token)
	if b.plans.Load() != tries {
		t.Errorf("tried %d times more within ten minutes", b.plans.Load()-tries)
	}
	b.fail.Store(false)
	b.set(b.now().Add(2 * time.Second))
	if a := b.get("/f/" + token); strings.Contains(a.text, "This is the plan of") || !slices.Equal(events(a.text), events(first.text)) {
		t.Errorf("when a plan can be made again:\n%s", a.text)
	}
	icstest.Check(t, bodies)
}

func TestMidnight(t *testing.T) {
	for _, zone := range []string{"UTC", "Europe/Berlin", "America/Sao_Paulo", "Pacific/Apia", "Africa/Cairo", "Australia/Lord_Howe", "Asia/Kathmandu"} {
		z, err := time.LoadLocation(zone)
		if err != nil {
			t.Fatal(err)
		}
		for d := date(2010, 1, 1); d < date(2028, 1, 1); d++ {
			at := midnight(d, z)
			if climate.DateOf(at.Add(-time.Second)) >= d || climate.DateOf(at) < d {
				t.Fatalf("%s: %v begins at %v", zone, d, at)
			}
		}
	}
}

func TestFailureOfTheStoreIsNotServed(t *testing.T) {
	b := newBed(t)
	path := "/f/" + b.addFeed("ada", "all", calendar.Filter{})
	b.server.cfg.Store = brokenEditions{b.store}
	b.restart()
	if a := b.get(path); a.StatusCode != http.StatusInternalServerError || strings.Contains(a.text, "disk") {
		t.Errorf("%s %s", a.Status, a.text)
	}
}

// Where nothing can be written any more, what was published is served on.
func TestFullDisk(t *testing.T) {
	b := newBed(t)
	path := "/f/" + b.addFeed("ada", "all", calendar.Filter{})
	first := b.get(path)
	for name, st := range map[string]calendar.Store{"revisions": fullDisk{b.store, true}, "editions": fullDisk{b.store, false}} {
		b.server.cfg.Store = st
		b.set(b.now().Add(24 * time.Hour))
		b.restart()
		a := b.get(path)
		if a.StatusCode != http.StatusOK || !slices.Equal(events(a.text), events(first.text)) || !strings.Contains(b.log.String(), "the disk is full") {
			t.Errorf("%s: %s\n%s", name, a.Status, a.text)
		}
		if note := strings.Contains(a.text, "This is the plan of"); note == (name == "revisions") {
			t.Errorf("%s: the feed says how old it is: %v", name, note)
		}
	}
}

type fullDisk struct {
	calendar.Store
	revisions bool
}

func (f fullDisk) Revise(ctx context.Context, owner string, digests []calendar.Revision, at time.Time) ([]calendar.Revision, error) {
	if f.revisions {
		return nil, errors.New("the disk is full")
	}
	return f.Store.Revise(ctx, owner, digests, at)
}

func (fullDisk) PutEdition(context.Context, string, calendar.Edition, int64) error {
	return errors.New("the disk is full")
}

type brokenEditions struct{ calendar.Store }

func (brokenEditions) Edition(context.Context, string) (calendar.Edition, error) {
	return calendar.Edition{}, errors.New("the disk is gone")
}

// BenchmarkPoll is what a program that polls costs: the first after a restart,
// which reads what was published, then those from memory, over a file.
func BenchmarkPoll(b *testing.B) {
	st, err := store.Open(b.Context(), "sqlite:"+filepath.Join(b.TempDir(), "b.db"))
	if err != nil {
		b.Fatal(err)
	}
	b.Cleanup(func() { _ = st.Close() })
	bed, links := demoOver(b, st, time.Date(2027, time.April, 12, 7, 0, 0, 0, time.UTC))
	path := strings.TrimPrefix(links.Feeds[0], "http://trees.example")
	send := func(headers ...string) *httptest.ResponseRecorder {
		r := httptest.NewRequest(http.MethodGet, path, nil)
		for i := 0; i < len(headers); i += 2 {
			r.Header.Set(headers[i], headers[i+1])
		}
		w := httptest.NewRecorder()
		bed.server.Handler().ServeHTTP(w, r)
		return w
	}
	first := send()
	tag := first.Header().Get("ETag")
	if first.Code != http.StatusOK || tag == "" {
		b.Fatal(first.Code, first.Body)
	}
	bed.server.planner.trees = func(*calendar.Lore, *calendar.Place, []calendar.Show, []calendar.Tree, climate.Date) (*planting, error) {
		return nil, errors.New("a poll planned")
	}
	want := func(b *testing.B, w *httptest.ResponseRecorder, status int) {
		b.Helper()
		if w.Code != status {
			b.Fatal(w.Code, w.Body)
		}
	}
	b.Run("first 304 after a restart", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			bed.server.editions = shelf[*edition]{}
			bed.server.gardens = shelf[*garden]{}
			want(b, send("If-None-Match", tag), http.StatusNotModified)
		}
	})
	b.Run("304", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			want(b, send("If-None-Match", tag), http.StatusNotModified)
		}
	})
	b.Run("200 gzip", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			want(b, send("Accept-Encoding", "gzip"), http.StatusOK)
		}
	})
}

// What a former version kept of each event by itself is read as well: work that has
// left the plan since is still told to be cancelled.
func TestEditionOfTheFormerForm(t *testing.T) {
	b := newBed(t)
	path := "/f/" + b.addFeed("ada", "all", calendar.Filter{})
	b.get(path)
	e, err := b.store.Edition(b.ctx(), "grower ada")
	b.must(err)
	entries, err := entriesOf(&e)
	b.must(err)
	was := e.Number
	e.Number++
	e.Bodies = slices.DeleteFunc(e.Bodies, func(b calendar.Body) bool { return b.Name == entriesBody })
	for i := range e.Shown {
		state, err := json.Marshal(entries[e.Shown[i].UID])
		b.must(err)
		e.Shown[i].State, e.Shown[i].Changed = string(state), e.Number
	}
	b.must(b.store.PutEdition(b.ctx(), "grower ada", e, was))
	b.without("wire-rule/2027")
	b.set(b.now().Add(24 * time.Hour))
	b.restart()
	if a := b.get(path); strings.Count(a.text, "STATUS:CANCELLED") != 2 || strings.Contains(b.log.String(), "cannot be read") {
		t.Errorf("%d works are cancelled, want 2\n%s\n%s", strings.Count(a.text, "STATUS:CANCELLED"), a.text, b.log.String())
	}
}

// All programs ask each hour. After midnight they have the edition of the day before, until
// the morning makes another, or is late; what was logged in the night shows at once.
func TestTheNightIsNotForPlanning(t *testing.T) {
	b := newBed(t)
	path := "/f/" + b.addFeed("ada", "all", calendar.Filter{})
	at := func(day, hour, minute int) { // in Berlin
		b.set(time.Date(2027, time.March, day, hour-1, minute, 0, 0, time.UTC))
	}
	plans := func(when string, want int32) {
		t.Helper()
		b.restart()
		if a := b.get(path); a.StatusCode != http.StatusOK || b.plans.Load() != want {
			t.Errorf("%s: %s, %d plans were made, want %d", when, a.Status, b.plans.Load(), want)
		}
	}
	at(1, 9, 0)
	plans("by day", 1)
	at(2, 0, 30)
	plans("after midnight", 1)
	b.must(b.store.AddEntry(b.ctx(), "ada", "ridge-maple", calendar.Entry{On: date(2027, 3, 1), Saw: "bud-swell"}))
	plans("after an entry at night", 2)
	at(2, 12, 0)
	plans("the same day", 2)
	at(3, 5, 0)
	b.must(b.server.Morning(b.ctx(), "ada", nil, b.now()))
	plans("in the morning", 3)
	e, err := b.store.Edition(b.ctx(), "grower ada")
	b.must(err)
	if e.Day != date(2027, 3, 3) {
		t.Errorf("the morning's edition is of %v", e.Day)
	}
	at(4, 5, 59)
	plans("before the morning is late", 3)
	at(4, 6, 0)
	plans("when the morning is late", 4)
}
