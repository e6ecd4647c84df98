package store

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"budswell/calendar"
	"budswell/calendar/store/storetest"
	"budswell/climate"
)

// furnished is a database with something in every table that outlasts a
// transaction, and with values that engines may take for others.
func furnished(t *testing.T, dsn string) *Store {
	t.Helper()
	ctx := t.Context()
	s := fresh(t, dsn)
	for _, g := range []string{"ada", "Bea ß木", "z"} {
		storetest.Settle(t, s, g)
	}
	must := func(err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
	}
	must(s.PutClub(ctx, storetest.Club("ridge")))
	must(s.PutMember(ctx, storetest.Member("ridge", "ada", calendar.Keeper)))
	sharing := storetest.Member("ridge", "Bea ß木", calendar.Plain)
	sharing.Shares = true
	must(s.PutMember(ctx, sharing))
	tells := storetest.Telling("Bea ß木", "maple", climate.NewDate(2026, 4, 2))
	_, err := s.PutTellings(ctx, "Bea ß木", []calendar.Telling{tells})
	must(err)
	must(s.SetAside(ctx, calendar.Aside{Club: "ridge", Grower: tells.Grower, Species: tells.Species, Phase: tells.Phase, On: tells.On, Keeper: "ada", At: evening}))
	must(s.PutTicket(ctx, calendar.Ticket{Hash: "into the club", Expires: evening.AddDate(1, 0, 0), Club: "ridge", Role: calendar.Plain, By: "ada"}))
	must(s.Follow(ctx, "ada", "ridge", true))
	_, err = s.Amend(ctx, calendar.Amendment{Whose: calendar.Whose{Grower: "ada"}, Subject: "rule a-b", At: evening, Who: "ada", Why: "ß木", Text: "rules: []"}, 0)
	must(err)
	must(s.PutRegion(ctx, calendar.Region{ID: "valley", Name: "Valley", Club: "ridge", Species: []string{"Acer campestre"}, Bands: []calendar.Band{storetest.Band("floor", 400), storetest.Band("slope", 0)}}))
	lent, err := s.Region(ctx, "valley")
	must(err)
	lent.Bands[0].Lent, lent.Bands[1].Lent = &calendar.Lent{Grower: "ada", Place: "bench"}, &calendar.Lent{}
	must(s.PutRegion(ctx, lent))
	must(s.PutEdition(ctx, growerOwner("ada"), calendar.Edition{
		Number: 1 << 40, Day: climate.NewDate(2026, 4, 12), Starts: evening, Ends: evening,
		Bodies: []calendar.Body{{Name: "f", Plain: []byte("\x00\xff\r\n"), Packed: []byte{}}},
		Shown:  []calendar.Shown{{Revision: calendar.Revision{UID: "1", Modified: evening}, Changed: 1 << 40, Gone: true, State: `{"a":"\u0000 \\ ' \""}`}},
	}, 0))
	must(s.PutPassword(ctx, calendar.Password{ID: "p", Grower: "ada", Hash: "h", Created: evening}))
	must(s.AddWebhook(ctx, calendar.Webhook{Grower: "ada", ID: "w", URL: "https://example.org", Secret: "s", Created: evening}))
	must(s.PutPreferences(ctx, "ada", calendar.DefaultPreferences()))
	must(s.PutLocale(ctx, "ada", calendar.Locale{Language: "de", Temperature: calendar.Fahrenheit}))
	must(s.Tell(ctx, "ada", []calendar.ToldDay{{Key: "k", On: climate.NewDate(2026, 4, 12)}}, evening))
	must(s.PutShows(ctx, "ada", []calendar.Show{{Name: "hall", On: climate.NewDate(2028, 2, 12), Look: calendar.WinterSilhouette, Trees: []string{"maple"}}}))
	must(s.PutWeatherSources(ctx, "ada", "bench", []calendar.WeatherSource{{Kind: "file", At: "x.csv"}}))
	_, err = s.PutReadings(ctx, "ada", "bench", climate.Series{Source: "model", Kind: climate.Analysis, Readings: []climate.Reading{{On: climate.NewDate(2026, 4, 1), Tmin: -0.5, Tmax: 2, Got: evening}}}, false)
	must(err)
	_, err = s.TakeLease(ctx, "mornings", evening, evening, evening.Add(1))
	must(err)
	n := storetest.Nudge("ada", "linked", 3)
	n.Links = []calendar.Link{{Hash: "lh", Grower: "ada", Nudge: "linked", Secret: "s", Does: "repot", Label: "done", Trees: []string{"maple"}, Expires: evening}}
	_, err = s.Decide(ctx, []calendar.Nudge{n})
	must(err)
	must(s.UseLink(ctx, "lh", []calendar.LinkUse{{Tree: "maple", Entry: calendar.Entry{On: climate.NewDate(2026, 4, 5), Did: "repot"}}}, evening.AddDate(-1, 0, 0)))
	_, err = s.TakeBack(ctx, "lh", evening.AddDate(-1, 0, 0))
	must(err)
	storetest.Settle(t, s, "gone")
	must(s.DeleteGrower(ctx, "gone", evening))
	return s
}

// dump writes all that a database holds, row by row, and its digest as Move takes it.
func dump(t *testing.T, s *Store) (rows map[string][]string, digest string) {
	t.Helper()
	rows = map[string][]string{}
	h := sha256.New()
	err := s.read(t.Context(), "dump", func(x tx) error {
		tables, err := x.tables()
		if err != nil {
			return err
		}
		for i := range tables {
			if _, err := x.eachRow(h, &tables[i], func(values []any) error {
				rows[tables[i].name] = append(rows[tables[i].name], fmt.Sprintf("%#v", values))
				return nil
			}); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return rows, hex.EncodeToString(h.Sum(nil))
}

// TestMove goes from SQLite to PostgreSQL and back, or where there is no server
// only from file to file: the same rows, and a database that can be used.
func TestMove(t *testing.T) {
	for name, between := range map[string]func(t *testing.T) string{
		"file":     func(t *testing.T) string { return "sqlite:" + filepath.Join(t.TempDir(), "between.db") },
		"postgres": func(t *testing.T) string { return storetest.Postgres(t) },
	} {
		t.Run(name, func(t *testing.T) {
			ctx := t.Context()
			other := between(t)
			first, last := filepath.Join(t.TempDir(), "a.db"), filepath.Join(t.TempDir(), "c.db")
			s := furnished(t, "sqlite:"+first)
			want, digest := dump(t, s)
			for table, rows := range want {
				if len(rows) == 0 && table != "leaving" {
					t.Errorf("nothing in %s: the test is too small", table)
				}
			}
			there, err := Move(ctx, "sqlite:"+first, other)
			if err != nil {
				t.Fatal(err)
			}
			back, err := Move(ctx, other, "sqlite:"+last)
			if err != nil {
				t.Fatal(err)
			}
			if there != back || there.Digest != digest || there.Rows < 80 {
				t.Errorf("there %+v, back %+v, digest %s", there, back, digest)
			}
			t.Logf("measured: %s and back: %d rows, sha256 %s", name, there.Rows, there.Digest)
			for _, dsn := range []string{other, "sqlite:" + last} {
				s := fresh(t, dsn)
				got, again := dump(t, s)
				if d := cmp.Diff(want, got); d != "" || again != digest {
					t.Errorf("%s: (-want +got)\n%s", dsn, d)
				}
				// What is numbered goes on, logs are locked, and growers can leave.
				storetest.Settle(t, s, "new")
				if _, err := s.writer.Exec("delete from log"); err == nil {
					t.Error("the log can be shortened")
				}
				if err := s.DeleteGrower(ctx, "ada", evening); err != nil {
					t.Error(err)
				}
				if err := s.Ready(ctx); err != nil {
					t.Error(err)
				}
			}
		})
	}
}

// TestMoveRefused changes nothing.
func TestMoveRefused(t *testing.T) {
	ctx := context.Background()
	path, s := settled(t)
	from := "sqlite:" + path
	other, taken := settled(t)
	_, before := dump(t, taken)
	if _, err := Move(ctx, from, "sqlite:"+other); err == nil || !strings.Contains(err.Error(), "it is not empty") {
		t.Errorf("onto a database in use: %v", err)
	}
	if _, after := dump(t, taken); after != before {
		t.Error("it was changed")
	}
	text := filepath.Join(t.TempDir(), "text")
	if err := os.WriteFile(text, bytes.Repeat([]byte("mine\n"), 100), 0o600); err != nil {
		t.Fatal(err)
	}
	missing := filepath.Join(t.TempDir(), "missing.db")
	for name, c := range map[string][2]string{
		"from nothing":        {"sqlite:" + missing, "sqlite:" + filepath.Join(t.TempDir(), "new.db")},
		"from something else": {"sqlite:" + text, "sqlite:" + filepath.Join(t.TempDir(), "new.db")},
		"to something else":   {from, "sqlite:" + text},
		"to nowhere":          {from, "elsewhere:x"},
		"to itself":           {from, from},
	} {
		if _, err := Move(ctx, c[0], c[1]); err == nil {
			t.Errorf("%s: done", name)
		}
	}
	if _, err := os.Stat(missing); err == nil {
		t.Error("a slip in the name made a database")
	}
	// A row that cannot arrive: nothing does.
	if _, err := s.writer.Exec("insert into growers (id, name, email) values ('broken', x'ff', '')"); err != nil {
		t.Fatal(err)
	}
	empty := "sqlite:" + filepath.Join(t.TempDir(), "empty.db")
	if _, err := s.writer.Exec("update growers set name = cast(x'ff' as text) where id = 'broken'"); err != nil {
		t.Fatal(err)
	}
	if _, err := Move(ctx, from, empty); err == nil || !strings.Contains(err.Error(), "growers") {
		t.Errorf("a text that is none: %v", err)
	}
	e := fresh(t, empty)
	if rows, _ := dump(t, e); len(rows) != 0 {
		t.Errorf("half of it arrived: %v", rows)
	}
}
