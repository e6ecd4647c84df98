package store

import (
	"errors"
	"testing"

	"budswell/calendar"
)

// What stands in the database is checked when it is read, whoever wrote it.
func TestWishesAreCheckedWhenRead(t *testing.T) {
	s, err := Open(t.Context(), "sqlite::memory:")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = s.Close() })
	if err := s.PutGrower(t.Context(), calendar.Grower{ID: "a"}); err != nil {
		t.Fatal(err)
	}
	read := map[string]func() error{
		"shows":   func() error { _, err := s.Shows(t.Context(), "a"); return err },
		"hours":   func() error { _, err := s.Hours(t.Context(), "a"); return err },
		"promise": func() error { _, err := s.Promise(t.Context(), "a"); return err },
	}
	for _, c := range []struct {
		column, text string
		kind         error // nil: any
	}{
		{"shows", `[{"name":"n","on":"2027-01-01","look":"sideways","trees":["x"]}]`, calendar.ErrInvalid},
		{"shows", `[{"name":"n","on":"","look":"in-leaf","trees":["x"]}]`, calendar.ErrInvalid},
		{"shows", `{"broken`, nil},
		{"hours", `{"weekdays":[0,0,0,0,0,0,9999]}`, calendar.ErrInvalid},
		{"hours", `{"weekdays":[60,0,0,0,0,0,0],"away":[{"from":"2027-01-02","to":"2027-01-01"}]}`, calendar.ErrInvalid},
		{"promise", `{"version":1,"works":[{"tree":"x","key":"k","day":"2027-01-01","chance":1.5}]}`, calendar.ErrInvalid},
		{"promise", `{"version":2,"works":[]}`, calendar.ErrInvalid},
	} {
		_, err := s.writer.ExecContext(t.Context(), "insert into wishes (grower, "+c.column+") values ('a', $1) on conflict (grower) do update set "+c.column+" = excluded."+c.column, c.text)
		if err != nil {
			t.Fatal(err)
		}
		if err := read[c.column](); err == nil || c.kind != nil && !errors.Is(err, c.kind) {
			t.Errorf("%s %s: error %v, want %v", c.column, c.text, err, c.kind)
		}
	}
}
