package nudge

import (
	"testing"
	"time"

	"budswell/calendar"

	"pgregory.net/rapid"
)

func TestQuietUntil(t *testing.T) {
	at := func(zone, s string) time.Time {
		t.Helper()
		loc, err := time.LoadLocation(zone)
		if err != nil {
			t.Fatal(err)
		}
		v, err := time.ParseInLocation("2006-01-02 15:04:05", s, loc)
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
	for _, c := range []struct {
		name     string
		from, to int
		zone     string
		now      string
		want     string // UTC; empty: not quiet
	}{
		{"before midnight", 21 * 60, 7 * 60, "Europe/Zurich", "2026-04-12 23:10:30", "2026-04-13T05:00:00Z"},
		{"after midnight", 21 * 60, 7 * 60, "Europe/Zurich", "2026-04-13 00:00:00", "2026-04-13T05:00:00Z"},
		{"from the first minute", 21 * 60, 7 * 60, "Europe/Zurich", "2026-04-12 21:00:00", "2026-04-13T05:00:00Z"},
		{"not before", 21 * 60, 7 * 60, "Europe/Zurich", "2026-04-12 20:59:59", ""},
		{"not after", 21 * 60, 7 * 60, "Europe/Zurich", "2026-04-13 07:00:00", ""},
		{"at noon", 12 * 60, 14 * 60, "Europe/Zurich", "2026-04-13 12:30:00", "2026-04-13T12:00:00Z"},
		{"none", 0, 0, "Europe/Zurich", "2026-04-13 03:00:00", ""},
		{"all day but a minute", 1, 0, "UTC", "2026-04-13 03:00:00", "2026-04-14T00:00:00Z"},
		{"the night that loses an hour", 21 * 60, 7 * 60, "Europe/Zurich", "2026-03-28 23:00:00", "2026-03-29T05:00:00Z"},
		{"the night that gains one", 21 * 60, 7 * 60, "Europe/Zurich", "2026-10-24 23:00:00", "2026-10-25T06:00:00Z"},
		{"an end that is skipped", 22 * 60, 2*60 + 30, "Europe/Zurich", "2026-03-29 01:00:00", "2026-03-29T01:00:00Z"},
		{"an end that comes twice", 22 * 60, 2*60 + 30, "Europe/Zurich", "2026-10-25 01:00:00", "2026-10-25T00:30:00Z"},
		{"half an hour skipped", 22 * 60, 2*60 + 15, "Australia/Lord_Howe", "2026-10-04 01:00:00", "2026-10-03T15:30:00Z"},
		{"polar night", 21 * 60, 7 * 60, "Arctic/Longyearbyen", "2026-12-21 22:00:00", "2026-12-22T06:00:00Z"},
		{"two hours skipped", 21 * 60, 7 * 60, "Antarctica/Troll", "2026-03-28 23:00:00", "2026-03-29T05:00:00Z"},
		{"odd minutes", 21 * 60, 7 * 60, "Asia/Kathmandu", "2026-04-12 23:00:00", "2026-04-13T01:15:00Z"},
	} {
		t.Run(c.name, func(t *testing.T) {
			now := at(c.zone, c.now)
			p := calendar.Preferences{QuietFrom: c.from, QuietTo: c.to}
			until, quiet := QuietUntil(&p, now.Location(), now.UTC())
			got := ""
			if quiet {
				got = until.UTC().Format(time.RFC3339)
			}
			if got != c.want {
				t.Errorf("until %q, want %q", got, c.want)
			}
		})
	}
}

// The end of quiet hours is not quiet, lies ahead by no more than a day and the
// hours that clocks repeat, and the minute before it is quiet.
func TestQuietEnds(t *testing.T) {
	zones := []string{"UTC", "Europe/Zurich", "America/New_York", "Australia/Lord_Howe", "Antarctica/Troll", "Asia/Kathmandu", "Pacific/Apia", "Arctic/Longyearbyen"}
	rapid.Check(t, func(t *rapid.T) {
		loc, err := time.LoadLocation(rapid.SampledFrom(zones).Draw(t, "zone"))
		if err != nil {
			t.Fatal(err)
		}
		p := calendar.Preferences{QuietFrom: rapid.IntRange(0, 1439).Draw(t, "from"), QuietTo: rapid.IntRange(0, 1439).Draw(t, "to")}
		now := time.Unix(rapid.Int64Range(1262304000, 2208988800).Draw(t, "now"), 0)
		until, quiet := QuietUntil(&p, loc, now)
		if !quiet {
			if !until.IsZero() {
				t.Fatalf("not quiet, and until %v", until)
			}
			return
		}
		if !until.After(now) || until.Sub(now) > 50*time.Hour { // an island once skipped a whole day
			t.Fatalf("now %v, until %v", now, until)
		}
		if _, still := QuietUntil(&p, loc, until); still {
			t.Fatalf("quiet at its end, %v", until)
		}
		if _, before := QuietUntil(&p, loc, until.Add(-time.Second)); !before {
			t.Fatalf("not quiet just before its end, %v", until)
		}
	})
}

func TestZone(t *testing.T) {
	m := bench()
	site := m.Plan.Site
	for _, c := range []struct {
		p    calendar.Preferences
		want string
	}{
		{calendar.Preferences{}, "Europe/Berlin"},
		{calendar.Preferences{Zone: "Asia/Tokyo"}, "Asia/Tokyo"},
		{calendar.Preferences{Zone: "Nowhere/Else"}, "Europe/Berlin"},
	} {
		if got := Zone(c.p, &site).String(); got != c.want {
			t.Errorf("%q, want %q", got, c.want)
		}
	}
	if Zone(calendar.Preferences{}, nil) != time.UTC {
		t.Error("without a place the zone is not UTC")
	}
}

// Nothing is delivered in quiet hours, not even what failed before they began,
// and what is held back does not count as an attempt.
func TestQuietHoursHold(t *testing.T) {
	srv := newServer(t, NoTLS)
	s, _ := places2(t)
	awake(t, s, func(p *calendar.Preferences) { p.QuietFrom, p.QuietTo = 21*60, 7*60 })
	decide(t, s, nudge(0))
	urgent := nudge(1)
	urgent.Urgent = true
	decide(t, s, urgent)
	now := time.Date(2026, 4, 12, 19, 0, 0, 0, time.UTC) // 21:00 in Zurich
	sender := newSender(t, s, srv.smtp(NoTLS), &now)
	send(t, sender, 0)
	for _, n := range kept(t, s) {
		if d := n.Deliveries[0]; d.Attempts != 0 || !d.Retry.Equal(time.Date(2026, 4, 13, 5, 0, 0, 0, time.UTC)) {
			t.Errorf("held as %+v", d)
		}
	}
	now = time.Date(2026, 4, 13, 4, 59, 59, 0, time.UTC)
	send(t, sender, 0)
	now = now.Add(time.Second)
	send(t, sender, 2)

	awake(t, s, func(p *calendar.Preferences) { p.QuietFrom, p.QuietTo, p.Wake = 21*60, 7*60, true })
	late, lateUrgent := nudge(2), nudge(3)
	lateUrgent.Urgent = true
	decide(t, s, late)
	decide(t, s, lateUrgent)
	now = time.Date(2026, 4, 13, 22, 0, 0, 0, time.UTC)
	send(t, sender, 1) // the urgent one
}

// What waits for the end of quiet hours goes when they are changed to end sooner, and waits longer where
// they are changed to end later.
func TestQuietHoursChange(t *testing.T) {
	srv := newServer(t, NoTLS)
	s, _ := places2(t)
	quiet := func(from, to int) {
		t.Helper()
		awake(t, s, func(p *calendar.Preferences) { p.QuietFrom, p.QuietTo = from*60, to*60 })
	}
	quiet(21, 7)
	decide(t, s, nudge(0))
	now := time.Date(2026, 4, 12, 20, 0, 0, 0, time.UTC) // 22:00 in Zurich
	sender := newSender(t, s, srv.smtp(NoTLS), &now)
	waits := func(until time.Time) {
		t.Helper()
		send(t, sender, 0)
		if d := kept(t, s)[0].Deliveries[0]; d.Attempts != 0 || !d.Retry.Equal(until) {
			t.Errorf("held as %+v, want until %v", d, until)
		}
	}
	waits(time.Date(2026, 4, 13, 5, 0, 0, 0, time.UTC))
	quiet(21, 9)
	waits(time.Date(2026, 4, 13, 7, 0, 0, 0, time.UTC))
	quiet(21, 23)
	waits(time.Date(2026, 4, 12, 21, 0, 0, 0, time.UTC))
	quiet(23, 7)
	send(t, sender, 1)
}
