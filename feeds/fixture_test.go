package feeds

import (
	"bytes"
	"context"
	"io"
	"log/slog"
	"math/rand/v2"
	"net/http"
	"net/http/cookiejar"
	"net/http/httptest"
	"net/url"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"golang.org/x/net/html"

	"budswell/calendar"
	"budswell/calendar/store"
	"budswell/calendar/store/storetest"
	"budswell/climate"
	"budswell/climate/phenology"
)

// bed is a service over an empty database, with plans made by hand and a clock
// that the test turns.
type bed struct {
	t      *testing.T
	server *Server
	http   *httptest.Server
	store  calendar.Store
	clock  atomic.Int64 // seconds since 1970
	plans  atomic.Int32 // how many were made
	fail   atomic.Bool  // planning fails
	log    bytes.Buffer
	key    string // secret of the grower's page
	client *http.Client
}

var knowledge = &calendar.Lore{
	Species: []calendar.Species{
		{Name: "Acer campestre", Common: []string{"field maple"}, Group: phenology.Deciduous},
		{Name: "Pinus sylvestris", Group: phenology.SingleFlushPine},
	},
	Works: []calendar.Work{
		{ID: "repot", Title: "Repot", Class: calendar.Roots, Hard: calendar.HardOnRoots},
		{ID: "wire", Title: "Wire", Class: calendar.Wire},
		{ID: "collect", Title: "Collect", Class: calendar.Collecting},
	},
}

func newBed(t *testing.T, change ...func(*Config)) *bed {
	t.Helper()
	st, err := store.Open(t.Context(), storetest.Anywhere(t))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = st.Close() })
	b := &bed{t: t, store: st}
	b.set(time.Date(2027, time.March, 1, 6, 0, 0, 0, time.UTC))
	cfg := Config{
		Store: st, Lore: knowledge, Base: "http://trees.example", Now: b.now, Random: rand.NewChaCha8([32]byte{1}),
		Log: slog.New(slog.NewTextHandler(&b.log, nil)),
	}
	for _, f := range change {
		f(&cfg)
	}
	if b.server, err = New(cfg); err != nil {
		t.Fatal(err)
	}
	b.server.planner = planner{trees: b.plan, groups: b.planGroups}
	b.http = httptest.NewServer(b.server.Handler())
	t.Cleanup(b.http.Close)
	b.grower("ada", "north")
	b.client = b.newClient()
	return b
}

func (b *bed) now() time.Time  { return time.Unix(b.clock.Load(), 0) }
func (b *bed) set(t time.Time) { b.clock.Store(t.Unix()) }
func (b *bed) must(err error) {
	b.t.Helper()
	if err != nil {
		b.t.Fatal(err)
	}
}
func (b *bed) ctx() context.Context { return b.t.Context() }

func (b *bed) newClient() *http.Client {
	jar, err := cookiejar.New(nil)
	b.must(err)
	return &http.Client{Jar: jar, Transport: &http.Transport{DisableCompression: true}}
}

// grower adds a grower with a place, a maple and a pine.
func (b *bed) grower(id, place string) {
	b.t.Helper()
	secret, hash, err := NewSecret(b.server.cfg.Random)
	b.must(err)
	b.key = secret
	b.must(b.store.PutGrower(b.ctx(), calendar.Grower{ID: id, Name: strings.ToUpper(id), KeyHash: hash}))
	site := climate.Site{Name: place + " bench", Lat: 50.1, Lon: 8.7, Elevation: 120, Zone: "Europe/Berlin"}
	frost := &climate.FrostNormal{Last: climate.MonthDay{Month: 4, Day: 25}, First: climate.MonthDay{Month: 10, Day: 15}, Mean: 9, Range: 18}
	b.must(b.store.PutPlace(b.ctx(), calendar.Place{ID: place, Grower: id, Site: site, Weather: climate.Weather{Frost: frost}}))
	for _, t := range []calendar.Tree{
		{ID: "ridge-maple", Name: "ridge maple", Species: "field maple", Origin: calendar.Collected},
		{ID: "old-pine", Name: "old pine <b>", Species: "Pinus sylvestris", Origin: calendar.Collected},
	} {
		b.must(b.store.PutTree(b.ctx(), calendar.Kept{Tree: t, Grower: id, Place: place}))
	}
}

// addFeed adds a feed and returns its secret.
func (b *bed) addFeed(grower, id string, f calendar.Filter) string {
	b.t.Helper()
	secret, hash, err := NewSecret(b.server.cfg.Random)
	b.must(err)
	b.must(b.store.PutFeed(b.ctx(), calendar.Feed{ID: id, Grower: grower, Name: "feed " + id, TokenHash: hash, Filter: f, Created: b.now()}))
	return secret
}

// plan plans by hand: each tree is repotted once, eight days after the first of
// March or a week later where it was seen to swell, and wired in autumn.
func (b *bed) plan(_ *calendar.Lore, p *calendar.Place, _ []calendar.Show, trees []calendar.Tree, on climate.Date) (*planting, error) {
	b.plans.Add(1)
	if b.fail.Load() {
		return nil, io.ErrUnexpectedEOF
	}
	out := &calendar.Plan{On: on, Site: p.Site, Basis: climate.Basis{Source: "frost dates as typed", Generated: 40}}
	for i := range trees {
		species, err := knowledge.SpeciesNamed(trees[i].Species)
		if err != nil {
			return nil, err
		}
		t := calendar.TreePlan{Tree: &trees[i], Species: species, State: calendar.State{On: on, Stage: calendar.StageBuilding, Strength: calendar.Strong}, Next: "repot at bud swell"}
		opens := climate.NewDate(2027, time.March, 9)
		for _, e := range trees[i].Log {
			if e.Saw == phenology.BudSwell {
				opens = e.On
			}
		}
		repot := handMade("repot-rule/2027", &knowledge.Works[0], opens, 20)
		repot.Cautions = []string{"Sharp tools."}
		for _, e := range trees[i].Log {
			if e.Did == "repot" {
				repot.Done = e.On
			}
		}
		wire := handMade("wire-rule/2027", &knowledge.Works[1], climate.NewDate(2027, time.October, 10), 25)
		prune := handMade("cut-rule/2027", &knowledge.Works[1], opens, 30)
		prune.Title, prune.Blocked = "Cut back", []calendar.Block{{Reason: "roots rest", Until: climate.NoDate}}
		t.Works = []calendar.Planned{repot, prune, wire}
		out.Trees = append(out.Trees, t)
	}
	return &planting{Plan: out}, nil
}

func handMade(key string, w *calendar.Work, opens climate.Date, days climate.Date) calendar.Planned {
	about := func(d climate.Date) climate.Spread { return climate.Spread{P10: d - 4, P50: d, P90: d + 6} }
	return calendar.Planned{
		Key: key, Work: w, Rule: &calendar.Rule{ID: key, Minutes: 60, Materials: []string{"pumice"}}, Title: w.Title, Due: climate.NoDate, Done: climate.NoDate,
		Window: calendar.Window{Opens: about(opens), Closes: about(opens + days), Likely: opens + 5, Certainty: 0.8, Chance: 1},
		Why:    "41 of 60 units of warmth",
	}
}

// planGroups plans by hand a region of one band.
func (b *bed) planGroups(_ *calendar.Lore, r *calendar.Region, on climate.Date) (*calendar.RegionPlan, error) {
	out := &calendar.Plan{On: on, Site: r.Bands[0].Site, Supply: climate.Supply{Until: climate.NoDate}, Basis: climate.Basis{Source: "normals as typed", Generated: 40}}
	for _, g := range r.Groups {
		t := &calendar.Tree{ID: g, Name: g}
		out.Trees = append(out.Trees, calendar.TreePlan{Tree: t, Species: &calendar.Species{Group: phenology.Group(g)}, Works: []calendar.Planned{
			handMade("repot/2027", &knowledge.Works[0], climate.NewDate(2027, time.March, 9), 20),
		}})
	}
	return &calendar.RegionPlan{On: on, Whole: out, Bands: []calendar.BandPlan{{Band: &r.Bands[0], Plan: out}}}, nil
}

// answered is an answer whose body was read.
type answered struct {
	*http.Response
	text string
}

func (b *bed) get(path string, headers ...string) answered {
	return b.send(b.newClient(), http.MethodGet, path, nil, headers...)
}

func (b *bed) send(c *http.Client, method, path string, form url.Values, headers ...string) answered {
	b.t.Helper()
	var r io.Reader
	if form != nil {
		r = strings.NewReader(form.Encode())
	}
	req, err := http.NewRequestWithContext(b.ctx(), method, b.http.URL+path, r)
	b.must(err)
	if form != nil {
		req.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	}
	for i := 0; i+1 < len(headers); i += 2 {
		req.Header.Set(headers[i], headers[i+1])
	}
	resp, err := c.Do(req)
	b.must(err)
	defer func() { _ = resp.Body.Close() }()
	text, err := io.ReadAll(resp.Body)
	b.must(err)
	return answered{resp, string(text)}
}

// open signs the grower in and returns the page.
func (b *bed) open() answered {
	b.t.Helper()
	a := b.send(b.client, http.MethodGet, "/enter/"+b.key, nil)
	if a.StatusCode != http.StatusOK {
		b.t.Fatalf("enter: %s\n%s", a.Status, a.text)
	}
	return a
}

// shown returns a page as the grower who is signed in sees it.
func (b *bed) shown(path string) answered {
	b.t.Helper()
	return b.send(b.client, http.MethodGet, path, nil)
}

// treeSays signs the grower in and returns the text of a tree's page.
func (b *bed) treeSays(tree string) string {
	b.t.Helper()
	b.open()
	return text(b.shown("/trees/" + tree).node(b.t))
}

// post sends a form with the page's token.
func (b *bed) post(path string, form url.Values) answered {
	b.t.Helper()
	page := b.send(b.client, http.MethodGet, "/", nil)
	form.Set("_csrf", attr(find(page.node(b.t), "input", "name", "_csrf")[0], "value"))
	return b.send(b.client, http.MethodPost, path, form)
}

func (a answered) node(t *testing.T) *html.Node {
	t.Helper()
	n, err := html.Parse(strings.NewReader(a.text))
	if err != nil {
		t.Fatal(err)
	}
	return n
}

// find returns the elements of a tag whose attribute key has the value (among
// its words); an empty key finds all of the tag.
func find(n *html.Node, tag, key, value string) []*html.Node {
	var out []*html.Node
	for d := range n.Descendants() {
		if d.Type != html.ElementNode || tag != "" && d.Data != tag {
			continue
		}
		if v := attr(d, key); key == "" || v == value || key == "class" && hasWord(v, value) {
			out = append(out, d)
		}
	}
	return out
}

func hasWord(s, word string) bool {
	for _, w := range strings.Fields(s) {
		if w == word {
			return true
		}
	}
	return false
}

func attr(n *html.Node, key string) string {
	for _, a := range n.Attr {
		if a.Key == key {
			return a.Val
		}
	}
	return ""
}

// text returns all text under n, its blanks made single.
func text(n *html.Node) string {
	var b strings.Builder
	for d := range n.Descendants() {
		if d.Type == html.TextNode {
			b.WriteString(d.Data)
		}
	}
	return strings.Join(strings.Fields(b.String()), " ")
}

func hasAttr(attrs []html.Attribute, key string) bool {
	for _, a := range attrs {
		if a.Key == key {
			return true
		}
	}
	return false
}
