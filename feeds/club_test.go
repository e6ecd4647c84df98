package feeds

import (
	"net/http"
	"regexp"
	"strings"
	"testing"

	"golang.org/x/net/html"

	"budswell/calendar"
)

// clubBed is a service with a club, ridge, whose keeper is ada; bea and cy are with the
// service. Each signs in by their own client.
func clubBed(t *testing.T, change ...func(*Config)) (b *bed, ada, bea, cy *http.Client) {
	t.Helper()
	b = accountBed(t, append([]func(*Config){func(c *Config) { c.ClubsInvite = true }}, change...)...)
	if _, err := FoundClub(b.ctx(), b.server.cfg, "", "Ridge", "ada"); err != nil {
		t.Fatal(err)
	}
	in := func(id string) *http.Client {
		c := b.newClient()
		if a := b.signIn(c, id+"@example.org", phrase); a.StatusCode != http.StatusOK {
			t.Fatalf("%s: %s", id, a.Status)
		}
		return c
	}
	for _, id := range []string{"bea", "cy"} {
		b.grower(id, id+"-place")
		b.setPassword(id, id+"@example.org", phrase)
	}
	return b, in("ada"), in("bea"), in("cy")
}

func (b *bed) look(c *http.Client, path string) answered {
	b.t.Helper()
	return b.send(c, http.MethodGet, path, nil)
}

// invited makes an invitation on the keeper's page and returns its path.
func (b *bed) invited(keeper *http.Client, role string) string {
	b.t.Helper()
	a := b.form(keeper, "/clubs/ridge/invite", "role", role)
	link := regexp.MustCompile(`http://trees\.example(/join/[a-z2-7]+)`).FindStringSubmatch(a.text)
	if a.StatusCode != http.StatusOK || link == nil {
		b.t.Fatalf("%s\n%s", a.Status, a.text)
	}
	return link[1]
}

func (b *bed) roles() string {
	b.t.Helper()
	members, err := b.store.Members(b.ctx(), "ridge")
	b.must(err)
	var out []string
	for _, m := range members {
		out = append(out, m.Grower+" "+string(m.Role))
	}
	return strings.Join(out, ", ")
}

func TestClubByLink(t *testing.T) {
	b, ada, bea, cy := clubBed(t)
	if a := b.look(bea, "/clubs"); a.StatusCode != http.StatusOK || !strings.Contains(a.text, "ask its keeper for an invitation") {
		t.Errorf("no club: %s\n%s", a.Status, a.text)
	}
	link := b.invited(ada, "editor")
	if a := b.look(ada, "/clubs/ridge/members"); strings.Contains(a.text, link) || !strings.Contains(a.text, "A link to hand over") {
		t.Error("the link is shown twice, or the invitation is not listed")
	}
	// To look is not to use. Who is not signed in is told how, and comes back by it.
	stranger := b.newClient()
	a := b.look(stranger, link)
	if a.StatusCode != http.StatusOK || !strings.Contains(a.text, "Ridge invites you") {
		t.Fatalf("%s\n%s", a.Status, a.text)
	}
	if a := b.form(stranger, link, "do", "club"); a.StatusCode != http.StatusForbidden {
		t.Errorf("joined without signing in: %s", a.Status)
	}
	next := attr(find(a.node(t), "input", "name", "next")[0], "value")
	if strings.Contains(a.text, "?next=") {
		t.Error("the secret of the invitation is in a query")
	}
	if a := b.form(stranger, "/sign-in", "mail", "bea@example.org", "password", phrase, "next", next); !strings.Contains(a.text, "You are signed in as BEA") {
		t.Errorf("after signing in: %s\n%s", a.Status, a.text)
	}
	if a := b.form(bea, link, "do", "club"); a.StatusCode != http.StatusOK || !strings.Contains(a.text, "You are an editor of this club") {
		t.Fatalf("%s\n%s", a.Status, a.text)
	}
	if a := b.form(cy, link, "do", "club"); a.StatusCode != http.StatusGone {
		t.Errorf("a second time: %s", a.Status)
	}
	if got := b.roles(); got != "ada keeper, bea editor" {
		t.Error(got)
	}
	// Withdrawn before it is used.
	link = b.invited(ada, "member")
	page := b.look(ada, "/clubs/ridge/members")
	ends := find(page.node(t), "button", "name", "invitation")
	if len(ends) != 1 {
		t.Fatalf("%d open invitations", len(ends))
	}
	b.form(ada, "/clubs/ridge/uninvite", "invitation", attr(ends[0], "value"))
	if a := b.look(cy, link); a.StatusCode != http.StatusGone {
		t.Errorf("withdrawn: %s", a.Status)
	}
	link = b.invited(ada, "member")
	b.set(b.now().Add(InvitationLife))
	if a := b.form(cy, link, "do", "club"); a.StatusCode != http.StatusGone {
		t.Errorf("too old: %s", a.Status)
	}
	if strings.Contains(b.log.String(), strings.TrimPrefix(link, "/join/")) {
		t.Error("the log holds the secret of an invitation")
	}
}

func TestClubByMail(t *testing.T) {
	post := &letters{}
	b, ada, _, _ := clubBed(t, func(c *Config) { c.Mail = post.mail })
	a := b.form(ada, "/clubs/ridge/invite", "role", "editor", "mail", "not an address")
	if a.StatusCode != http.StatusUnprocessableEntity || attr(find(a.node(t), "input", "name", "mail")[0], "value") != "not an address" || !rolePicked(a.node(t), "editor") {
		t.Errorf("what was typed is lost: %s\n%s", a.Status, a.text)
	}
	if a := b.form(ada, "/clubs/ridge/invite", "role", "owner", "mail", "New@example.org"); a.StatusCode != http.StatusUnprocessableEntity {
		t.Errorf("an odd role: %s", a.Status)
	}
	b.form(ada, "/clubs/ridge/invite", "role", "member", "mail", "New@example.org")
	link := post.take(b, "new@example.org")
	// Without an account, one joins the service and the club at once.
	c := b.newClient()
	if a := b.look(c, link+"?new=yes"); attr(find(a.node(t), "input", "name", "mail")[0], "value") != "new@example.org" {
		t.Errorf("%s\n%s", a.Status, a.text)
	}
	if a := b.form(c, link, "name", "Newcomer", "password", another); a.StatusCode != http.StatusOK {
		t.Fatalf("%s\n%s", a.Status, a.text)
	}
	if got := b.roles(); got != "ada keeper, newcomer member" {
		t.Error(got)
	}
	// Nobody is mailed to without end.
	for range ofMail.free - 1 {
		b.form(ada, "/clubs/ridge/invite", "role", "member", "mail", "new@example.org")
	}
	if a := b.form(ada, "/clubs/ridge/invite", "role", "member", "mail", "new@example.org"); a.StatusCode != http.StatusTooManyRequests {
		t.Errorf("one letter too many: %s", a.Status)
	}
}

// rolePicked reports whether the last list of roles, that of the invitation, has a role picked.
func rolePicked(n *html.Node, role string) bool {
	lists := find(n, "select", "name", "role")
	for _, o := range find(lists[len(lists)-1], "option", "value", role) {
		for _, a := range o.Attr {
			if a.Key == "selected" {
				return true
			}
		}
	}
	return false
}

// TestClubOfTheServiceAlone: where the service takes nobody in by a club, strangers are told so.
func TestClubOfTheServiceAlone(t *testing.T) {
	b, ada, bea, _ := clubBed(t, func(c *Config) { c.ClubsInvite = false })
	link := b.invited(ada, "member")
	for _, path := range []string{link, link + "?new=yes"} {
		if a := b.look(b.newClient(), path); !strings.Contains(a.text, "is for growers of this service") || len(find(a.node(t), "input", "name", "name")) > 0 {
			t.Errorf("%s\n%s", a.Status, a.text)
		}
	}
	if a := b.form(b.newClient(), link, "name", "New", "mail", "new@example.org", "password", another); a.StatusCode != http.StatusForbidden {
		t.Errorf("a stranger joined: %s", a.Status)
	}
	if a := b.form(bea, link, "do", "club"); a.StatusCode != http.StatusOK || b.roles() != "ada keeper, bea member" {
		t.Errorf("%s, %s", a.Status, b.roles())
	}
}

func TestRolesOfAClub(t *testing.T) {
	b, ada, bea, cy := clubBed(t)
	b.form(bea, b.invited(ada, "member"), "do", "club")
	b.form(cy, b.invited(ada, "member"), "do", "club")

	// The last keeper stays.
	for _, fields := range [][]string{{"member", "ada", "role", "member"}, {"member", "ada", "do", "remove"}} {
		if a := b.form(ada, "/clubs/ridge/members", fields...); a.StatusCode != http.StatusConflict || !strings.Contains(a.text, "needs a keeper") {
			t.Errorf("%v: %s", fields, a.Status)
		}
	}
	if a := b.form(ada, "/clubs/ridge/leave"); a.StatusCode != http.StatusConflict || !strings.Contains(a.text, "needs a keeper") {
		t.Errorf("the last keeper left: %s", a.Status)
	}
	if a := b.form(ada, "/clubs/ridge/members", "member", "bea", "role", "owner"); a.StatusCode != http.StatusUnprocessableEntity {
		t.Errorf("an odd role: %s", a.Status)
	}
	if a := b.form(ada, "/clubs/ridge/members", "member", "nobody", "role", "editor"); a.StatusCode != http.StatusNotFound {
		t.Errorf("nobody: %s", a.Status)
	}
	link := b.invited(ada, "keeper") // worth something as long as ada keeps the club
	b.form(ada, "/clubs/ridge/members", "member", "bea", "role", "keeper")
	if a := b.form(bea, "/clubs/ridge/members", "member", "ada", "role", "editor"); a.StatusCode != http.StatusOK {
		t.Errorf("%s", a.Status)
	}
	if got := b.roles(); got != "ada editor, bea keeper, cy member" {
		t.Error(got)
	}
	if a := b.form(ada, link, "do", "club"); a.StatusCode != http.StatusGone {
		t.Errorf("a keeper let themselves in again: %s", a.Status)
	}
	// One who is let go, or goes, keeps all that is theirs.
	b.form(bea, "/clubs/ridge/members", "member", "cy", "do", "remove")
	if a := b.form(ada, "/clubs/ridge/leave"); a.StatusCode != http.StatusOK || !strings.Contains(a.text, "You left Ridge") {
		t.Errorf("%s\n%s", a.Status, a.text)
	}
	if got := b.roles(); got != "bea keeper" {
		t.Error(got)
	}
	for _, id := range []string{"ada", "cy"} {
		if trees, err := b.store.Trees(b.ctx(), id); err != nil || len(trees) != 2 {
			t.Errorf("%s has %d trees, %v", id, len(trees), err)
		}
	}
}

// TestClubIsForItsMembers: to all others there is no such club, whatever they ask.
func TestClubIsForItsMembers(t *testing.T) {
	b, ada, bea, cy := clubBed(t)
	b.form(bea, b.invited(ada, "editor"), "do", "club")
	needs := map[string]calendar.Role{
		"/clubs/ridge": calendar.Plain, "/clubs/ridge/pool": calendar.Plain, "/clubs/ridge/members": calendar.Keeper,
		"POST /clubs/ridge/sharing": calendar.Plain, "POST /clubs/ridge/leave": calendar.Plain, "POST /clubs/ridge/members": calendar.Keeper,
		"POST /clubs/ridge/invite": calendar.Keeper, "POST /clubs/ridge/uninvite": calendar.Keeper, "POST /clubs/ridge/pool": calendar.Keeper,
	}
	ask := func(c *http.Client, what, in string) answered {
		if path, ok := strings.CutPrefix(what, "POST "); ok {
			return b.form(c, strings.Replace(path, "ridge", in, 1), "role", "keeper", "member", "ada", "share", "maybe")
		}
		return b.look(c, strings.Replace(what, "ridge", in, 1))
	}
	for what, role := range needs {
		nowhere := ask(cy, what, "nowhere")
		if a := ask(cy, what, "ridge"); a.StatusCode != http.StatusNotFound || a.text != nowhere.text {
			t.Errorf("%s by one who is no member: %s", what, a.Status)
		}
		if a := ask(b.newClient(), what, "ridge"); a.StatusCode != http.StatusForbidden || strings.Contains(a.text, "Ridge") {
			t.Errorf("%s by a stranger: %s", what, a.Status)
		}
		if role == calendar.Keeper {
			if a := ask(bea, what, "ridge"); a.StatusCode != http.StatusNotFound {
				t.Errorf("%s by an editor: %s", what, a.Status)
			}
		}
	}
	if got := b.roles(); got != "ada keeper, bea editor" {
		t.Error(got)
	}
	// A form from elsewhere does nothing.
	if a := b.send(ada, http.MethodPost, "/clubs/ridge/sharing", map[string][]string{"share": {"yes"}}, "Sec-Fetch-Site", "cross-site"); a.StatusCode != http.StatusForbidden {
		t.Errorf("a form from elsewhere: %s", a.Status)
	}
}
