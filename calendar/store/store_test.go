package store

import (
	"context"
	"path/filepath"
	"testing"

	"budswell/calendar"
	"budswell/calendar/store/storetest"
)

func fresh(t testing.TB, dsn string) *Store {
	t.Helper()
	s, err := Open(context.Background(), dsn)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := s.Close(); err != nil {
			t.Error(err)
		}
	})
	return s
}

func TestConformance(t *testing.T) {
	t.Run("file", func(t *testing.T) {
		storetest.Run(t, func(t *testing.T) calendar.Store { return fresh(t, "sqlite:"+filepath.Join(t.TempDir(), "b.db")) })
	})
	t.Run("memory", func(t *testing.T) {
		storetest.Run(t, func(t *testing.T) calendar.Store { return fresh(t, "sqlite::memory:") })
	})
	t.Run("postgres", func(t *testing.T) {
		storetest.Postgres(t) // skips as a whole
		storetest.Run(t, func(t *testing.T) calendar.Store { return fresh(t, storetest.Postgres(t)) })
	})
}
