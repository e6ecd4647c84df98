package feeds

import (
	"bytes"
	"cmp"
	"context"
	"errors"
	"fmt"
	"net/http"
	"slices"
	"strings"
	"time"

	"github.com/labstack/echo/v4"

	"budswell/calendar"
	"budswell/feeds/pages"
	"budswell/feeds/wording"
)

const (
	mostInvitations = 50        // into a club that can be used yet
	sessionInvited  = "invited" // the link of an invitation just made, shown once
	invitationTitle = "You are invited into a club"
)

// ClubInvitation makes a link by which somebody joins a club, once, and the service with
// it where they are not in it. By is the id of the keeper who invites, if one does.
func ClubInvitation(ctx context.Context, cfg Config, club string, role calendar.Role, mail, by string, life time.Duration) (string, error) {
	return ticketLink(ctx, cfg, "/join/", calendar.Ticket{Mail: mail, Club: club, Role: role, By: by}, life)
}

// clubID makes an id from a name: what stands in it besides small letters, digits and
// hyphens is left out.
func clubID(name string) string {
	id := strings.Map(func(r rune) rune {
		if r == '-' || r >= '0' && r <= '9' || r >= 'a' && r <= 'z' {
			return r
		}
		return -1
	}, calendar.Slug(name))
	return cmp.Or(strings.Trim(id[:min(len(id), 60)], "-"), "club")
}

// FoundClub founds a club, with a grower as its keeper where an id is given, and an id
// made from the name where none is.
func FoundClub(ctx context.Context, cfg Config, id, name, keeper string) (calendar.Club, error) {
	club := calendar.Club{ID: cmp.Or(id, clubID(name)), Name: strings.TrimSpace(name), Founded: cfg.Now()}
	if err := club.Check(); err != nil {
		return club, err
	}
	switch _, err := cfg.Store.Club(ctx, club.ID); {
	case err == nil:
		return club, fmt.Errorf("club %q: %w: want another name, or another id", club.ID, calendar.ErrConflict)
	case !errors.Is(err, calendar.ErrNotFound):
		return club, err
	}
	if keeper != "" {
		if _, err := cfg.Store.Grower(ctx, keeper); err != nil {
			return club, err
		}
	}
	if err := cfg.Store.PutClub(ctx, club); err != nil || keeper == "" {
		return club, err
	}
	return club, cfg.Store.PutMember(ctx, calendar.Member{Club: club.ID, Grower: keeper, Role: calendar.Keeper, Since: club.Founded})
}

func (s *Server) membersPage(c echo.Context, g calendar.Grower, at seat) error {
	return s.membersWith(c, g, at, http.StatusOK, &pages.Members{})
}

// membersWith shows the keeper's page with a form as it was typed.
func (s *Server) membersWith(c echo.Context, g calendar.Grower, at seat, status int, p *pages.Members) (err error) {
	ctx := c.Request().Context()
	in := tongueOf(ctx)
	p.CSRF, p.ID, p.Name, p.Mails = csrfToken(c), at.Club.ID, at.Club.Name, s.cfg.Mail != nil
	p.Said, p.Link = s.sessions.PopString(ctx, sessionSaid), s.sessions.PopString(ctx, sessionInvited)
	if p.Members, err = s.memberRows(ctx, at.Club.ID, g.ID); err != nil {
		return err
	}
	for i := range p.Members {
		p.Members[i].Roles = roleChoices(in, p.Members[i].Role)
	}
	if p.Role == "" {
		p.Role = string(calendar.Plain)
	}
	p.Roles = roleChoices(in, p.Role)
	open, err := s.cfg.Store.Invitations(ctx, at.Club.ID, s.cfg.Now())
	if err != nil {
		return err
	}
	for _, k := range open {
		p.Invitations = append(p.Invitations, pages.InvitationRow{Hash: k.Hash, Mail: k.Mail, Role: string(k.Role), Until: in.DayOf(k.Expires)})
	}
	return s.page(c, status, func(b *bytes.Buffer) error { return s.in(c).Members(b, p) })
}

func roleChoices(in *wording.Tongue, picked string) (out []pages.Choice) {
	for _, r := range calendar.Roles() {
		out = append(out, pages.Choice{Value: string(r), Label: in.Lower(string(r)), Picked: string(r) == picked})
	}
	return out
}

// changeMember gives a member another role or lets them go.
func (s *Server) changeMember(c echo.Context, g calendar.Grower, at seat) error {
	ctx := c.Request().Context()
	in := tongueOf(ctx)
	members, err := s.cfg.Store.Members(ctx, at.Club.ID)
	if err != nil {
		return err
	}
	i := slices.IndexFunc(members, func(m calendar.Member) bool { return m.Grower == c.FormValue("member") })
	if i < 0 {
		return s.membersWith(c, g, at, http.StatusNotFound, &pages.Members{Fault: in.Say("Nothing was changed: that member is not in the club any more.")})
	}
	m := members[i]
	words := in.Say("The role is changed.")
	if c.FormValue("do") == "remove" {
		words = in.Say("The member is out of the club. All that is theirs is still theirs.")
		err = s.cfg.Store.EndMember(ctx, m.Club, m.Grower)
	} else {
		if m.Role = calendar.Role(c.FormValue("role")); !m.Role.May(calendar.Plain) {
			return s.membersWith(c, g, at, http.StatusUnprocessableEntity, &pages.Members{Fault: in.Say("Nothing was changed: pick one of the roles.")})
		}
		err = s.cfg.Store.PutRole(ctx, m.Club, m.Grower, m.Role)
	}
	if errors.Is(err, calendar.ErrConflict) {
		return s.membersWith(c, g, at, http.StatusConflict, &pages.Members{Fault: in.Say(lastKeeper)})
	}
	if err != nil {
		return err
	}
	s.sessions.Put(ctx, sessionSaid, words)
	to := "/clubs/" + at.Club.ID + "/members"
	if m.Grower == g.ID { // who may not see the page any more
		to = "/clubs"
	}
	return c.Redirect(http.StatusSeeOther, to)
}

// invite makes an invitation: mailed where an address is given, else a link to hand over.
func (s *Server) invite(c echo.Context, g calendar.Grower, at seat) error {
	ctx := c.Request().Context()
	p := &pages.Members{Mail: strings.TrimSpace(c.FormValue("mail")), Role: c.FormValue("role")}
	in := tongueOf(ctx)
	fault := func(words string) error {
		p.Fault = in.Say("Nobody was invited: {1}", words)
		return s.membersWith(c, g, at, http.StatusUnprocessableEntity, p)
	}
	role := calendar.Role(p.Role)
	if !role.May(calendar.Plain) {
		return fault(in.Say("pick one of the roles."))
	}
	to := ""
	if p.Mail != "" {
		if to = foldMail(p.Mail); to == "" {
			return fault(in.Say("that is no mail address, such as ada@example.org."))
		}
		if s.cfg.Mail == nil {
			return fault(in.Say("this service sends no mail. Leave the address empty, and hand the link over."))
		}
	}
	open, err := s.cfg.Store.Invitations(ctx, at.Club.ID, s.cfg.Now())
	if err != nil {
		return err
	}
	if len(open) >= mostInvitations {
		return fault(in.Say("too many invitations are open. Withdraw some below, or wait until they are used."))
	}
	if to != "" {
		byMail, byGrower := "invitations to "+to, "invitations by "+g.ID
		if err := s.mustWait(c, max(s.guard.wait(byMail), s.guard.wait(byGrower))); err != nil {
			return err
		}
		s.guard.failed(byMail, ofMail)
		s.guard.failed(byGrower, ofAddress)
	}
	link, err := ClubInvitation(ctx, s.cfg, at.Club.ID, role, to, g.ID, InvitationLife)
	if err != nil {
		return err
	}
	if to == "" {
		s.sessions.Put(ctx, sessionInvited, link)
	} else {
		text := in.Say("{1} invites you into the club {2}. By this link you join:", g.Name, at.Club.Name) + "\n\n" + link + "\n\n" +
			in.Say("It is good once, and for two weeks. If you know nothing of it, leave it: nothing happens.") + "\n"
		s.inBackground(c, func(ctx context.Context) error { return s.cfg.Mail(ctx, to, in.Say(invitationTitle), text) })
		s.sessions.Put(ctx, sessionSaid, in.Say("The invitation is on its way to {1}.", to))
	}
	return c.Redirect(http.StatusSeeOther, "/clubs/"+at.Club.ID+"/members")
}

// uninvite withdraws an invitation.
func (s *Server) uninvite(c echo.Context, _ calendar.Grower, at seat) error {
	ctx := c.Request().Context()
	if err := s.cfg.Store.EndInvitation(ctx, at.Club.ID, c.FormValue("invitation")); err != nil {
		return err
	}
	s.sessions.Put(ctx, sessionSaid, tongueOf(ctx).Say("The invitation is withdrawn."))
	return c.Redirect(http.StatusSeeOther, "/clubs/"+at.Club.ID+"/members")
}
