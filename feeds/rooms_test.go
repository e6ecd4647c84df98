package feeds

import (
	"net/url"
	"slices"
	"testing"
	"time"

	"golang.org/x/net/html"

	"budswell/calendar"
)

// Every page of a person has the same way to all the others and says in which room one is;
// pages for everyone have it for none who is not signed in.
func TestEveryPageOfAPersonHasTheRooms(t *testing.T) {
	b, _ := newDemo(t, time.Date(2027, time.April, 12, 7, 0, 0, 0, time.UTC))
	rooms := func(a answered) (links []string, here string) {
		t.Helper()
		for nav := range a.node(t).Descendants() {
			if nav.Type != html.ElementNode || nav.Data != "nav" || attr(nav, "class") != "rooms" {
				continue
			}
			for _, link := range find(nav, "a", "", "") {
				links = append(links, attr(link, "href"))
				if attr(link, "aria-current") != "" {
					here += attr(link, "href")
				}
			}
		}
		return links, here
	}
	for _, path := range []string{"/lore", "/lore/rules/repot-deciduous", "/r/quernthal", "/sign-in"} {
		if links, _ := rooms(b.get(path)); len(links) > 0 {
			t.Errorf("%s shows a stranger rooms: %v", path, links)
		}
	}
	b.open()
	b.newClub("ridge", calendar.Keeper)
	own := valley
	own.Club = "ridge"
	b.must(b.store.PutRegion(b.ctx(), own))
	g, err := b.store.GrowerByKey(b.ctx(), HashSecret(b.key))
	b.must(err)
	places, err := b.store.Places(b.ctx(), g.ID)
	b.must(err)
	place := "/places/" + url.PathEscape(places[0].ID)
	want, _ := rooms(b.shown("/"))
	if !slices.Contains(want, "/clubs") || !slices.Contains(want, "/lore") {
		t.Errorf("rooms: %v", want)
	}
	for room, paths := range map[string][]string{
		"/":          {"/", "/print/month"},
		"/trees":     {"/trees", "/trees/ridge-maple", "/trees/ridge-maple/log", "/trees/ridge-maple/edit", "/trees/ridge-maple/card", "/print/cards"},
		"/agenda":    {"/agenda", "/hours"},
		"/years":     {"/years"},
		"/shows":     {"/shows"},
		"/calendars": {"/calendars", "/start/feed"},
		"/places":    {"/places", "/start/place", place, place + "/season", place + "/weather", place + "/trees", place + "/sheet", place + "/readings"},
		"/lore":      {"/lore", "/lore?q=maple", "/lore/rules/repot-deciduous", "/lore/species/acer-campestre", ownDesk, ownDesk + "/rules/repot-deciduous/edit", ownDesk + "/add?what=rule"},
		"/clubs":     {"/clubs", "/clubs/ridge", "/clubs/ridge/members", "/clubs/ridge/pool", "/clubs/ridge/lore", "/clubs/ridge/regions", "/clubs/ridge/regions/new", "/clubs/ridge/regions/valley"},
		"/messages":  {"/messages", "/nudges"},
		"/account":   {"/account", "/account/leave"},
	} {
		for _, path := range paths {
			if links, here := rooms(b.shown(path)); !slices.Equal(links, want) || here != room {
				t.Errorf("%s: %v, in %q; want %v, in %q", path, links, here, want, room)
			}
		}
	}
	for _, link := range append(want, "/print/month", "/print/cards", place+"/season") {
		if len(find(b.shown("/").node(t), "a", "href", link)) == 0 {
			t.Errorf("the first page does not lead to %s", link)
		}
	}
}
