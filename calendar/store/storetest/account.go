package storetest

import (
	"context"
	"testing"
	"time"

	"budswell/calendar"
)

// Account returns how a grower signs in.
func Account(grower string) calendar.Account {
	return calendar.Account{Grower: grower, Mail: grower + "@example.org", Password: "hash of " + grower, Changed: noon}
}

func accounts(t *testing.T, s calendar.Store) {
	ctx := context.Background()
	must(t, s.PutGrower(ctx, Grower("a")))
	must(t, s.PutGrower(ctx, Grower("b")))
	a := Account("a")
	_, err := s.Account(ctx, "a")
	want(t, err, calendar.ErrNotFound)
	must(t, s.PutAccount(ctx, a, ""))
	got, err := s.Account(ctx, "a")
	must(t, err)
	equal(t, got, a)
	got, err = s.AccountByMail(ctx, a.Mail)
	must(t, err)
	equal(t, got, a)
	_, err = s.AccountByMail(ctx, "")
	want(t, err, calendar.ErrNotFound)

	b := Account("b")
	b.Mail = a.Mail
	want(t, s.PutAccount(ctx, b, ""), calendar.ErrConflict)
	want(t, s.PutAccount(ctx, Account("nobody"), ""), calendar.ErrNotFound)
	for _, bad := range []calendar.Account{
		{Mail: "m", Password: "p", Changed: noon},
		{Grower: "b", Password: "p", Changed: noon},
		{Grower: "b", Mail: "m", Changed: noon},
		{Grower: "b", Mail: "m", Password: "p"},
	} {
		want(t, s.PutAccount(ctx, bad, ""), calendar.ErrInvalid)
	}

	must(t, s.Rehash(ctx, "a", "another hash", "new"))
	must(t, s.Rehash(ctx, "a", a.Password, "stronger"))
	must(t, s.Rehash(ctx, "a", a.Password, "late"))
	got, err = s.Account(ctx, "a")
	must(t, err)
	a.Password = "stronger"
	equal(t, got, a)

	// A new password ends the other sessions and voids links to set one.
	for _, h := range []string{"1", "2"} {
		must(t, s.PutSession(ctx, calendar.Session{Hash: h, Grower: "a", Data: []byte("x"), Seen: noon, Expires: noon.Add(time.Hour)}))
	}
	must(t, s.PutSession(ctx, calendar.Session{Hash: "3", Grower: "b", Data: []byte("x"), Seen: noon, Expires: noon.Add(time.Hour)}))
	must(t, s.PutTicket(ctx, calendar.Ticket{Hash: "t", Grower: "a", Expires: noon.Add(time.Hour)}))
	a.Password, a.Changed = "other", noon.Add(time.Minute)
	must(t, s.PutAccount(ctx, a, "2"))
	for h, there := range map[string]bool{"1": false, "2": true, "3": true} {
		if _, err := s.Session(ctx, h, noon); (err == nil) != there {
			t.Errorf("session %s after the change: %v", h, err)
		}
	}
	_, err = s.Ticket(ctx, "t", noon)
	want(t, err, calendar.ErrNotFound)
}

func tickets(t *testing.T, s calendar.Store) {
	ctx := context.Background()
	must(t, s.PutGrower(ctx, Grower("a")))
	until := noon.Add(time.Hour)
	mine := calendar.Ticket{Hash: "mine", Grower: "a", Expires: until}
	invitation := calendar.Ticket{Hash: "in", Mail: "new@example.org", Expires: until}
	must(t, s.PutTicket(ctx, mine))
	must(t, s.PutTicket(ctx, invitation))
	want(t, s.PutTicket(ctx, mine), calendar.ErrConflict)
	want(t, s.PutTicket(ctx, calendar.Ticket{Hash: "x", Grower: "nobody", Expires: until}), calendar.ErrNotFound)
	want(t, s.PutTicket(ctx, calendar.Ticket{Hash: "x"}), calendar.ErrInvalid)
	for _, k := range []calendar.Ticket{mine, invitation} {
		got, err := s.Ticket(ctx, k.Hash, until.Add(-1))
		must(t, err)
		equal(t, got, k)
		_, err = s.Ticket(ctx, k.Hash, until)
		want(t, err, calendar.ErrNotFound)
	}

	// Nobody uses another's ticket, one that is too old, or one of another kind.
	must(t, s.PutGrower(ctx, Grower("b")))
	want(t, s.Redeem(ctx, "mine", Account("b"), noon), calendar.ErrGone)
	want(t, s.Redeem(ctx, "mine", Account("a"), until), calendar.ErrGone)
	want(t, s.Redeem(ctx, "in", Account("a"), noon), calendar.ErrGone)
	want(t, s.Redeem(ctx, "in", calendar.Account{Mail: "m", Password: "p", Changed: noon}, noon), calendar.ErrInvalid)
	want(t, s.Join(ctx, "mine", Grower("c"), Account("c"), noon), calendar.ErrGone)
	want(t, s.Join(ctx, "in", Grower("c"), Account("a"), noon), calendar.ErrInvalid)

	// What fails uses nothing up.
	taken := Account("a")
	must(t, s.PutAccount(ctx, Account("b"), ""))
	taken.Mail = Account("b").Mail
	want(t, s.Redeem(ctx, "mine", taken, noon), calendar.ErrConflict)
	want(t, s.Join(ctx, "in", Grower("a"), Account("a"), noon), calendar.ErrConflict)

	must(t, s.Redeem(ctx, "mine", Account("a"), noon))
	want(t, s.Redeem(ctx, "mine", Account("a"), noon), calendar.ErrGone)
	must(t, s.Join(ctx, "in", Grower("c"), Account("c"), noon))
	want(t, s.Join(ctx, "in", Grower("d"), Account("d"), noon), calendar.ErrGone)
	g, err := s.Grower(ctx, "c")
	must(t, err)
	equal(t, g, Grower("c"))
	a, err := s.Account(ctx, "c")
	must(t, err)
	equal(t, a, Account("c"))
}

func sessions(t *testing.T, s calendar.Store) {
	ctx := context.Background()
	must(t, s.PutGrower(ctx, Grower("a")))
	v := calendar.Session{Hash: "1", Data: []byte{0, 1, 255}, Seen: noon, Expires: noon.Add(time.Hour)}
	must(t, s.PutSession(ctx, v))
	got, err := s.Session(ctx, "1", noon)
	must(t, err)
	equal(t, got, v)
	_, err = s.Session(ctx, "1", v.Expires)
	want(t, err, calendar.ErrNotFound)

	v.Grower, v.Data, v.Seen = "a", []byte("in"), noon.Add(time.Minute)
	must(t, s.PutSession(ctx, v))
	second := calendar.Session{Hash: "2", Grower: "a", Data: []byte{0}, Seen: noon.Add(time.Second), Expires: v.Expires}
	must(t, s.PutSession(ctx, second))
	list, err := s.Sessions(ctx, "a", noon)
	must(t, err)
	equal(t, list, []calendar.Session{v, second})
	list, err = s.Sessions(ctx, "a", v.Expires)
	must(t, err)
	equal(t, len(list), 0)
	want(t, s.PutSession(ctx, calendar.Session{Hash: "3", Grower: "nobody", Data: []byte("x"), Seen: noon, Expires: noon}), calendar.ErrNotFound)
	want(t, s.PutSession(ctx, calendar.Session{Hash: "3"}), calendar.ErrInvalid)

	must(t, s.EndSessions(ctx, "a", "2"))
	must(t, s.EndSession(ctx, "1")) // it is gone already
	list, err = s.Sessions(ctx, "a", noon)
	must(t, err)
	equal(t, list, []calendar.Session{second})
	second.Data, second.Seen, second.Expires = []byte("kept"), noon.Add(time.Minute), noon.Add(2*time.Hour)
	must(t, s.KeepSession(ctx, second))
	got, err = s.Session(ctx, "2", noon)
	must(t, err)
	equal(t, got, second)
	want(t, s.KeepSession(ctx, v), calendar.ErrNotFound) // ended, and stays so
	must(t, s.EndSession(ctx, "2"))
	_, err = s.Session(ctx, "2", noon)
	want(t, err, calendar.ErrNotFound)
}
