package store

import (
	"bytes"
	"context"
	"fmt"
	"path/filepath"
	"testing"
	"time"

	"budswell/calendar"
	"budswell/calendar/store/storetest"
	"budswell/climate"
)

// FuzzUnpack wants that a packed year either is refused or is what its days pack to.
func FuzzUnpack(f *testing.F) {
	f.Add([]byte{})
	f.Add([]byte{1})
	f.Add([]byte{2, 0, 0})
	f.Add(pack(storetest.Place("a", "1", 3).Weather.Record.Days))
	f.Add(append(pack(make([]climate.Day, 1)), 9))
	f.Fuzz(func(t *testing.T, b []byte) {
		days, err := unpack(nil, b)
		if err != nil {
			return
		}
		if again := pack(days); !bytes.Equal(again, b) {
			t.Fatalf("%x unpacks to what packs to %x", b, again)
		}
	})
}

func TestDamagedWeatherIsToldOf(t *testing.T) {
	ctx := context.Background()
	for _, statement := range []string{
		"update weather set days = x'02' where year = 1990",
		"update weather set days = substr(days, 1, 400) where year = 1990",
		"delete from weather where year = 1990",
		"update sites set record_first = '1987-01-01'",
		"update sites set record_first = 'soon'",
	} {
		s := fresh(t, "sqlite:"+filled(t))
		if _, err := s.writer.Exec(statement); err != nil {
			t.Fatal(err)
		}
		if _, err := s.Places(ctx, "a"); err == nil {
			t.Errorf("after %q the weather was read without an error", statement)
		}
	}
}

// A morning that adds a day rewrites this year and no other.
func TestOnlyChangedYearsAreWritten(t *testing.T) {
	ctx := context.Background()
	s := fresh(t, "sqlite::memory:")
	if err := s.PutGrower(ctx, storetest.Grower("a")); err != nil {
		t.Fatal(err)
	}
	p := storetest.Place("a", "1", 3000)
	whole := p.Weather.Record
	p.Weather.Record = whole.Until(whole.Last() - 1)
	if err := s.PutPlace(ctx, p); err != nil {
		t.Fatal(err)
	}
	if _, err := s.writer.Exec(`create table written (year integer);
		create trigger note_insert after insert on weather begin insert into written values (new.year); end;
		create trigger note_update after update on weather begin insert into written values (new.year); end`); err != nil {
		t.Fatal(err)
	}
	p.Weather.Record = whole
	for range 2 {
		if err := s.PutPlace(ctx, p); err != nil {
			t.Fatal(err)
		}
	}
	var n, year int
	if err := s.reader.QueryRow("select count(*), max(year) from written").Scan(&n, &year); err != nil {
		t.Fatal(err)
	}
	if n != 1 || year != whole.Last().Year() {
		t.Errorf("%d years were written, the last %d; want only %d", n, year, whole.Last().Year())
	}
}

// long is 38 years of days.
const long = 14000

func benchStore(b *testing.B) (*Store, calendar.Place) {
	s := fresh(b, "sqlite:"+filepath.Join(b.TempDir(), "b.db"))
	if err := s.PutGrower(context.Background(), storetest.Grower("a")); err != nil {
		b.Fatal(err)
	}
	return s, storetest.Place("a", "1", long)
}

// BenchmarkPutPlace keeps 38 years of weather: all of it, where only a day was
// added, and, to compare with, as one row for each day.
func BenchmarkPutPlace(b *testing.B) {
	ctx := context.Background()
	b.Run("new", func(b *testing.B) {
		s, p := benchStore(b)
		for i := 0; b.Loop(); i++ {
			p.ID = fmt.Sprint(i)
			if err := s.PutPlace(ctx, p); err != nil {
				b.Fatal(err)
			}
		}
	})
	b.Run("one more day", func(b *testing.B) {
		s, p := benchStore(b)
		whole := p.Weather.Record
		for i := 0; b.Loop(); i++ {
			p.Weather.Record = whole.Until(whole.Last() - climate.Date(i%300))
			if err := s.PutPlace(ctx, p); err != nil {
				b.Fatal(err)
			}
		}
	})
	b.Run("row for each day", func(b *testing.B) {
		s, p := benchStore(b)
		if _, err := s.writer.Exec(`create table days (site integer, day text, tmin real, tmax real, prcp real,
			tmin_origin integer, tmax_origin integer, prcp_origin integer, primary key (site, day))`); err != nil {
			b.Fatal(err)
		}
		for i := 0; b.Loop(); i++ {
			if err := s.write(ctx, "put", func(t tx) error { return t.putRows(i, p.Weather.Record) }); err != nil {
				b.Fatal(err)
			}
		}
	})
}

// putRows is the way not taken, kept to be measured.
func (t tx) putRows(site int, r *climate.Record) error {
	insert, err := t.PrepareContext(t.ctx, "insert into days values ($1, $2, $3, $4, $5, $6, $7, $8)")
	if err != nil {
		return err
	}
	defer insert.Close()
	for i, d := range r.Days {
		if _, err := insert.ExecContext(t.ctx, site, (r.First + climate.Date(i)).String(), d.Tmin, d.Tmax, d.Prcp,
			d.TminOrigin, d.TmaxOrigin, d.PrcpOrigin); err != nil {
			return err
		}
	}
	return nil
}

func BenchmarkPlaces(b *testing.B) {
	ctx := context.Background()
	s, p := benchStore(b)
	if err := s.PutPlace(ctx, p); err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		got, err := s.Places(ctx, "a")
		if err != nil || len(got[0].Weather.Record.Days) != long {
			b.Fatal(err)
		}
	}
}

func BenchmarkDecide1000(b *testing.B) {
	ctx := context.Background()
	s, _ := benchStore(b)
	var nudges []calendar.Nudge
	for i := range 1000 {
		nudges = append(nudges, storetest.Nudge("a", fmt.Sprint(i), i))
	}
	round := 0
	for b.Loop() {
		for i := range nudges {
			nudges[i].ID = fmt.Sprint(round, "/", i)
			nudges[i].Subjects = []string{nudges[i].ID}
		}
		round++
		if n, err := s.Decide(ctx, nudges); err != nil || n != len(nudges) {
			b.Fatal(n, err)
		}
	}
}

// BenchmarkRevise looks at 1,200 events of which none, or all, changed, beside
// 12,000 of earlier years.
func BenchmarkRevise(b *testing.B) {
	ctx := context.Background()
	events := func(from, n int, digest string) (out []calendar.Revision) {
		for i := range n {
			out = append(out, calendar.Revision{UID: fmt.Sprint("event ", from+i), Digest: digest})
		}
		return out
	}
	for _, changed := range []bool{false, true} {
		b.Run(fmt.Sprintf("changed %v", changed), func(b *testing.B) {
			s, _ := benchStore(b)
			at := time.Date(2026, 4, 12, 5, 0, 0, 0, time.UTC)
			if _, err := s.Revise(ctx, "a", events(0, 13200, "x"), at); err != nil {
				b.Fatal(err)
			}
			for i := 0; b.Loop(); i++ {
				digest := "x"
				if changed {
					digest = fmt.Sprint(i)
				}
				if _, err := s.Revise(ctx, "a", events(12000, 1200, digest), at); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

// BenchmarkClaim takes and marks the nudges of an outbox of 10,000, most of them sent.
func BenchmarkClaim(b *testing.B) {
	ctx := context.Background()
	s, _ := benchStore(b)
	at := time.Date(2026, 4, 12, 5, 0, 0, 0, time.UTC)
	var nudges []calendar.Nudge
	for i := range 10000 {
		n := storetest.Nudge("a", fmt.Sprint(i), 0)
		if n.Decided = at; i%2 == 0 {
			n.Deliveries = nil
		}
		nudges = append(nudges, n)
	}
	if _, err := s.Decide(ctx, nudges); err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		c, err := s.Claim(ctx, calendar.ByMail, at, time.Minute)
		if err != nil {
			b.Skip("the outbox is empty: run with fewer iterations")
		}
		if err := s.Sent(ctx, c.Delivery.ID, at); err != nil {
			b.Fatal(err)
		}
	}
}
