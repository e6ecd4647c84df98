package store

import (
	"context"
	"database/sql"
	"io/fs"
	"path/filepath"
	"testing"
	"time"

	"github.com/pressly/goose/v3"

	"budswell/calendar"
)

// TestNudgesOfTheFirstSchema: what was in the outbox before nudges had several
// channels is in it afterwards, sent or not.
func TestNudgesOfTheFirstSchema(t *testing.T) {
	ctx := context.Background()
	path := filepath.Join(t.TempDir(), "old.db")
	db, err := sql.Open("sqlite", path)
	if err != nil {
		t.Fatal(err)
	}
	sources, err := fs.Sub(migrations, "migrations/sqlite")
	if err != nil {
		t.Fatal(err)
	}
	p, err := goose.NewProvider(goose.DialectSQLite3, db, sources, goose.WithLogger(goose.NopLogger()))
	if err != nil {
		t.Fatal(err)
	}
	if _, err := p.UpTo(ctx, 1); err != nil {
		t.Fatal(err)
	}
	if _, err := db.Exec(`insert into growers (id, name, email) values ('a', 'Ada', 'a@example.org');
		insert into nudges (id, grower, kind, recipient, title, body, decided, sent, attempts, given_up, error) values
		('1', 'a', 'k', 'a@example.org', 't', 'b', '2026-04-12T05:00:00.000000000Z', '2026-04-12T05:01:00.000000000Z', 2, false, 'busy'),
		('2', 'a', 'k', 'a@example.org', 't', 'b', '2026-04-11T05:00:00.000000000Z', null, 1, false, ''),
		('3', 'a', 'k', '', 't', 'b', '2026-04-10T05:00:00.000000000Z', null, 0, false, '');
		insert into subjects (grower, subject, nudge, ordinal) values ('a', 's', '1', 0), ('a', 's2', '2', 0), ('a', 's3', '3', 0)`); err != nil {
		t.Fatal(err)
	}
	if err := db.Close(); err != nil {
		t.Fatal(err)
	}

	s := fresh(t, "sqlite:"+path)
	got, err := s.Nudges(ctx, "a", 0)
	if err != nil || len(got) != 3 {
		t.Fatalf("%d nudges, %v", len(got), err)
	}
	sent := time.Date(2026, 4, 12, 5, 1, 0, 0, time.UTC)
	if d := got[0].Deliveries; len(d) != 1 || !d[0].Sent.Equal(sent) || d[0].Attempts != 2 || d[0].To != "a@example.org" || d[0].Error != "busy" {
		t.Errorf("the one that was sent: %+v", got[0])
	}
	if len(got[2].Deliveries) != 0 {
		t.Errorf("the one without an address: %+v", got[2])
	}
	c, err := s.Claim(ctx, calendar.ByMail, sent, time.Minute)
	if err != nil || c.ID != "2" || c.Delivery.Attempts != 2 {
		t.Errorf("claimed %+v, %v", c, err)
	}
}
