package nudge

import (
	"slices"
	"strings"
	"testing"
	"time"

	"budswell/calendar"
	"budswell/climate"

	"pgregory.net/rapid"
)

// many is a day with one opening window at each of so many places.
func many(places int) Day {
	d := day(bench())
	d.Places = nil
	for i := range places {
		m := bench()
		m.Place = "bench " + string(rune('a'+i))
		m.add("1", maple, nil, climate.NoDate, planned(feed, today-1, today+50))
		d.Places = append(d.Places, *m)
	}
	return d
}

func subjectsOf(nudges []calendar.Nudge) (out []string) {
	for _, n := range nudges {
		out = append(out, n.Subjects...)
	}
	slices.Sort(out)
	return out
}

func TestCap(t *testing.T) {
	sent := func(urgent bool, at time.Time, n int) (out []calendar.Nudge) {
		for range n {
			out = append(out, calendar.Nudge{Urgent: urgent, Decided: at})
		}
		return out
	}
	midnight := time.Date(2026, 4, 11, 22, 0, 0, 0, time.UTC) // of the day, in Berlin
	for _, c := range []struct {
		name   string
		places int
		cap    int
		sent   []calendar.Nudge
		want   []string
		told   int // subjects
	}{
		{"room for all", 4, 4, nil, []string{WindowOpens, WindowOpens, WindowOpens, WindowOpens}, 4},
		{"the last holds the rest", 6, 4, nil, []string{WindowOpens, WindowOpens, WindowOpens, several}, 6},
		{"one holds all", 5, 1, nil, []string{several}, 5},
		{"one was sent", 5, 4, sent(false, noon, 1), []string{WindowOpens, WindowOpens, several}, 5},
		{"sent since midnight", 2, 4, sent(false, midnight, 4), nil, 0},
		{"sent before midnight", 2, 4, sent(false, midnight.Add(-time.Second), 4), []string{WindowOpens, WindowOpens}, 2},
		{"urgent ones do not count", 2, 4, sent(true, noon, 9), []string{WindowOpens, WindowOpens}, 2},
		{"none left", 2, 4, sent(false, noon, 4), nil, 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			d := many(c.places)
			d.Preferences.Cap, d.Sent = c.cap, c.sent
			got, _ := Decide(d)
			want(t, got, c.want...)
			if n := len(subjectsOf(got)); n != c.told {
				t.Errorf("%d subjects are told, want %d", n, c.told)
			}
		})
	}
}

// What did not fit on one day is told on the next, and all of it once.
func TestWhatIsLeftComesNextMorning(t *testing.T) {
	d := many(3)
	d.Preferences.Cap = 1
	d.Sent = []calendar.Nudge{{Decided: noon}}
	got, _ := Decide(d)
	want(t, got)
	d.Now = noon.AddDate(0, 0, 1)
	got, _ = Decide(d)
	want(t, got, several)
	d.Sent, d.Subjects = nil, got[0].Subjects // as years later, when only the subjects are read
	d.Now = noon.AddDate(0, 0, 2)
	got, _ = Decide(d)
	want(t, got)
}

// However many mornings and places: no day has more messages than wanted, and
// no subject is told twice.
func TestNoFlood(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := many(rapid.IntRange(1, 9).Draw(t, "places"))
		d.Preferences.Cap = rapid.IntRange(1, 5).Draw(t, "cap")
		all := len(d.Places)
		for day := range 3 {
			for range rapid.IntRange(1, 3).Draw(t, "times") { // as when something is logged
				d.Now = noon.AddDate(0, 0, day)
				got, _ := Decide(d)
				d.Sent = append(d.Sent, got...)
			}
			count := 0
			for _, n := range d.Sent {
				if n.Decided.Equal(d.Now) {
					count++
				}
			}
			if count > d.Preferences.Cap {
				t.Fatalf("%d messages on a day, wanted %d", count, d.Preferences.Cap)
			}
		}
		if told := subjectsOf(d.Sent); len(told) != all || len(slices.Compact(told)) != all {
			t.Fatalf("told %q, want each of %d once", told, all)
		}
	})
}

func TestUrgentPassTheCapButNotEndlessly(t *testing.T) {
	d := day(bench())
	d.Places = nil
	d.Preferences.Cap = 1
	for i := range 5 {
		m := bench()
		m.Place = "bench " + string(rune('a'+i))
		m.Nights = &climate.Record{First: today + 1, Days: []climate.Day{{Tmin: -1, TminOrigin: climate.Predicted}}}
		m.add("1", maple, nil, climate.NoDate, planned(frosts, today-9, today+9))
		d.Places = append(d.Places, *m)
	}
	d.Sent = []calendar.Nudge{{Decided: noon}}
	got, _ := Decide(d)
	want(t, got, FrostNear, FrostNear, several)
	if !got[2].Urgent || got[2].Expires.After(noon.Add(urgentFor)) || strings.Count(got[2].Body, "== ") != 3 || len(got[2].Links) != 2 {
		t.Errorf("the last is %+v", got[2])
	}
	d.Sent = append(d.Sent, got...)
	got, _ = Decide(d)
	want(t, got)
}

func TestKindsThatAreNotWanted(t *testing.T) {
	d := many(2)
	d.Preferences.Off = []string{WindowOpens, WeekAhead}
	got, _ := Decide(d)
	want(t, got)
	// Once it is wanted, what is open then is told.
	d.Preferences.Off = nil
	got, _ = Decide(d)
	want(t, got, WeekAhead, WindowOpens, WindowOpens)
}

func TestChannelsOfANudge(t *testing.T) {
	d := many(1)
	d.Webhooks = []calendar.Webhook{{ID: "h1"}, {ID: "h2", Ended: noon}, {ID: "h3"}}
	got, _ := Decide(d)
	id := got[0].ID
	wanted := []calendar.Delivery{{ID: id + "_mail", Channel: calendar.ByMail, To: "g@example.org"}, {ID: id + "_h1", Channel: calendar.ByWebhook, To: "h1"}, {ID: id + "_h3", Channel: calendar.ByWebhook, To: "h3"}}
	if !slices.Equal(got[0].Deliveries, wanted) {
		t.Errorf("deliveries %+v", got[0].Deliveries)
	}
	d.Preferences.Mail, d.Webhooks = false, nil
	got, _ = Decide(d)
	if len(got) != 1 || len(got[0].Deliveries) != 0 {
		t.Errorf("without a channel: %+v; want it for the page", got)
	}
	if slices.ContainsFunc(got[0].Links, func(l calendar.Link) bool { return l.Does == calendar.StopMail }) {
		t.Error("a link that ends the mail where there is none")
	}
}

func TestLevelOfSwelling(t *testing.T) {
	for level, tells := range map[float64]bool{0.3: true, 0.5: true, 0.6: false, 0.9: false} {
		m := bench()
		m.add("1", maple, spread(today-4, 1), climate.NoDate) // five of ten by today
		d := day(m)
		d.Preferences.Level = level
		if got, _ := Decide(d); (len(got) == 1) != tells {
			t.Errorf("level %v: told %q", level, kinds(got))
		}
	}
}
