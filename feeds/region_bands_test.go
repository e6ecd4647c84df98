package feeds

import (
	"net/http"
	"strings"
	"testing"
	"time"

	"budswell/feeds/ics"
	"budswell/feeds/ics/icstest"
	"budswell/feeds/wording"
)

// TestFeedsOfBands: each public feed is sound, shows its part, and no event is in the feeds
// of two bands.
func TestFeedsOfBands(t *testing.T) {
	b, _ := newDemo(t, time.Date(2027, time.April, 12, 7, 0, 0, 0, time.UTC))
	files, err := b.server.Still(b.ctx(), wording.English)
	b.must(err)
	feeds := map[string][]byte{}
	uids := map[string]string{}
	for _, f := range files {
		if !strings.HasSuffix(f.Path, ".ics") {
			continue
		}
		name := strings.TrimPrefix(f.Path, "r/quernthal/")
		feeds[name] = f.Bytes
		lines := strings.Split(strings.ReplaceAll(string(f.Bytes), "\r\n ", ""), "\r\n")
		events := 0
		for _, line := range lines {
			uid, ok := strings.CutPrefix(line, "UID:")
			if !ok {
				continue
			}
			events++
			of := name
			if strings.HasPrefix(name, "for/") {
				of = "calendar.ics" // of which it is a part
			}
			if was := uids[uid]; was != "" && was != of {
				t.Errorf("%s is in %s and in %s", uid, was, of)
			}
			uids[uid] = of
		}
		if events < 5 {
			t.Errorf("%s has %d events", name, events)
		}
		text := strings.Join(lines, "\n")
		if byBand := strings.Contains(text, "South terraces: opens"); byBand != (name == "calendar.ics" || strings.HasPrefix(name, "for/")) {
			t.Errorf("%s says by band when: %t", name, byBand)
		}
	}
	if len(feeds) != 1+3+9 {
		t.Errorf("%d feeds", len(feeds))
	}
	page := b.get("/r/quernthal")
	for _, want := range []string{"Valley floor", "560 m", "South terraces", "Upper alp", "behind the middle year", "About ", "European beech (Fagus sylvatica)", "&lt;iframe src=\"http://trees.example/r/quernthal/embed"} {
		if !strings.Contains(page.text, want) {
			t.Errorf("the page lacks %q", want)
		}
	}
	n := page.node(t)
	if bars, seasons := len(find(n, "svg", "class", "window")), len(find(n, "svg", "class", "pace")); bars < 40 || seasons != 3 {
		t.Errorf("%d windows, %d seasons drawn", bars, seasons)
	}
	icstest.Check(t, feeds) // last: it may skip
}

// TestOldRegionKeepsItsEvents: the events of a region of one site are those that they were before
// there were bands, and it has no page of a band.
func TestOldRegionKeepsItsEvents(t *testing.T) {
	b := newBed(t)
	b.must(b.store.PutRegion(b.ctx(), valley))
	want := "UID:" + ics.UID("region valley", "group deciduous", "repot/2027")
	if feed := b.get("/r/valley/calendar.ics"); !strings.Contains(strings.ReplaceAll(feed.text, "\r\n ", ""), want) {
		t.Errorf("the feed lacks %s:\n%s", want, feed.text)
	}
	if a := b.get("/r/valley/floor"); a.StatusCode != http.StatusNotFound {
		t.Errorf("a page of the only band: %s", a.Status)
	}
}
