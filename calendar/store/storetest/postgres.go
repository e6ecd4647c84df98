package storetest

import (
	"crypto/rand"
	"database/sql"
	"errors"
	"net/url"
	"os"
	"strings"
	"testing"

	_ "github.com/jackc/pgx/v5/stdlib" // the driver "pgx"
)

// The variables by which tests find a PostgreSQL server, and by which those that
// need a store of any kind are told to use it.
const (
	serverVariable = "BUDSWELL_POSTGRES"
	bedVariable    = "BUDSWELL_BED"
)

// Postgres returns the name by which store.Open opens an empty schema of a
// PostgreSQL server, which is gone when the test ends. Where there is no server
// the test is skipped.
func Postgres(t testing.TB) (dsn string) {
	t.Helper()
	server := os.Getenv(serverVariable)
	if server == "" {
		t.Skip("no PostgreSQL server: '.ci/postgres' starts one and runs these tests, or set " + serverVariable + "=postgres://user@host/name")
	}
	address, err := url.Parse(server)
	if err != nil {
		t.Fatalf("%s: %v", serverVariable, err)
	}
	db, err := sql.Open("pgx", server)
	if err != nil {
		t.Fatal(err)
	}
	schema := "budswell_test_" + strings.ToLower(rand.Text()[:12])
	if _, err := db.Exec("create schema " + schema); err != nil {
		t.Fatalf("%s: %v", serverVariable, err)
	}
	t.Cleanup(func() {
		_, err := db.Exec("drop schema " + schema + " cascade")
		if err := errors.Join(err, db.Close()); err != nil {
			t.Error(err)
		}
	})
	q := address.Query()
	q.Set("search_path", schema)
	address.RawQuery = q.Encode()
	return address.String()
}

// Anywhere returns the name of an empty database: in memory, or on a PostgreSQL
// server where BUDSWELL_BED=postgres says so.
func Anywhere(t testing.TB) (dsn string) {
	t.Helper()
	if os.Getenv(bedVariable) == "postgres" {
		return Postgres(t)
	}
	return "sqlite::memory:"
}
