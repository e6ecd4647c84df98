package feeds

import (
	"compress/gzip"
	"fmt"
	"io"
	"maps"
	"net/http"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"golang.org/x/net/html"

	"budswell/calendar"
	"budswell/climate"
	"budswell/feeds/wording"
)

// private fills the service with people, trees and secrets, and returns every text of theirs
// that nobody else may read.
func (b *bed) private() []string {
	b.t.Helper()
	secret, hash, err := NewSecret(b.server.cfg.Random)
	b.must(err)
	b.must(b.store.PutGrower(b.ctx(), calendar.Grower{ID: "zzgrower", Name: "Zzwanda Zzquill", Email: "zzmail@zz.example", KeyHash: hash}))
	site := climate.Site{Name: "zzplace behind the mill", Lat: 47.051234, Lon: 8.905678, Elevation: 561, Zone: "Europe/Zurich"}
	frost := &climate.FrostNormal{Last: climate.MonthDay{Month: 4, Day: 25}, First: climate.MonthDay{Month: 10, Day: 15}, Mean: 9, Range: 18}
	b.must(b.store.PutPlace(b.ctx(), calendar.Place{ID: "zzplace", Grower: "zzgrower", Site: site, Weather: climate.Weather{Frost: frost}}))
	b.must(b.store.PutTree(b.ctx(), calendar.Kept{Grower: "zzgrower", Place: "zzplace", Tree: calendar.Tree{
		ID: "zztree", Name: "zztree of the gorge", Species: "Acer campestre", Origin: calendar.Collected, Note: "zznote: dug at night",
		Log: []calendar.Entry{{On: date(2027, 3, 1), Did: "collect", Note: "zzlog: nobody knows"}},
	}}))
	feed := b.addFeed("zzgrower", "zzfeed", calendar.Filter{})
	b.must(b.store.PutClub(b.ctx(), calendar.Club{ID: "zzclub", Name: "Zz Club", Founded: b.now()}))
	b.must(b.store.PutMember(b.ctx(), calendar.Member{Club: "zzclub", Grower: "zzgrower", Role: calendar.Keeper, Since: b.now(), Shares: true}))
	out := []string{"zz", "Zz", "47.05", "8.90", "8.9,", secret, hash, feed, HashSecret(feed), "Mira", "Fennick"}
	growers, err := b.store.Growers(b.ctx())
	b.must(err)
	for _, g := range growers {
		out = append(out, g.Name, g.KeyHash)
		if g.Email != "" {
			out = append(out, g.Email)
		}
		trees, err := b.store.Trees(b.ctx(), g.ID)
		b.must(err)
		for i := range trees {
			out = append(out, trees[i].Name, trees[i].ID)
			if trees[i].Note != "" {
				out = append(out, trees[i].Note)
			}
			for _, e := range trees[i].Log {
				if e.Note != "" {
					out = append(out, e.Note)
				}
			}
		}
		feeds, err := b.store.Feeds(b.ctx(), g.ID)
		b.must(err)
		for _, f := range feeds {
			out = append(out, f.ID, f.TokenHash, f.Name)
		}
		places, err := b.store.Places(b.ctx(), g.ID)
		b.must(err)
		for _, p := range places {
			out = append(out, p.Site.Name, fmt.Sprint(p.Site.Lat))
		}
	}
	return slices.DeleteFunc(out, func(s string) bool { return s == "" })
}

// lendZz lets a band have its weather from the private place, of whose weather all names are
// private too, and returns what else nobody may read.
func (b *bed) lendZz(r *calendar.Region) []string {
	b.t.Helper()
	b.server.cfg.Credit = func(w calendar.WeatherSource) (string, string) {
		return "Weather by " + w.Kind + w.At, "https://terms.example/" + w.Kind + w.At
	}
	i := slices.IndexFunc(r.Bands, func(v calendar.Band) bool { return v.ID == "south-terraces" })
	r.Bands[i].Lent = &calendar.Lent{Grower: "zzgrower", Place: "zzplace"}
	today, height := climate.DateOf(b.now()), 561.0
	r.Bands[i].Weather.Record = r.Bands[i].Weather.Record.Until(today - 30) // from when on the band has none of its own
	p, err := b.store.Place(b.ctx(), "zzgrower", "zzplace")
	b.must(err)
	p.Weather.Record = &climate.Record{Source: "zzfile.csv", First: today - 40, Notes: []string{"zzrefused"}, Days: []climate.Day{{Tmin: 1, Tmax: 9, TminOrigin: climate.Measured, TmaxOrigin: climate.Measured}}}
	b.must(b.store.PutPlace(b.ctx(), p))
	b.must(b.store.PutWeatherSources(b.ctx(), "zzgrower", "zzplace", []calendar.WeatherSource{
		{Grower: "zzgrower", Place: "zzplace", Kind: calendar.SourceOpenMeteo},
		{Grower: "zzgrower", Place: "zzplace", Kind: calendar.SourceStation, At: "https://zzstation.example/zz.csv", Elevation: &height},
		{Grower: "zzgrower", Place: "zzplace", Kind: calendar.SourceFolder, At: "/zzhome/zz.csv"},
	}))
	for _, v := range []climate.Series{
		steady("Open-Meteo archive", climate.Analysis, today-30, today-5, 1), steady("Open-Meteo forecast", climate.Foretold, today-4, today+10, 2),
		steady("zz.csv", climate.FromStation, today-35, today-32, 1), steady("zzshed.csv", climate.OwnReading, today-20, today-2, 3),
	} {
		v.Elevation = &height
		_, err := b.store.PutReadings(b.ctx(), "zzgrower", "zzplace", v, false)
		b.must(err)
	}
	return []string{"561 m", "561.0", "own reading", calendar.SourceStation + "https", calendar.SourceFolder}
}

// told finds what of the private texts is in an answer, its headers among it.
func told(a answered, private []string) []string {
	var all strings.Builder
	for name, values := range a.Header {
		if name != "X-Request-Id" {
			fmt.Fprintln(&all, name, values)
		}
	}
	content := a.text
	if a.Header.Get("Content-Encoding") == "gzip" && content != "" {
		z, err := gzip.NewReader(strings.NewReader(content))
		if err != nil {
			return []string{err.Error()}
		}
		plain, err := io.ReadAll(z)
		if err != nil {
			return []string{err.Error()}
		}
		content = string(plain)
	}
	all.WriteString(strings.ReplaceAll(content, "\r\n ", ""))
	text := all.String()
	for _, c := range a.Cookies() {
		text = strings.ReplaceAll(text, c.Value, "") // letters by chance
	}
	var out []string
	for _, p := range private {
		if strings.Contains(text, p) {
			out = append(out, p)
		}
	}
	return out
}

var linkIn = regexp.MustCompile(`(?:href|src|value|action)="([^"]+)"|(?m)^(?:URL|SOURCE;VALUE=URI):(\S+)`)

// TestNothingPrivateIsPublished goes as a stranger wherever the region's public addresses
// lead, and where they do not, and reads all that comes back.
func TestNothingPrivateIsPublished(t *testing.T) {
	b, _ := newDemo(t, time.Date(2027, time.April, 12, 7, 0, 0, 0, time.UTC))
	r, err := b.store.Region(b.ctx(), "quernthal")
	b.must(err)
	private := b.private()
	r.Club = "zzclub" // whose name is its own until it publishes under it
	private = append(private, b.lendZz(&r)...)
	b.must(b.store.PutRegion(b.ctx(), r))

	seen := map[string]answered{}
	next := []string{"/", "/r/quernthal", "/r/quernthal/embed", "/r/quernthal/print", "/sign-in"}
	for len(next) > 0 {
		path := next[0]
		if next = next[1:]; seen[path].Response != nil {
			continue
		}
		a := b.get(path)
		seen[path] = a
		if !strings.HasPrefix(path, "/r/") {
			continue // the way in is no part of a region
		}
		for _, m := range linkIn.FindAllStringSubmatch(strings.ReplaceAll(a.text, "\r\n ", ""), -1) {
			to := strings.TrimPrefix(strings.Replace(m[1]+m[2], "webcal:", "http:", 1), "http://trees.example")
			if to, _, _ = strings.Cut(to, "#"); strings.HasPrefix(to, "/") {
				next = append(next, to)
			}
		}
	}
	for _, want := range []string{"/r/quernthal/valley-floor", "/r/quernthal/upper-alp.ics", "/r/quernthal/for/carpinus-betulus.ics", "/r/quernthal/calendar.ics"} {
		if seen[want].Response == nil || seen[want].StatusCode != http.StatusOK {
			t.Errorf("a stranger does not come to %s", want)
		}
	}
	// Whose weather it is stands wherever dates made from it do; it rests on that.
	for _, path := range []string{"/r/quernthal", "/r/quernthal/south-terraces", "/r/quernthal/print", "/r/quernthal/embed", "/r/quernthal/calendar.ics", "/r/quernthal/south-terraces.ics", "/r/quernthal/for/carpinus-betulus.ics"} {
		if text := strings.ReplaceAll(seen[path].text, "\r\n ", ""); !strings.Contains(text, "Weather by open-meteo") {
			t.Errorf("%s does not say whose weather it is", path)
		}
	}
	if band := seen["/r/quernthal/south-terraces"].text; !strings.Contains(band, "from a member&#39;s place (analysis)") || !strings.Contains(band, `href="https://terms.example/open-meteo"`) {
		t.Errorf("the band does not take its weather from the place: %q", basisIn(seen["/r/quernthal/south-terraces"].node(t)))
	}
	if other := seen["/r/quernthal/upper-alp"].text; strings.Contains(other, "a member&#39;s place") || strings.Contains(other, "Weather by") {
		t.Error("nor does it go over another band")
	}
	for path, a := range seen {
		if strings.HasPrefix(path, "/r/") && (a.StatusCode != http.StatusOK || a.Header.Get("Set-Cookie") != "" || a.Header.Get("ETag") == "" || !strings.HasPrefix(a.Header.Get("Cache-Control"), "public")) {
			t.Errorf("%s: %s, headers %v", path, a.Status, a.Header)
		}
		if found := told(a, private); len(found) > 0 {
			t.Errorf("%s tells %q", path, found)
		}
		for _, how := range [][]string{{http.MethodHead}, {http.MethodGet, "If-None-Match", a.Header.Get("ETag")}, {http.MethodGet, "Accept-Encoding", "gzip"}, {http.MethodPost}, {"PROPFIND"}} {
			if found := told(b.send(b.newClient(), how[0], path, nil, how[1:]...), private); len(found) > 0 {
				t.Errorf("%v %s tells %q", how, path, found)
			}
		}
	}
	for _, path := range oddPaths() {
		a := b.get(path)
		if found := told(a, private); len(found) > 0 || a.StatusCode >= http.StatusInternalServerError || a.StatusCode == http.StatusOK {
			t.Errorf("%s: %s, tells %q", path, a.Status, found)
		}
	}
	for _, l := range wording.Languages() {
		files, err := b.server.Still(b.ctx(), wording.In(calendar.Locale{Language: l.Tag}, ""))
		b.must(err)
		for _, f := range files {
			if found := told(answered{&http.Response{}, f.Path + "\n" + string(f.Bytes)}, private); len(found) > 0 {
				t.Errorf("file %s in %s tells %q", f.Path, l.Tag, found)
			}
		}
	}
}

// basisIn returns what a page says of what its dates rest on.
func basisIn(n *html.Node) (out []string) {
	for _, p := range find(n, "p", "class", "basis") {
		out = append(out, text(p))
	}
	return out
}

// oddPaths are those that nobody was given.
func oddPaths() []string {
	out := []string{
		"/r/", "/r/quernthal/", "/r/quernthal/.ics", "/r/quernthal/calendar", "/r/quernthal/feed", "/r/quernthal/page", "/r/quernthal/for", "/r/quernthal/for/", "/r/quernthal/for/deciduous",
		"/r/quernthal/for/.ics", "/r/quernthal/for/shrubs.ics", "/r/quernthal/print.ics", "/r/quernthal/embed.ics", "/r/quernthal/index.html", "/r/quernthal/for/..%2fcalendar.ics",
		"/r/quernthal/../zzgrower", "/r/quernthal%2fcalendar.ics", "/r/%00", "/r/quernthal/%00", "/r/quernthal/valley-floor/x", "/r/QUERNTHAL", "/r/zzclub", "/r/zzgrower", "/r/grower zzgrower", "/r/grower%20zzgrower",
		"/r/demo", "/r/" + strings.Repeat("a", 300), "/r/quernthal/" + strings.Repeat("a", 300) + ".ics", "/r/quernthal/feed%20zzfeed", "/r/quernthal/feed%20zzfeed.ics",
	}
	for i, p := range out {
		out[i] = strings.ReplaceAll(p, " ", "%20")
	}
	return out
}

// TestAbsentIsAbsent: what was never there, what is no more, and a part that a region has not are
// answered alike.
func TestAbsentIsAbsent(t *testing.T) {
	b := newBed(t)
	b.must(b.store.PutRegion(b.ctx(), valley))
	was := valley
	was.ID = "was"
	b.must(b.store.PutRegion(b.ctx(), was))
	b.get("/r/was")
	b.must(b.store.EndRegion(b.ctx(), "was"))
	bare := func(path string) string {
		a := b.get(path)
		h := a.Header.Clone()
		for _, name := range []string{"Date", "X-Request-Id"} {
			h.Del(name)
		}
		var headers []string
		for _, name := range slices.Sorted(maps.Keys(h)) {
			headers = append(headers, name+": "+strings.Join(h[name], ", "))
		}
		return a.Status + "\n" + strings.Join(headers, "\n") + "\n" + a.text
	}
	for absent, others := range map[string][]string{
		"/r/nosuch":              {"/r/was", "/r/nosuch/band", "/r/was/floor", "/r/valley/nosuch", "/r/nosuch/print", "/r/was/print", "/r/was/embed", "/r/ada", "/r/Valley"},
		"/r/nosuch/calendar.ics": {"/r/was/calendar.ics", "/r/valley/nosuch.ics", "/r/was/floor.ics", "/r/valley/for/nosuch.ics", "/r/nosuch/for/deciduous.ics", "/r/ada/calendar.ics"},
	} {
		want := bare(absent)
		if !strings.HasPrefix(want, "404") {
			t.Errorf("%s: %s", absent, want)
		}
		for _, path := range others {
			if got := bare(path); got != want {
				t.Errorf("%s differs from %s:\n%s\n%s", path, absent, got, want)
			}
		}
	}
}

// TestFrameMayBeFramed: that page alone, and nothing runs or leads away in it.
func TestFrameMayBeFramed(t *testing.T) {
	b := newBed(t)
	b.must(b.store.PutRegion(b.ctx(), valley))
	for path, framed := range map[string]bool{"/r/valley": false, "/r/valley/print": false, "/r/valley/embed": true, "/r/valley/embed/x": false, "/r/nosuch/embed": false, "/": false, "/sign-in": false} {
		a := b.get(path)
		policy, deny := a.Header.Get("Content-Security-Policy"), a.Header.Get("X-Frame-Options")
		if framed != strings.Contains(policy, "frame-ancestors *") || framed == (deny == "DENY") || framed == strings.Contains(policy, "frame-ancestors 'none'") {
			t.Errorf("%s: %q, %q", path, policy, deny)
		}
	}
	page := b.get("/r/valley/embed")
	n := page.node(t)
	for _, a := range find(n, "a", "", "") {
		if attr(a, "href") != "http://trees.example/r/valley" {
			t.Errorf("it leads to %s", attr(a, "href"))
		}
	}
	if len(find(n, "script", "", ""))+len(find(n, "form", "", ""))+len(find(n, "iframe", "", "")) > 0 || page.Header.Get("Set-Cookie") != "" {
		t.Error("it runs, sends or keeps something")
	}
}
