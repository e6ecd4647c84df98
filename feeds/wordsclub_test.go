package feeds

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"budswell/calendar"
	"budswell/calendar/store/storetest"
)

// TestRulesOfOthers: nobody reads or changes what another wrote.
func TestRulesOfOthers(t *testing.T) {
	b, _ := newDemo(t, loreDay)
	b.open()
	b.keepText(ownDesk, "rules: [{id: repot-deciduous, amends: true, rest: 2}]", "a secret of mine")
	secret, hash, err := NewSecret(b.server.cfg.Random)
	b.must(err)
	b.must(b.store.PutGrower(b.ctx(), calendar.Grower{ID: "eve", Name: "Eve", KeyHash: hash}))
	eve := b.newClient()
	b.send(eve, http.MethodGet, "/enter/"+secret, nil)
	for _, path := range []string{ownDesk, "/lore/rules/repot-deciduous", ownDesk + "/rules/repot-deciduous/text"} {
		if a := b.send(eve, http.MethodGet, path, nil); a.StatusCode != http.StatusOK || strings.Contains(a.text, "secret of mine") || strings.Contains(a.text, "rest: 2") || strings.Contains(a.text, "your own since") {
			t.Errorf("%s: %s", path, a.Status)
		}
	}
	for _, path := range []string{ownDesk + "/versions/1", ownDesk + "/add?from=1", ownDesk + "/versions/0", ownDesk + "/versions/-1", ownDesk + "/versions/x", ownDesk + "/add?from=x", ownDesk + "/add?what=x"} {
		if a := b.send(eve, http.MethodGet, path, nil); a.StatusCode != http.StatusNotFound {
			t.Errorf("%s: %s", path, a.Status)
		}
	}
	form := typedIn(t, b.send(eve, http.MethodGet, ownDesk+"/add?what=caution", nil), ownDesk+"/look")
	token := form.Get("_csrf")
	take := url.Values{"_csrf": {token}, "mode": {"withdraw"}, "subject": {"rule repot-deciduous"}, "after": {"1"}}
	for _, path := range []string{ownDesk + "/look", ownDesk + "/keep"} {
		if a := b.send(eve, http.MethodPost, path, take); a.StatusCode != http.StatusConflict {
			t.Errorf("%s: %s", path, a.Status)
		}
		if a := b.get(path); a.StatusCode != http.StatusMethodNotAllowed && a.StatusCode != http.StatusNotFound {
			t.Errorf("GET %s: %s", path, a.Status)
		}
		if a := b.send(b.newClient(), http.MethodPost, path, take); a.StatusCode < 400 && a.Request.URL.Path != "/sign-in" {
			t.Errorf("a stranger posts to %s: %s", path, a.Status)
		}
		big := url.Values{"_csrf": {token}, "mode": {"text"}, "text": {strings.Repeat("x", 70<<10)}}
		if a := b.send(eve, http.MethodPost, path, big); a.StatusCode != http.StatusRequestEntityTooLarge {
			t.Errorf("%s: a big form: %s", path, a.Status)
		}
		for _, odd := range []url.Values{
			{"mode": {"rule"}, "subject": {"species Acer campestre"}},
			{"mode": {"species"}, "subject": {"rule repot-deciduous"}},
			{"mode": {"rule"}, "subject": {"rule nothing"}},
			{"mode": {"dance"}},
			{"mode": {"text"}, "after": {"x"}},
			{},
		} {
			odd.Set("_csrf", token)
			if a := b.send(eve, http.MethodPost, path, odd); a.StatusCode < 400 || a.StatusCode >= 500 {
				t.Errorf("%s %v: %s", path, odd, a.Status)
			}
		}
	}
	g, err := b.store.GrowerByKey(b.ctx(), HashSecret(b.key))
	b.must(err)
	mine, err := b.store.Amendments(b.ctx(), calendar.Whose{Grower: g.ID})
	b.must(err)
	if len(mine) != 1 {
		t.Errorf("%+v", mine)
	}
}

// TestClubRules: members read, editors write with a reason; the rules hold in the club's
// regions, and for members who chose to follow them.
func TestClubRules(t *testing.T) {
	b, links := newDemo(t, loreDay)
	b.open()
	g, err := b.store.GrowerByKey(b.ctx(), HashSecret(b.key))
	b.must(err)
	b.must(b.store.PutClub(b.ctx(), storetest.Club("hills")))
	regions, err := b.store.Regions(b.ctx())
	b.must(err)
	r, err := b.store.Region(b.ctx(), regions[0].ID)
	b.must(err)
	r.Club = "hills"
	b.must(b.store.PutRegion(b.ctx(), r))
	desk := deskOfClub("hills")
	if a := b.page(desk); a.StatusCode != http.StatusNotFound {
		t.Errorf("who is not in the club sees %s", a.Status)
	}
	b.must(b.store.PutMember(b.ctx(), storetest.Member("hills", g.ID, calendar.Keeper)))
	region := strings.TrimPrefix(links.Region, "http://trees.example")
	before := b.get(region).text

	form := typedIn(t, b.page(desk+"/add?what=caution"), desk+"/look")
	form.Set("text", "cautions:\n  - {id: hill-digging, works: [collect, repot], region: "+r.Name+", text: Ask at the forest office.}\n")
	if a := b.sends(desk+"/look", form); a.StatusCode != http.StatusUnprocessableEntity || len(find(a.node(t), "p", "id", "why-fault")) != 1 {
		t.Errorf("without a reason: %s", a.Status)
	}
	form.Set("why", "the law of the hills")
	look := b.sends(desk+"/look", form)
	if said := text(look.node(t)); !strings.Contains(said, "A caution more: In "+r.Name+": Ask at the forest office.") {
		t.Error(said)
	}
	b.sends(desk+"/keep", typedIn(t, look, desk+"/keep"))
	if now := b.get(region).text; now == before || !strings.Contains(now, "Ask at the forest office.") {
		t.Error("the region's page does not say so")
	}
	if feed := b.get(region + "/calendar.ics").text; !strings.Contains(strings.ReplaceAll(feed, "\r\n ", ""), "Ask at the forest office.") {
		t.Error("the region's feed does not say so")
	}
	for _, path := range []string{"", "/print", "/embed", "/calendar.ics"} {
		if public := b.get(region + path).text; strings.Contains(public, g.Name) || strings.Contains(public, "the law of the hills") {
			t.Errorf("%s%s says who wrote it, or why", region, path)
		}
	}
	tree := func() string { return b.page("/trees/ridge-maple").text }
	if strings.Contains(tree(), "forest office") {
		t.Error("a member who does not follow is told")
	}
	page := b.page(desk)
	if !strings.Contains(page.text, "off until you make it") {
		t.Error(page.text)
	}
	b.sends(desk+"/follow", typedIn(t, page, desk+"/follow"))
	b.keepText(desk, "rules: [{id: repot-deciduous-field-soil, amends: true, opens: {at: date, date: 03-20}, cautions: [hill-digging]}]", "we stand high")
	if said := tree(); !strings.Contains(said, "forest office") || !strings.Contains(said, "club Club hills since 12 February 2027, by ") {
		t.Error("a member who follows is not told, or not by whom")
	}
	b.keepText(ownDesk, "rules: [{id: repot-deciduous-field-soil, amends: true, rest: 2}]", "")
	if rule := text(b.page("/lore/rules/repot-deciduous-field-soil").node(t)); !strings.Contains(rule, "20 March") && !strings.Contains(rule, "03-20") || !strings.Contains(rule, "It changes what is club Club hills since") {
		t.Error(rule)
	}

	// A second region of the club is not told of the first one's law.
	other := r
	other.ID, other.Name = "lowland", "Lowland"
	b.must(b.store.PutRegion(b.ctx(), other))
	if low := b.get("/r/lowland").text; strings.Contains(low, "forest office") {
		t.Error("another region of the club is told")
	}

	secret, hash, err := NewSecret(b.server.cfg.Random)
	b.must(err)
	b.must(b.store.PutGrower(b.ctx(), calendar.Grower{ID: "bea", Name: "Bea", KeyHash: hash}))
	b.must(b.store.PutMember(b.ctx(), storetest.Member("hills", "bea", calendar.Plain)))
	bea := b.newClient()
	b.send(bea, http.MethodGet, "/enter/"+secret, nil)
	reads := b.send(bea, http.MethodGet, desk, nil)
	if reads.StatusCode != http.StatusOK || !strings.Contains(reads.text, "the law of the hills") || strings.Contains(reads.text, "Take it back") || strings.Contains(reads.text, desk+"/add") {
		t.Errorf("a member: %s\n%s", reads.Status, reads.text)
	}
	token := typedIn(t, reads, desk+"/follow").Get("_csrf")
	for _, path := range []string{desk + "/add?what=rule", desk + "/rules/repot-deciduous/edit", desk + "/rules/repot-deciduous/text", desk + "/species/acer-campestre/edit"} {
		if a := b.send(bea, http.MethodGet, path, nil); a.StatusCode != http.StatusNotFound {
			t.Errorf("a member opens %s: %s", path, a.Status)
		}
	}
	form.Set("_csrf", token)
	for _, path := range []string{desk + "/look", desk + "/keep"} {
		if a := b.send(bea, http.MethodPost, path, form); a.StatusCode != http.StatusNotFound {
			t.Errorf("a member posts to %s: %s", path, a.Status)
		}
	}
}
