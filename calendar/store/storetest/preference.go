package storetest

import (
	"context"
	"testing"
	"time"

	"budswell/calendar"
	"budswell/climate"
)

func toldDays(t *testing.T, s calendar.Store) {
	ctx := context.Background()
	must(t, s.PutGrower(ctx, Grower("a")))
	must(t, s.PutGrower(ctx, Grower("b")))
	first, later := climate.NewDate(2026, 4, 2), climate.NewDate(2026, 4, 20)
	must(t, s.Tell(ctx, "a", []calendar.ToldDay{{Key: "x", On: first}, {Key: "y", On: first}}, noon))
	must(t, s.Tell(ctx, "a", []calendar.ToldDay{{Key: "x", On: later}}, noon))
	n := Nudge("a", "1", 0)
	n.Days = []calendar.ToldDay{{Key: "y", On: later}, {Key: "z", On: later}}
	decide(t, s, 1, n)
	again := n
	again.Days = []calendar.ToldDay{{Key: "z", On: first}}
	decide(t, s, 0, again) // it is not told, and neither are its days
	got, err := s.ToldDays(ctx, "a")
	must(t, err)
	equal(t, got, map[string]climate.Date{"x": first, "y": later, "z": later})
	got, err = s.ToldDays(ctx, "b")
	must(t, err)
	equal(t, len(got), 0)
	want(t, s.Tell(ctx, "a", []calendar.ToldDay{{Key: "x", On: climate.NoDate}}, noon), calendar.ErrInvalid)
	want(t, s.Tell(ctx, "nobody", []calendar.ToldDay{{Key: "x", On: first}}, noon), calendar.ErrNotFound)
}

func preferences(t *testing.T, s calendar.Store) {
	ctx := context.Background()
	must(t, s.PutGrower(ctx, Grower("a")))
	got, err := s.Preferences(ctx, "a")
	must(t, err)
	equal(t, got, calendar.DefaultPreferences())
	p := calendar.Preferences{
		Off: []string{"heat"}, Level: 0.7, Moved: 5, QuietFrom: 0, QuietTo: 1439, Wake: true, Zone: "Arctic/Longyearbyen", Cap: 20, WeekDay: time.Sunday,
	}
	must(t, s.PutPreferences(ctx, "a", p))
	got, err = s.Preferences(ctx, "a")
	must(t, err)
	equal(t, got, p)
	want(t, s.PutPreferences(ctx, "nobody", p), calendar.ErrNotFound)
	for _, change := range []func(*calendar.Preferences){
		func(p *calendar.Preferences) { p.Level = 0 },
		func(p *calendar.Preferences) { p.Level = 1 },
		func(p *calendar.Preferences) { p.Moved = 2 },
		func(p *calendar.Preferences) { p.QuietFrom = -1 },
		func(p *calendar.Preferences) { p.QuietTo = 1440 },
		func(p *calendar.Preferences) { p.Cap = 0 },
		func(p *calendar.Preferences) { p.Cap = 21 },
		func(p *calendar.Preferences) { p.WeekDay = 7 },
		func(p *calendar.Preferences) { p.Zone = "Nowhere/Else" },
	} {
		bad := p
		change(&bad)
		want(t, s.PutPreferences(ctx, "a", bad), calendar.ErrInvalid)
	}
	got, err = s.Preferences(ctx, "a")
	must(t, err)
	equal(t, got, p)
}

// postponed changes preferences while one delivery waits, one is under way, one has failed, one is given up,
// and one waits of another grower: the first may be tried at once, and no other.
func postponed(t *testing.T, s calendar.Store) {
	ctx := context.Background()
	must(t, s.PutGrower(ctx, Grower("a")))
	must(t, s.PutGrower(ctx, Grower("b")))
	decide(t, s, 5, Nudge("a", "1", 1), Nudge("a", "2", 2), Nudge("a", "3", 3), Nudge("a", "4", 4), Nudge("b", "5", 5))
	now, lease := noon.Add(time.Hour), 5*time.Minute
	claim := func() string {
		t.Helper()
		got, err := s.Claim(ctx, calendar.ByMail, now, lease)
		must(t, err)
		return got.ID
	}
	delivery := map[string]string{}
	for range 5 {
		got, err := s.Claim(ctx, calendar.ByMail, now, lease)
		must(t, err)
		delivery[got.ID] = got.Delivery.ID
	}
	must(t, s.Postpone(ctx, delivery["1"], 1, now.Add(9*time.Hour)))
	must(t, s.Failed(ctx, delivery["3"], 1, "busy", now.Add(time.Hour)))
	must(t, s.Failed(ctx, delivery["4"], 1, "no such user", time.Time{}))
	must(t, s.Postpone(ctx, delivery["5"], 1, now.Add(9*time.Hour)))
	_, err := s.Claim(ctx, calendar.ByMail, now, lease)
	want(t, err, calendar.ErrNotFound)
	must(t, s.PutPreferences(ctx, "a", calendar.DefaultPreferences()))
	equal(t, claim(), "1")
	_, err = s.Claim(ctx, calendar.ByMail, now, lease)
	want(t, err, calendar.ErrNotFound)
	must(t, s.PutPreferences(ctx, "a", calendar.DefaultPreferences())) // it is under way now
	_, err = s.Claim(ctx, calendar.ByMail, now, lease)
	want(t, err, calendar.ErrNotFound)
}

func webhooks(t *testing.T, s calendar.Store) {
	ctx := context.Background()
	must(t, s.PutGrower(ctx, Grower("a")))
	must(t, s.PutGrower(ctx, Grower("b")))
	first := calendar.Webhook{ID: "2", Grower: "a", URL: "https://example.org/in", Secret: "whsec_eA==", Created: noon}
	second := calendar.Webhook{ID: "1", Grower: "a", URL: "https://example.org/two", Secret: "whsec_eQ==", Created: noon.Add(1)}
	must(t, s.AddWebhook(ctx, second))
	must(t, s.AddWebhook(ctx, first))
	want(t, s.AddWebhook(ctx, first), calendar.ErrConflict)
	for _, bad := range []calendar.Webhook{
		{Grower: "a", URL: "u", Secret: "s", Created: noon},
		{ID: "3", Grower: "a", Secret: "s", Created: noon},
		{ID: "3", Grower: "a", URL: "u", Created: noon},
		{ID: "3", Grower: "a", URL: "u", Secret: "s"},
	} {
		want(t, s.AddWebhook(ctx, bad), calendar.ErrInvalid)
	}
	must(t, s.EndWebhook(ctx, "a", "2", "it said that it is gone", noon.Add(time.Hour)))
	must(t, s.EndWebhook(ctx, "a", "2", "again", noon.Add(2*time.Hour)))
	want(t, s.EndWebhook(ctx, "b", "2", "not mine", noon), calendar.ErrNotFound)
	first.Ended, first.Why = noon.Add(time.Hour), "it said that it is gone"
	got, err := s.Webhooks(ctx, "a")
	must(t, err)
	equal(t, got, []calendar.Webhook{first, second})
	one, err := s.Webhook(ctx, "a", "1")
	must(t, err)
	equal(t, one, second)
	_, err = s.Webhook(ctx, "b", "1")
	want(t, err, calendar.ErrNotFound)
}
