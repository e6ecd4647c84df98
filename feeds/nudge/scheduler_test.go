package nudge

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"
	_ "time/tzdata"

	"budswell/calendar"
	"budswell/calendar/store"
	"budswell/calendar/store/storetest"

	"github.com/jonboulle/clockwork"
)

// mornings notes each morning that was done, as the place and the time on its clock.
type mornings struct {
	mu   sync.Mutex
	done []string
	fail func(place string) error
}

func (m *mornings) forecast(_ context.Context, _ string, come []calendar.Place, now time.Time) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	var ids []string
	at := now
	for _, p := range come {
		if m.fail != nil {
			if err := m.fail(p.ID); err != nil {
				return err
			}
		}
		loc, err := p.Site.Location()
		if err != nil {
			return err
		}
		at = now.In(loc)
		ids = append(ids, p.ID)
	}
	m.done = append(m.done, strings.Join(ids, "+")+" "+at.Format("01-02 15:04"))
	return nil
}

func (m *mornings) become(fail func(string) error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.fail = fail
}

// want compares what was done. In which order growers of one hour come is the scheduler's.
func (m *mornings) want(t *testing.T, want ...string) {
	t.Helper()
	m.mu.Lock()
	defer m.mu.Unlock()
	if !slices.Equal(slices.Sorted(slices.Values(m.done)), slices.Sorted(slices.Values(want))) {
		t.Fatalf("mornings done: %q, want %q", m.done, want)
	}
}

// places returns a store with a place in each zone, whose id is the zone, each of
// another grower.
func places(t *testing.T, zones ...string) *store.Store {
	t.Helper()
	s, _ := outbox(t, 0)
	for i, zone := range zones {
		grower := string(rune('a' + i))
		if err := s.PutGrower(context.Background(), storetest.Grower(grower)); err != nil {
			t.Fatal(err)
		}
		p := storetest.Place(grower, zone, 3)
		p.Site.Zone = zone
		if err := s.PutPlace(context.Background(), p); err != nil {
			t.Fatal(err)
		}
	}
	return s
}

// running is a scheduler whose hours a test lets pass. It is not gocron that runs
// its job but the test: gocron gives no sign that it has seen a job end, and on a
// busy machine skips a run that comes before it has. TestSchedulerLooks has gocron.
type running struct {
	*Scheduler
	clock *clockwork.FakeClock
}

// start makes a scheduler at a time of UTC and lets it make up for what was missed.
func start(t *testing.T, s calendar.Store, m *mornings, at time.Time) *running {
	t.Helper()
	r := &running{clock: clockwork.NewFakeClockAt(at)}
	var err error
	r.Scheduler, err = NewScheduler(s, r.clock, m.forecast, nil, silent)
	if err != nil {
		t.Fatal(err)
	}
	r.hours = []int{dawn}
	t.Cleanup(func() { stop(t, r.Scheduler) })
	r.mornings(t.Context())
	return r
}

func stop(t *testing.T, s *Scheduler) {
	t.Helper()
	ctx, cancel := context.WithTimeout(context.Background(), 10*time.Second)
	defer cancel()
	if err := s.Stop(ctx); err != nil {
		t.Error(err)
	}
}

// pass lets hours pass one by one.
func (r *running) pass(t *testing.T, hours int) {
	t.Helper()
	for range hours {
		r.clock.Advance(time.Hour)
		r.mornings(t.Context())
	}
}

// await lets time pass on a scheduler's clock, step by step, until something
// happens. A step that comes while gocron still minds the job of the one before is
// lost, as it may be; the next is not.
func await(t *testing.T, clock *clockwork.FakeClock, jobs int, step time.Duration, happens <-chan struct{}) {
	t.Helper()
	ctx, cancel := context.WithTimeout(t.Context(), 20*time.Second)
	defer cancel()
	for ctx.Err() == nil {
		if err := clock.BlockUntilContext(ctx, jobs); err != nil {
			break
		}
		clock.Advance(step)
		select {
		case <-happens:
			return
		case <-time.After(300 * time.Millisecond):
		}
	}
	t.Fatalf("nothing happened until %v", clock.Now())
}

// TestSchedulerLooks: gocron looks for mornings at the start, and again as hours pass.
func TestSchedulerLooks(t *testing.T) {
	s := places(t, "Europe/Zurich")
	m := &mornings{}
	clock := clockwork.NewFakeClockAt(time.Date(2026, 4, 12, 3, 0, 0, 0, time.UTC))
	sched, err := NewScheduler(s, clock, m.forecast, nil, silent)
	if err != nil {
		t.Fatal(err)
	}
	looks := make(chan struct{}, 100)
	sched.looked = func() { looks <- struct{}{} }
	sched.Start()
	defer stop(t, sched)
	select {
	case <-looks:
	case <-time.After(20 * time.Second):
		t.Fatal("no look at the start")
	}
	m.want(t, "Europe/Zurich 04-12 05:00")
	for range 3 {
		await(t, clock, 1, time.Hour, looks)
	}
	m.want(t, "Europe/Zurich 04-12 05:00")
}

func TestTwoMornings(t *testing.T) {
	s := places(t, "America/New_York", "Asia/Kathmandu", "Pacific/Kiritimati")
	m := &mornings{}
	r := start(t, s, m, time.Date(2026, 6, 1, 0, 0, 0, 0, time.UTC))
	// All had a morning since they were added long ago.
	first := []string{"America/New_York 05-31 20:00", "Asia/Kathmandu 06-01 05:45", "Pacific/Kiritimati 06-01 14:00"}
	m.want(t, first...)
	r.pass(t, 48)
	m.want(t, append(first,
		"America/New_York 06-01 05:00", "Pacific/Kiritimati 06-02 05:00", "Asia/Kathmandu 06-02 05:45",
		"America/New_York 06-02 05:00", "Pacific/Kiritimati 06-03 05:00", "Asia/Kathmandu 06-03 05:45")...)
}

func TestMorningsAreNotMovedByTheClocks(t *testing.T) {
	for _, c := range []struct {
		zone   string
		at     time.Time // the day before clocks change
		hours  int
		before string
		want   []string
	}{
		{"Europe/Zurich", time.Date(2026, 3, 28, 12, 0, 0, 0, time.UTC), 48, "03-28 13:00", []string{"03-29 05:00", "03-30 05:00"}},
		{"Europe/Zurich", time.Date(2026, 10, 24, 12, 0, 0, 0, time.UTC), 48, "10-24 14:00", []string{"10-25 05:00", "10-26 05:00"}},
		{"America/New_York", time.Date(2026, 3, 7, 12, 0, 0, 0, time.UTC), 48, "03-07 07:00", []string{"03-08 05:00", "03-09 05:00"}},
		{"America/New_York", time.Date(2026, 10, 31, 12, 0, 0, 0, time.UTC), 48, "10-31 08:00", []string{"11-01 05:00", "11-02 05:00"}},
		{"Australia/Lord_Howe", time.Date(2026, 10, 3, 0, 0, 0, 0, time.UTC), 48, "10-03 10:30", []string{"10-04 05:00", "10-05 05:00"}},
	} {
		t.Run(fmt.Sprint(c.zone, c.at.Month()), func(t *testing.T) {
			m := &mornings{}
			r := start(t, places(t, c.zone), m, c.at)
			r.pass(t, c.hours)
			want := []string{c.zone + " " + c.before}
			for _, v := range c.want {
				want = append(want, c.zone+" "+v)
			}
			m.want(t, want...)
		})
	}
}

// TestPlacesOfOneGrowerAreOneMorning: a grower is planned once for all places
// whose morning comes at the same time, and again for one in another zone or one
// that is added later.
func TestPlacesOfOneGrowerAreOneMorning(t *testing.T) {
	s, _ := outbox(t, 0)
	place := func(id, zone string) {
		p := storetest.Place("a", id, 3)
		p.Site.Zone = zone
		if err := s.PutPlace(context.Background(), p); err != nil {
			t.Fatal(err)
		}
	}
	place("bench", "Europe/Zurich")
	place("field", "Europe/Berlin")
	m := &mornings{}
	r := start(t, s, m, time.Date(2026, 4, 12, 3, 0, 0, 0, time.UTC))
	m.want(t, "bench+field 04-12 05:00")
	place("shed", "Europe/Zurich")
	place("coast", "Europe/Lisbon")
	r.pass(t, 1)
	m.want(t, "bench+field 04-12 05:00", "coast+shed 04-12 06:00")
	r.pass(t, 24)
	m.want(t, "bench+field 04-12 05:00", "coast+shed 04-12 06:00", "bench+field+shed 04-13 05:00", "coast 04-13 05:00")
}

// TestAfternoons: the weather forecast is looked at again before the night, and
// what was missed of a day is made up for once.
func TestAfternoons(t *testing.T) {
	s := places(t, "Europe/Zurich")
	m := &mornings{}
	r := start(t, s, m, time.Date(2026, 4, 12, 3, 0, 0, 0, time.UTC))
	r.hours = []int{dawn, afternoon}
	r.pass(t, 25)
	m.want(t, "Europe/Zurich 04-12 05:00", "Europe/Zurich 04-12 16:00", "Europe/Zurich 04-13 05:00")
	r.clock.Advance(60 * time.Hour)
	r.pass(t, 1)
	m.want(t, "Europe/Zurich 04-12 05:00", "Europe/Zurich 04-12 16:00", "Europe/Zurich 04-13 05:00", "Europe/Zurich 04-15 19:00")
}

func TestMissedMorningIsMadeUpForOnce(t *testing.T) {
	s := places(t, "Europe/Zurich")
	m := &mornings{}
	at := time.Date(2026, 4, 12, 3, 0, 0, 0, time.UTC) // 05:00 there
	r := start(t, s, m, at)
	m.want(t, "Europe/Zurich 04-12 05:00")
	stop(t, r.Scheduler)

	// Again the same day: done already.
	r = start(t, s, m, at.Add(6*time.Hour))
	r.pass(t, 1)
	stop(t, r.Scheduler)
	m.want(t, "Europe/Zurich 04-12 05:00")

	// Down for three mornings: one is made up for, at once, and the next comes in its time.
	r = start(t, s, m, at.Add(80*time.Hour))
	m.want(t, "Europe/Zurich 04-12 05:00", "Europe/Zurich 04-15 13:00")
	r.pass(t, 16)
	m.want(t, "Europe/Zurich 04-12 05:00", "Europe/Zurich 04-15 13:00", "Europe/Zurich 04-16 05:00")
	stop(t, r.Scheduler)

	// Started in the night after a morning that was done: nothing to make up for.
	r = start(t, s, m, at.Add(117*time.Hour))
	stop(t, r.Scheduler)
	m.want(t, "Europe/Zurich 04-12 05:00", "Europe/Zurich 04-15 13:00", "Europe/Zurich 04-16 05:00")
}

func TestFailedMorningIsTriedAgainAndAlone(t *testing.T) {
	s := places(t, "Europe/Berlin", "Europe/Paris", "Europe/Zurich")
	m := &mornings{}
	m.become(func(place string) error {
		switch place {
		case "Europe/Berlin":
			return errors.New("no weather")
		case "Europe/Paris":
			panic("a fault")
		}
		return nil
	})
	at := time.Date(2026, 4, 12, 3, 0, 0, 0, time.UTC)
	r := start(t, s, m, at)
	m.want(t, "Europe/Zurich 04-12 05:00")
	m.become(nil)
	r.pass(t, 2)
	m.want(t, "Europe/Zurich 04-12 05:00", "Europe/Berlin 04-12 06:00", "Europe/Paris 04-12 06:00")
}

func TestSchedulerSends(t *testing.T) {
	srv := newServer(t, NoTLS)
	s, _ := outbox(t, 1)
	clock := clockwork.NewFakeClockAt(noon)
	sender, err := NewSender(s, Channels{SMTP: srv.smtp(NoTLS)}, clock.Now, silent)
	if err != nil {
		t.Fatal(err)
	}
	arrived := make(chan struct{}, 10)
	srv.become(manners{taken: func() { arrived <- struct{}{} }})
	sched, err := NewScheduler(s, clock, new(mornings).forecast, sender, silent)
	if err != nil {
		t.Fatal(err)
	}
	sched.Start()
	marked := func() {
		t.Helper()
		for range 2000 {
			if !kept(t, s)[0].Deliveries[0].Sent.IsZero() {
				return
			}
			time.Sleep(10 * time.Millisecond)
		}
		t.Fatal("what was sent is not marked")
	}
	select { // at once
	case <-arrived:
	case <-time.After(20 * time.Second):
		t.Fatal("nothing was sent")
	}
	marked()
	later := nudge(1)
	later.Decided = noon.Add(time.Second)
	decide(t, s, later)
	await(t, clock, 2, time.Minute, arrived)
	marked()
	ctx, cancel := context.WithTimeout(context.Background(), 10*time.Second)
	defer cancel()
	if err := sched.Stop(ctx); err != nil {
		t.Fatal(err)
	}
}

func TestDue(t *testing.T) {
	zurich, err := time.LoadLocation("Europe/Zurich")
	if err != nil {
		t.Fatal(err)
	}
	at := func(day, hour int) time.Time { return time.Date(2026, 4, day, hour, 0, 0, 0, zurich) }
	for _, c := range []struct {
		last, now time.Time
		want      bool
	}{
		{time.Time{}, at(12, 0), true},
		{at(11, 5), at(12, 4), false},
		{at(11, 5), at(12, 5), true},
		{at(12, 5), at(12, 5), false},
		{at(11, 4), at(12, 4), true},
		{at(30, 5), at(12, 4), true}, // the clock was wrong
	} {
		if got := isDue(c.last.UTC(), c.now.UTC(), zurich, []int{dawn}); got != c.want {
			t.Errorf("last %v, now %v: due is %v", c.last, c.now, got)
		}
	}
}

// places2 returns an outbox of a grower with two places, of which the first by
// its id counts.
func places2(t *testing.T) (*store.Store, string) {
	t.Helper()
	s, path := outbox(t, 0)
	for id, zone := range map[string]string{"a": "Europe/Zurich", "b": "Asia/Tokyo"} {
		p := storetest.Place("a", id, 3)
		p.Site.Zone = zone
		if err := s.PutPlace(context.Background(), p); err != nil {
			t.Fatal(err)
		}
	}
	return s, path
}
