package feeds

import (
	"crypto/rand"
	"errors"
	"io/fs"
	"net/http"
	"reflect"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"budswell/calendar"
	"budswell/calendar/lore"
	"budswell/calendar/store"
	"budswell/climate/phenology"
)

const circle = "/clubs/quernthal-tree-circle"

// TestDemoClub: the demo's grower keeps a club whose pages all have something to show.
func TestDemoClub(t *testing.T) {
	b, _ := newDemo(t, time.Date(2026, time.November, 30, 9, 0, 0, 0, time.UTC))
	b.open()
	if a := b.page("/clubs"); len(find(a.node(t), "a", "href", circle)) != 1 {
		t.Errorf("the club is not among the grower's: %s", a.text)
	}
	club := b.page(circle)
	said := text(club.node(t))
	for _, want := range []string{
		"You are a keeper of this club.", "Mira Fennick a keeper since February 2021; this is you", "Odo Larkspindle an editor since March 2021",
		"Hesper Quillfeather a member since September 2022", "Tamsin Underbough a member since January 2024", "You share what you see of spring",
	} {
		if !strings.Contains(said, want) {
			t.Errorf("the club's page lacks %q: %s", want, said)
		}
	}
	for _, link := range []string{"/r/quernthal", circle + "/regions/quernthal", circle + "/regions/new", circle + "/lore", circle + "/pool", circle + "/members"} {
		if len(find(club.node(t), "a", "href", link)) != 1 {
			t.Errorf("the club's page does not lead to %s", link)
		}
		if a := b.page(link); a.StatusCode != http.StatusOK {
			t.Errorf("%s: %s", link, a.Status)
		}
	}
	if members := text(b.page(circle + "/members").node(t)); !strings.Contains(members, "as a member; good until 14 December 2026") {
		t.Errorf("no invitation is open: %s", members)
	}
	seen := text(b.page(circle + "/pool").node(t))
	for _, want := range []string{"Spring of 2026", "Spring of 2024", "Field maple, Acer campestre, 400 to 600 m:", "Field maple, Acer campestre, 800 to 1000 m:", "European larch, Larix decidua, 1000 to 1200 m:", "Hesper Quillfeather: Fagus sylvatica, bud swell, 15 May 2026:"} {
		if !strings.Contains(seen, want) {
			t.Errorf("what the club has seen lacks %q: %s", want, seen)
		}
	}
	pooled := map[string]bool{}
	for _, e := range b.circle() {
		pooled[e.Grower] = true
	}
	if want := map[string]bool{"demo": true, "odo": true, "hesper": true}; !reflect.DeepEqual(pooled, want) {
		t.Errorf("there are sightings of %v in the pool, want %v", pooled, want)
	}
}

// circle is the pool of the demo's club.
func (b *bed) circle() []calendar.PooledEntry {
	b.t.Helper()
	all, err := b.store.Pool(b.ctx(), "quernthal-tree-circle")
	b.must(err)
	return all
}

// TestDemoClubRule: what the club says of a rule is shown with who, when and why, and with
// what it said before; its region is planned by it, its keeper's own trees are not.
func TestDemoClubRule(t *testing.T) {
	b, _ := newDemo(t, loreDay)
	b.open()
	desk := b.page(circle + "/lore").node(t)
	cards := find(desk, "article", "class", "card")
	if len(cards) != 1 || !strings.Contains(text(cards[0]), "by Odo Larkspindle: Ten days were too long") || !strings.Contains(text(cards[0]), "The latest of: bud swell; the last frost below -3 °C.") {
		t.Errorf("what stands: %s", text(desk))
	}
	history := find(desk, "ul", "class", "history")
	if len(history) != 1 || len(find(history[0], "a", "href", circle+"/lore/versions/1")) != 1 || !strings.Contains(text(history[0]), "20 May 2024, by Mira Fennick: Roots that were cut") {
		t.Errorf("the history: %s", text(desk))
	}
	if first := text(b.page(circle + "/lore/versions/1").node(t)); !strings.Contains(first, "days: 10") || !strings.Contains(first, "common practice, no published source") {
		t.Errorf("the first version: %s", first)
	}
	r, err := b.store.Region(b.ctx(), "quernthal")
	b.must(err)
	known, err := b.server.loreOfRegion(b.ctx(), &r)
	b.must(err)
	own, err := b.server.loreOf(b.ctx(), "demo")
	b.must(err)
	if len(known.left) > 0 {
		t.Errorf("a rule of the club has a fault: %v", known.left)
	}
	there, _ := known.lore.RuleByID("repot-deciduous")
	mine, _ := own.lore.RuleByID("repot-deciduous")
	if r.Club != "quernthal-tree-circle" || len(there.Opens.Latest) != 2 || mine.Opens.Phase != phenology.BudSwell {
		t.Errorf("region of %q: repotting opens by %s there, by %s for the grower", r.Club, there.Opens.Words(), mine.Opens.Words())
	}
}

// TestDemoFellowsKeepToThemselves: nothing of the fellows shows but names to members, and
// nobody comes in as one.
func TestDemoFellowsKeepToThemselves(t *testing.T) {
	b, links := newDemo(t, time.Date(2026, time.November, 30, 9, 0, 0, 0, time.UTC))
	b.open()
	var secret, names []string
	for _, id := range []string{"odo", "hesper", "tamsin"} {
		g, err := b.store.Grower(b.ctx(), id)
		b.must(err)
		if g.KeyHash != "" || g.Email != "" {
			t.Errorf("somebody can come in as %s", g.Name)
		}
		names = append(names, g.Name)
		places, err := b.store.Places(b.ctx(), id)
		b.must(err)
		trees, err := b.store.Trees(b.ctx(), id)
		b.must(err)
		if len(places) != 1 || len(trees) < 2 {
			t.Fatalf("%s has %d places and %d trees", id, len(places), len(trees))
		}
		secret = append(secret, places[0].Site.Name)
		for i := range trees {
			secret = append(secret, trees[i].Name)
			if a := b.page("/trees/" + trees[i].ID); a.StatusCode != http.StatusNotFound {
				t.Errorf("the keeper opens %s of %s: %s", trees[i].Name, id, a.Status)
			}
		}
		if a := b.page("/places/" + places[0].ID); a.StatusCode != http.StatusNotFound {
			t.Errorf("the keeper opens the place of %s: %s", id, a.Status)
		}
	}
	secret = append(secret, "behind the hut")
	region := strings.TrimPrefix(links.Region, "http://trees.example")
	stranger := b.newClient()
	look := func(client *http.Client, path string, never []string) {
		t.Helper()
		a := b.send(client, http.MethodGet, path, nil)
		for _, s := range never {
			if strings.Contains(strings.ReplaceAll(a.text, "\r\n ", ""), s) {
				t.Errorf("%s tells of %q", path, s)
			}
		}
	}
	for _, path := range []string{"/", "/trees", "/places", "/agenda", "/years", "/messages", "/clubs", circle, circle + "/members", circle + "/pool", circle + "/lore", circle + "/regions/quernthal"} {
		look(b.client, path, secret)
	}
	hidden := append(append(secret, names...), "Mira Fennick", "Ten days were too long")
	for _, path := range []string{region, region + "/upper-alp", region + "/print", region + "/embed", region + "/calendar.ics", region + "/upper-alp.ics", circle, circle + "/pool", "/lore/rules/repot-deciduous"} {
		look(stranger, path, hidden)
	}
}

// TestDemoClubDoesNotMove: what fellows share at the start is what their first morning
// tells, so that nobody sees the pool or the region change by itself; and two demos of a day
// are the same.
func TestDemoClubDoesNotMove(t *testing.T) {
	for _, on := range []string{"2026-11-30", "2027-04-12", "2028-02-29"} {
		at, err := time.Parse(time.DateOnly, on)
		if err != nil {
			t.Fatal(err)
		}
		b, _ := newDemo(t, at.Add(9*time.Hour))
		again, _ := newDemo(t, at.Add(9*time.Hour))
		before := b.circle()
		if len(before) < 8 || !reflect.DeepEqual(before, again.circle()) {
			t.Errorf("%s: two demos have %d and %d sightings in the pool", on, len(before), len(again.circle()))
		}
		region, err := b.store.RegionChanges(b.ctx(), "quernthal")
		b.must(err)
		for _, id := range []string{"odo", "hesper", "tamsin"} {
			b.must(b.server.Morning(b.ctx(), id, nil, b.now()))
		}
		now, err := b.store.RegionChanges(b.ctx(), "quernthal")
		b.must(err)
		if now != region || !reflect.DeepEqual(b.circle(), before) {
			t.Errorf("%s: the fellows' first morning changes the pool, and the region %d times", on, now-region)
		}
	}
}

// TestDemoClubFile: what is wrong with the file of a club is told with its name.
func TestDemoClubFile(t *testing.T) {
	ground, err := lore.NewGround()
	if err != nil {
		t.Fatal(err)
	}
	good, err := fs.ReadFile(demo.Files, demo.Club)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct{ name, old, bad, want string }{
		{"a field that there is not", "name: Quernthal Tree Circle", "name: Quernthal Tree Circle\nmotto: x", "motto"},
		{"an id that cannot be", "id: quernthal-tree-circle", "id: Quernthal!", "want up to 64 small letters"},
		{"a role that there is not", "role: editor", "role: chair", `role "chair": want keeper, editor or member`},
		{"a member without a plan", "plan: quernthal-odo.yaml", "plan: nowhere.yaml", "nowhere.yaml"},
		{"founded in the last year", "founded: 2021-02-06", "founded: 2026-02-06", "founded: 2026-02-06: want a day before 2026"},
		{"a rule of the last year", "on: 2025-06-14", "on: 2026-06-14", "on of rule 2: 2026-06-14: want a day before 2026"},
		{"a day that is none", "since: 2021-03-06", "since: 2021-02-30", "2021-02-30"},
		{"a rule about nothing", "amends: true\n          opens: {at", "amends: [\n          opens: {at", "is about 0 things: want one"},
		{"a rule without a reason", "why: Ten days were too long in a late spring, and too short in an early one. It is the hard nights that we wait for.", "why: ''", "rule 2"},
	} {
		text := strings.Replace(string(good), c.old, c.bad, 1)
		if text == string(good) {
			t.Fatalf("%s: the file has no %q", c.name, c.old)
		}
		broken := demo
		broken.Files = overlaid{fstest.MapFS{demo.Club: {Data: []byte(text)}}}
		st, err := store.Open(t.Context(), "sqlite::memory:")
		if err != nil {
			t.Fatal(err)
		}
		cfg := Config{Store: st, Lore: ground.Lore(), Ground: ground, Base: "http://trees.example", Now: func() time.Time { return loreDay }, Random: rand.Reader}
		_, err = LoadDemo(t.Context(), cfg, broken)
		if err == nil || !strings.Contains(err.Error(), demo.Club) || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v", c.name, err)
		}
		if err := st.Close(); err != nil {
			t.Error(err)
		}
	}
}

// overlaid is the demo's files with some in the place of others.
type overlaid struct{ over fstest.MapFS }

func (o overlaid) Open(name string) (fs.File, error) {
	f, err := o.over.Open(name)
	if errors.Is(err, fs.ErrNotExist) {
		return demo.Files.Open(name)
	}
	return f, err
}
