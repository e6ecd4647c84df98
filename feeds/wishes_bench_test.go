package feeds

import (
	"fmt"
	"net/http"
	"net/http/cookiejar"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"budswell/calendar"
	"budswell/calendar/store"
)

// manyTrees is a service over the demo's grower with 300 trees, hours and shows.
func manyTrees(b testing.TB) (*bed, Links) {
	b.Helper()
	st, err := store.Open(b.Context(), "sqlite::memory:")
	if err != nil {
		b.Fatal(err)
	}
	b.Cleanup(func() { _ = st.Close() })
	bed, links := demoOver(b, st, time.Date(2027, time.March, 30, 7, 0, 0, 0, time.UTC))
	trees, err := st.Trees(b.Context(), "demo")
	if err != nil {
		b.Fatal(err)
	}
	for n := len(trees); n < 300; n++ {
		t := trees[n%len(trees)]
		t.ID, t.Name = fmt.Sprintf("%s-%d", t.ID, n), fmt.Sprintf("%s %d", t.Name, n)
		if err := st.PutTree(b.Context(), t); err != nil {
			b.Fatal(err)
		}
	}
	return bed, links
}

// BenchmarkReplan300TreesWithHours plans, chooses days and publishes a feed anew, as
// after each entry of a log.
func BenchmarkReplan300TreesWithHours(b *testing.B) {
	for _, with := range []string{"hours", "no hours", "hours and a feed of the years"} {
		b.Run(with, func(b *testing.B) {
			bed, _ := manyTrees(b)
			switch with {
			case "no hours":
				if err := bed.store.PutHours(b.Context(), "demo", nil); err != nil {
					b.Fatal(err)
				}
			case "hours and a feed of the years":
				f := calendar.Feed{ID: "years", Grower: "demo", Name: "years", TokenHash: "h", Created: bed.now(), Filter: calendar.Filter{Years: true}}
				if err := bed.store.PutFeed(b.Context(), f); err != nil {
					b.Fatal(err)
				}
			}
			if err := bed.server.replan(b.Context(), "demo", bed.now()); err != nil {
				b.Fatal(err)
			}
			n := 0
			b.ReportAllocs()
			for b.Loop() {
				n++
				e := calendar.Entry{On: date(2027, 3, 29), Saw: "bud-swell", Note: fmt.Sprint(n)}
				if err := bed.store.AddEntry(b.Context(), "demo", "ridge-maple", e); err != nil {
					b.Fatal(err)
				}
				if err := bed.server.replan(b.Context(), "demo", bed.now()); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

// BenchmarkPages300TreesWithHours shows pages from what is planned.
func BenchmarkPages300TreesWithHours(b *testing.B) {
	bed, links := manyTrees(b)
	server := httptest.NewServer(bed.server.Handler())
	b.Cleanup(server.Close)
	jar, err := cookiejar.New(nil)
	if err != nil {
		b.Fatal(err)
	}
	client := &http.Client{Jar: jar}
	get := func(b *testing.B, path string) {
		b.Helper()
		a, err := client.Get(server.URL + path)
		if err != nil || a.StatusCode != http.StatusOK {
			b.Fatal(a, err)
		}
		_ = a.Body.Close()
	}
	get(b, strings.TrimPrefix(links.Page, "http://trees.example"))
	for _, path := range []string{"/", "/trees", "/trees?find=larch", "/years", "/trees/ridge-maple", "/agenda", "/agenda?more=2027-04-03", "/shows"} {
		b.Run(path, func(b *testing.B) {
			get(b, path)
			for b.Loop() {
				get(b, path)
			}
		})
	}
}
