package feeds

import (
	"net/http"
	"strings"
	"testing"
	"time"

	"budswell/calendar"
	"budswell/climate"
	"budswell/feeds/ics/icstest"
)

var valley = calendar.Region{
	ID: "valley", Name: "The valley",
	Bands: []calendar.Band{{
		ID: "floor", Name: "Valley floor",
		Site:    climate.Site{Name: "valley", Lat: 47, Lon: 9, Elevation: 500, Zone: "Europe/Zurich"},
		Weather: climate.Weather{Frost: &climate.FrostNormal{Last: climate.MonthDay{Month: 4, Day: 25}, First: climate.MonthDay{Month: 10, Day: 15}, Mean: 9, Range: 18}},
	}},
	Groups: []string{"deciduous", "single-flush-pine"},
}

func date(y, m, d int) climate.Date { return climate.NewDate(y, time.Month(m), d) }

func TestRegionIsPublicAndHoldsNoOnesTrees(t *testing.T) {
	b := newBed(t)
	b.must(b.store.PutRegion(b.ctx(), valley))
	feed, page := b.get("/r/valley/calendar.ics"), b.get("/r/valley")
	if feed.StatusCode != http.StatusOK || feed.Header.Get("Cache-Control") != "public, max-age=3600" {
		t.Errorf("feed: %s, %s", feed.Status, feed.Header.Get("Cache-Control"))
	}
	unfolded := strings.ReplaceAll(feed.text, "\r\n ", "")
	for _, want := range []string{"SUMMARY:Repot: Deciduous trees", "SUMMARY:Repot: Single flush pines", "SOURCE;VALUE=URI:http://trees.example/r/valley/calendar.ics", "URL:http://trees.example/r/valley"} {
		if !strings.Contains(unfolded, want) {
			t.Errorf("feed lacks %q:\n%s", want, unfolded)
		}
	}
	if b.send(b.newClient(), http.MethodGet, "/r/valley", nil, "If-None-Match", page.Header.Get("ETag")).StatusCode != http.StatusNotModified {
		t.Error("the page is sent again though it did not change")
	}
	n := page.node(t)
	if got := len(find(n, "article", "class", "tree")); got != 2 {
		t.Errorf("%d groups on the page, want 2", got)
	}
	for _, a := range []answered{feed, page} {
		for _, private := range []string{"ridge maple", "old pine", "ADA", "north bench"} {
			if strings.Contains(a.text, private) {
				t.Errorf("%q is in what is public", private)
			}
		}
		if a.Header.Get("Set-Cookie") != "" {
			t.Error("a public answer sets a cookie")
		}
	}
	lobby := b.get("/")
	if links := find(lobby.node(t), "a", "href", "/r/valley"); len(links) != 1 {
		t.Errorf("the front page does not lead to the region:\n%s", lobby.text)
	}
	icstest.Check(t, map[string][]byte{"region": []byte(feed.text)})
}
