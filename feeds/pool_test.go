package feeds

import (
	"context"
	"fmt"
	"net/http"
	"slices"
	"strings"
	"testing"
	"time"

	"budswell/calendar"
	"budswell/climate"
	"budswell/climate/phenology"
)

// pooling is the demo with a club: its grower mira is a member, as is bea, who has a
// maple a little way off of which nothing was seen; cy keeps the club.
type pooling struct {
	*bed
	id            string // mira's
	mira, bea, cy *http.Client
}

func newPooling(t *testing.T) *pooling {
	t.Helper()
	b, _ := newDemo(t, time.Date(2027, time.May, 1, 7, 0, 0, 0, time.UTC))
	g, err := b.store.GrowerByKey(b.ctx(), HashSecret(b.key))
	b.must(err)
	p := &pooling{bed: b, id: g.ID, mira: b.enter(b.key)}
	places, err := b.store.Places(b.ctx(), g.ID)
	b.must(err)
	add := func(id string) *http.Client {
		secret, hash, err := NewSecret(b.server.cfg.Random)
		b.must(err)
		b.must(b.store.PutGrower(b.ctx(), calendar.Grower{ID: id, Name: strings.ToUpper(id), KeyHash: hash}))
		near := places[0]
		near.Grower, near.ID, near.Site.Name, near.Benches = id, "meadow", "meadow", nil
		near.Site.Lat, near.Site.Elevation = near.Site.Lat+0.2, near.Site.Elevation+90
		b.must(b.store.PutPlace(b.ctx(), near))
		b.must(b.store.PutTree(b.ctx(), calendar.Kept{Grower: id, Place: "meadow", Tree: calendar.Tree{ID: "own-maple", Name: "own maple", Species: "Acer campestre", Origin: calendar.Nursery}}))
		return b.enter(secret)
	}
	p.bea, p.cy = add("bea"), add("cy")
	b.must(b.store.PutClub(b.ctx(), calendar.Club{ID: "ridge", Name: "Ridge", Founded: b.now()}))
	for id, role := range map[string]calendar.Role{g.ID: calendar.Plain, "bea": calendar.Plain, "cy": calendar.Keeper} {
		b.must(b.store.PutMember(b.ctx(), calendar.Member{Club: "ridge", Grower: id, Role: role, Since: b.now()}))
	}
	r, err := b.store.Region(b.ctx(), "quernthal")
	b.must(err)
	r.ID, r.Name, r.Club = "ridge-valley", "Ridge valley", "ridge"
	b.must(b.store.PutRegion(b.ctx(), r))
	return p
}

func (b *bed) enter(key string) *http.Client {
	b.t.Helper()
	c := b.newClient()
	if a := b.look(c, "/enter/"+key); a.StatusCode != http.StatusOK {
		b.t.Fatalf("enter: %s", a.Status)
	}
	return c
}

// maple is what is forecast of bea's maple.
func (p *pooling) maple() phenology.Forecast {
	p.t.Helper()
	g, err := p.server.newest(p.ctx(), "bea")
	p.must(err)
	f, ok := g.plots[0].seasons["own-maple"].Phases[phenology.BudBreak]
	if !ok {
		p.t.Fatal("no bud break of bea's maple")
	}
	return f
}

func (p *pooling) pool() []calendar.PooledEntry {
	p.t.Helper()
	all, err := p.store.Pool(p.ctx(), "ridge")
	p.must(err)
	return all
}

func spreadOf(f phenology.Forecast) climate.Spread {
	s, _ := f.Dates.Spread()
	return s
}

// TestSharing: what one shares another learns from, and so does the club's region; what
// is taken back, or shared no more, leaves no trace in what is forecast.
func TestSharing(t *testing.T) {
	p := newPooling(t)
	regionChanges := func() int {
		n, err := p.store.RegionChanges(p.ctx(), "ridge-valley")
		p.must(err)
		return n
	}
	deciduous := func() climate.Spread {
		r, err := p.store.Region(p.ctx(), "ridge-valley")
		p.must(err)
		r.Pool, err = p.server.poolOf(p.ctx(), r.Club)
		p.must(err)
		plan, err := p.server.planner.groups(p.server.cfg.Lore, &r, climate.NewDate(2027, time.March, 1))
		p.must(err)
		for i := range plan.Whole.Trees[0].Works {
			if w := &plan.Whole.Trees[0].Works[i]; w.Work.ID == "repot" {
				return w.Window.Opens
			}
		}
		t.Fatal("no repotting of deciduous trees")
		return climate.Spread{}
	}
	before, region, repot := p.maple(), regionChanges(), deciduous()
	if len(p.pool()) != 0 {
		t.Fatal("something is shared that nobody chose to share")
	}
	if a := p.form(p.mira, "/clubs/ridge/sharing", "share", "perhaps"); a.StatusCode != http.StatusUnprocessableEntity || len(p.pool()) != 0 {
		t.Errorf("neither yes nor no: %s", a.Status)
	}
	if a := p.form(p.mira, "/clubs/ridge/sharing", "share", "yes"); a.StatusCode != http.StatusOK || !strings.Contains(a.text, "You share what you see of spring") {
		t.Fatalf("%s\n%s", a.Status, a.text)
	}
	shared := p.pool()
	if len(shared) < 5 || regionChanges() == region {
		t.Fatalf("%d shared sightings", len(shared))
	}
	with := p.maple()
	if !strings.Contains(with.Why, "What one other grower saw of the species counts too") || slices.Equal(with.Dates, before.Dates) {
		t.Errorf("bea learns nothing: %s", with.Why)
	}
	if a := p.look(p.bea, "/clubs/ridge/pool"); !strings.Contains(a.text, "Acer campestre") || !strings.Contains(a.text, "400 to 600 m") {
		t.Errorf("the pool: %s\n%s", a.Status, a.text)
	}
	t.Logf("measured: bea's maple %v, with the pool %v; repotting in the region %v, with the pool %v", spreadOf(before), spreadOf(with), repot, deciduous())
	if deciduous() == repot {
		t.Error("the region learns nothing")
	}
	if a := p.look(p.newClient(), "/r/ridge-valley"); a.StatusCode != http.StatusOK {
		t.Errorf("the region: %s", a.Status)
	}

	// One sighting is taken back, and all that are alike of it with it.
	trees, err := p.store.Trees(p.ctx(), p.id)
	p.must(err)
	i := slices.IndexFunc(trees, func(k calendar.Kept) bool { return k.ID == "ridge-maple" })
	k := slices.IndexFunc(trees[i].Log, func(e calendar.Entry) bool { return e.Saw == phenology.BudSwell })
	entry := trees[i].Log[k]
	p.must(p.store.Withdraw(p.ctx(), p.id, "ridge-maple", entry, p.now()))
	for _, e := range p.pool() {
		if e.On == entry.On && e.Species == "Acer campestre" {
			t.Errorf("what was taken back is told yet: %+v", e)
		}
	}
	if slices.Equal(p.maple().Dates, with.Dates) {
		t.Error("the forecast rests on what was taken back")
	}
	// All of it.
	p.form(p.mira, "/clubs/ridge/sharing", "share", "no")
	if len(p.pool()) != 0 || !slices.Equal(p.maple().Dates, before.Dates) || p.maple().Why != before.Why {
		t.Error("the pool does not forget")
	}
	// And who leaves takes all along.
	p.form(p.mira, "/clubs/ridge/sharing", "share", "yes")
	if len(p.pool()) == 0 {
		t.Error("nothing is shared again")
	}
	p.form(p.mira, "/clubs/ridge/leave")
	if len(p.pool()) != 0 || !slices.Equal(p.maple().Dates, before.Dates) {
		t.Error("what one shared who left is there yet")
	}
}

// TestSharingIsTakenAlong: an archive says in which clubs one shares, and lets nobody in.
func TestSharingIsTakenAlong(t *testing.T) {
	p := newPooling(t)
	share := func(on bool) *calendar.ArchiveGrower {
		p.must(p.store.PutShares(p.ctx(), "ridge", "bea", on))
		a, err := Collect(p.ctx(), p.store, "bea")
		p.must(err)
		return &a.Growers[0]
	}
	if a := share(false); a.Shares != nil {
		t.Errorf("shares %v", a.Shares)
	}
	a := share(true)
	if !slices.Equal(a.Shares, []string{"ridge"}) {
		t.Fatalf("shares %v", a.Shares)
	}
	for id, want := range map[string]struct{ adds, shares bool }{"bea": {}, "cy": {true, true}, "newcomer": {}} {
		p.must(p.store.PutShares(p.ctx(), "ridge", "cy", false))
		d, err := Add(p.ctx(), p.store, a, id)
		p.must(err)
		if (len(d.Shares) > 0) != want.adds {
			t.Errorf("%s: adds %v", id, d.Adds)
		}
		_, err = d.Write(p.ctx(), p.server.cfg)
		p.must(err)
		mine, err := sharesOf(p.ctx(), p.store, id)
		p.must(err)
		if id != "bea" && (len(mine) > 0) != want.shares {
			t.Errorf("%s shares with %v", id, mine)
		}
	}
}

// TestNothingPrivateIsShared reads, as another member, as the keeper and as a
// stranger, all that they can, and looks for what is a grower's own.
func TestNothingPrivateIsShared(t *testing.T) {
	p := newPooling(t)
	p.must(p.store.PutAccount(p.ctx(), calendar.Account{Grower: p.id, Mail: "mira.secret@example.org", Password: "x", Changed: p.now()}, ""))
	p.mira = p.enter(p.key)
	p.form(p.mira, "/clubs/ridge/sharing", "share", "yes")
	if len(p.pool()) == 0 {
		t.Fatal("nothing is shared")
	}
	own := map[string]string{"mail": "mira.secret@example.org", "latitude": "47.05", "longitude": "8.9", "elevation": "560", "place": "Quernthal bench", "secret link": p.key}
	trees, err := p.store.Trees(p.ctx(), p.id)
	p.must(err)
	for _, k := range trees {
		own["tree "+k.ID], own["id of "+k.ID] = k.Name, k.ID
		if k.Note != "" {
			own["note of "+k.ID] = k.Note
		}
		for i, e := range k.Log {
			if e.Note != "" {
				own[fmt.Sprintf("entry %d of %s", i, k.ID)] = e.Note
			}
		}
	}
	feeds, err := p.store.Feeds(p.ctx(), p.id)
	p.must(err)
	for _, f := range feeds {
		own["hash of feed "+f.ID], own["name of feed "+f.ID] = f.TokenHash, f.Name
	}
	places, err := p.store.Places(p.ctx(), p.id)
	p.must(err)
	own["id of place"] = "/places/" + places[0].ID
	beas, hash, err := NewSecret(p.server.cfg.Random)
	p.must(err)
	p.must(p.store.PutFeed(p.ctx(), calendar.Feed{ID: "all", Grower: "bea", Name: "all", TokenHash: hash, Created: p.now()}))

	club := []string{"/clubs", "/clubs/ridge", "/clubs/ridge/pool", "/", "/account/garden.json", "/trees/own-maple", "/f/" + beas, "/r/ridge-valley", "/r/ridge-valley/calendar.ics"}
	for who, reads := range map[string]struct {
		client *http.Client
		paths  []string
	}{
		"a member":   {p.bea, club},
		"the keeper": {p.cy, append([]string{"/clubs/ridge/members"}, club[:len(club)-3]...)},
		"a stranger": {p.newClient(), []string{"/", "/sign-in", "/r/ridge-valley", "/r/ridge-valley/calendar.ics"}},
	} {
		for _, path := range reads.paths {
			a := p.look(reads.client, path)
			if a.StatusCode != http.StatusOK {
				t.Errorf("%s, %s: %s", who, path, a.Status)
			}
			for what, value := range own {
				// The place of a region and of bea are their own, and near.
				if path != "/clubs/ridge/pool" && path != "/clubs/ridge" && path != "/clubs" && (what == "elevation" || what == "latitude" || what == "longitude" || what == "place") {
					continue
				}
				if strings.Contains(a.text, value) {
					t.Errorf("%s reads on %s %s: %q", who, path, what, value)
				}
			}
			if who != "the keeper" && path == "/clubs/ridge/pool" && strings.Contains(a.text, "Mira") {
				t.Errorf("%s reads whose sightings they are", who)
			}
		}
		for _, path := range []string{"/trees/ridge-maple", "/trees/ridge-maple/log", "/trees/ridge-maple/edit", "/places/" + places[0].ID, "/clubs/ridge/members"} {
			if a := p.look(reads.client, path); who != "the keeper" && a.StatusCode == http.StatusOK {
				t.Errorf("%s reads %s", who, path)
			}
		}
	}
	// What is kept for others holds the place no more exactly than was said.
	for _, e := range p.pool() {
		if e.Lat != 47.1 && e.Lat != 47 || e.Lon != 8.9 || e.Elevation != 550 {
			t.Errorf("the place is told as %v, %v, %v m", e.Lat, e.Lon, e.Elevation)
		}
	}
}

// TestSettingAside: a keeper sees whose sighting is far off and sets it aside;
// others see neither, but whose it is sees that it was.
func TestSettingAside(t *testing.T) {
	p := newPooling(t)
	on := climate.NewDate(2026, time.April, 2)
	tell := func(grower string, late float64) calendar.Telling {
		p.must(p.store.PutMember(p.ctx(), calendar.Member{Club: "ridge", Grower: grower, Role: calendar.Plain, Since: p.now(), Shares: true}))
		k := calendar.Telling{Tree: "secret-tree", Pooled: phenology.Pooled{
			Grower: grower, Species: "Fagus sylvatica", Phase: phenology.BudBreak, On: on, Year: 2026, Late: late, Variance: 0.5, Lat: 47.3, Lon: 8.9, Elevation: 650,
		}}
		_, err := p.store.PutTellings(p.ctx(), grower, []calendar.Telling{k})
		p.must(err)
		return k
	}
	odd, _ := tell("bea", 40), tell(p.id, 1)
	learned := func() int {
		all, err := p.store.Learned(context.Background(), "cy")
		p.must(err)
		return len(all)
	}
	a := p.look(p.cy, "/clubs/ridge/pool")
	boxes := find(a.node(t), "input", "name", "sighting")
	if len(boxes) != 2 || !strings.Contains(a.text, "BEA: <i>Fagus sylvatica</i>, bud break, 2 April 2026: 39 days behind what 1 other grower saw") || strings.Contains(a.text, "secret-tree") {
		t.Fatalf("%d boxes\n%s", len(boxes), a.text)
	}
	if a := p.look(p.bea, "/clubs/ridge/pool"); strings.Contains(a.text, "Only keepers") || len(find(a.node(t), "input", "name", "sighting")) > 0 {
		t.Error("a member sees what is for keepers")
	}
	if a := p.form(p.cy, "/clubs/ridge/pool", "do", "aside"); a.StatusCode != http.StatusUnprocessableEntity {
		t.Errorf("nothing ticked: %s", a.Status)
	}
	for _, bad := range []string{"", "x", `["bea"]`, `["bea","Fagus sylvatica","bud-break","someday"]`} {
		if a := p.form(p.cy, "/clubs/ridge/pool", "do", "aside", "sighting", bad); a.StatusCode != http.StatusUnprocessableEntity {
			t.Errorf("%q: %s", bad, a.Status)
		}
	}
	value := namedSighting(&calendar.PooledEntry{Pooled: odd.Pooled})
	if learned() != 2 {
		t.Fatal(learned())
	}
	a = p.form(p.cy, "/clubs/ridge/pool", "do", "aside", "sighting", value, "sighting", strings.Replace(value, "2026", "2025", 1))
	if learned() != 1 || !strings.Contains(a.text, "nobody learns from it. 1 sighting had been taken back already.") || !strings.Contains(a.text, "set aside by CY on 1 May 2027") {
		t.Errorf("%d are learned from\n%s", learned(), a.text)
	}
	if a := p.look(p.bea, "/clubs/ridge/pool"); !strings.Contains(a.text, "set aside by a keeper") {
		t.Errorf("bea is not told:\n%s", a.text)
	}
	p.form(p.cy, "/clubs/ridge/pool", "do", "back", "sighting", value)
	if learned() != 2 {
		t.Error("it does not count again")
	}
}
