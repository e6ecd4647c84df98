package feeds

import (
	"context"
	"slices"
	"strconv"

	"github.com/labstack/echo/v4"

	"budswell/calendar"
	"budswell/calendar/lore"
	"budswell/climate"
)

// The paths under which growers, and clubs, change what the rules say.
const (
	ownDesk  = "/lore/own"
	clubDesk = "/clubs/:club/lore"
)

// deskOfClub returns the path of a club's desk.
func deskOfClub(id string) string { return "/clubs/" + id + "/lore" }

// desk is where a grower, or the editors of a club, change what the rules say.
type desk struct {
	whose  calendar.Whose
	who    calendar.Grower
	club   calendar.Club // of a club's desk
	editor bool          // may change it
	path   string
}

// deskRoutes are the same for a grower's own words and for those of a club.
func (s *Server) deskRoutes(e *echo.Echo, person []echo.MiddlewareFunc) {
	own := func(_ calendar.Role, h func(echo.Context, *desk) error) echo.HandlerFunc {
		return s.own(func(c echo.Context, g calendar.Grower) error {
			return h(c, &desk{whose: calendar.Whose{Grower: g.ID}, who: g, editor: true, path: ownDesk})
		})
	}
	club := func(role calendar.Role, h func(echo.Context, *desk) error) echo.HandlerFunc {
		return s.clubbed(role, func(c echo.Context, g calendar.Grower, at seat) error {
			return h(c, &desk{
				whose: calendar.Whose{Club: at.Club.ID}, who: g, club: at.Club, editor: at.Member.Role.May(calendar.Editor), path: deskOfClub(at.Club.ID),
			})
		})
	}
	for _, d := range []struct {
		path string
		wrap func(calendar.Role, func(echo.Context, *desk) error) echo.HandlerFunc
	}{{ownDesk, own}, {clubDesk, club}} {
		read := func(path string, role calendar.Role, h func(echo.Context, *desk) error) {
			e.Match([]string{"GET", "HEAD"}, d.path+path, d.wrap(role, s.withGround(h)), person...)
		}
		send := func(path string, h func(echo.Context, *desk) error) {
			e.POST(d.path+path, d.wrap(calendar.Editor, s.withGround(func(c echo.Context, d *desk) error {
				return s.inTurn(c, d.who.ID, func() error { return h(c, d) })
			})), person...)
		}
		read("", calendar.Plain, s.deskPage)
		read("/versions/:number", calendar.Plain, s.versionPage)
		read("/rules/:rule/edit", calendar.Editor, s.editRule)
		read("/rules/:rule/text", calendar.Editor, s.editRuleText)
		read("/species/:species/edit", calendar.Editor, s.editSpecies)
		read("/species/:species/text", calendar.Editor, s.editSpeciesText)
		read("/add", calendar.Editor, s.addWords)
		send("/look", s.lookWords)
		send("/keep", s.keepWords)
	}
	e.POST(clubDesk+"/follow", s.clubbed(calendar.Plain, s.followClub), person...)
}

// withGround answers that there is no such page where nobody can have words of their own.
func (s *Server) withGround(h func(echo.Context, *desk) error) func(echo.Context, *desk) error {
	return func(c echo.Context, d *desk) error {
		if s.cfg.Ground == nil {
			return calendar.ErrNotFound
		}
		return h(c, d)
	}
}

// under returns the layers that lie under the words of a desk.
func (s *Server) under(ctx context.Context, d *desk) (layers, error) {
	if d.whose.Club != "" {
		return nil, nil
	}
	l, err := s.layersOf(ctx, d.who.ID)
	if err != nil || len(l) == 0 {
		return nil, err
	}
	return l[:len(l)-1], nil
}

// written is what a desk has written, with what of it cannot hold.
type written struct {
	under layers
	files []lore.File // in the order of all
	all   []calendar.Amendment
	now   *knowing
}

// deskWords reads what stands at a desk.
func (s *Server) deskWords(ctx context.Context, d *desk) (*written, error) {
	out := &written{}
	var err error
	if out.under, err = s.under(ctx, d); err != nil {
		return nil, err
	}
	if out.all, err = s.cfg.Store.Amendments(ctx, d.whose); err != nil {
		return nil, err
	}
	if out.files, err = s.filesOf(ctx, d.whose); err != nil {
		return nil, err
	}
	out.now, err = s.known(append(slices.Clone(out.under), out.files))
	return out, err
}

// stands returns what stands of a subject; its number is that of the newest version even
// where that withdraws, 0 where there never was any.
func (w *written) stands(subject string) (calendar.Amendment, bool) {
	i := slices.IndexFunc(w.all, func(a calendar.Amendment) bool { return a.Subject == subject })
	if i < 0 {
		return calendar.Amendment{}, false
	}
	return w.all[i], true
}

// without returns the lore as it is without what a desk says of a subject.
func (s *Server) without(w *written, subject string) (*knowing, error) {
	rest := slices.DeleteFunc(slices.Clone(w.files), func(f lore.File) bool { return f.Name == subject })
	return s.known(append(slices.Clone(w.under), rest))
}

// with returns the lore as it would be with a text in the place of what a desk says of a
// subject.
func (s *Server) with(d *desk, w *written, subject, text string) *knowing {
	from := calendar.From{Layer: calendar.LayerGrower, ID: d.who.ID, Since: climate.DateOf(s.cfg.Now().UTC())}
	if d.whose.Club != "" {
		from = calendar.From{Layer: calendar.LayerClub, ID: d.club.ID, Name: d.club.Name, By: d.who.Name, Since: from.Since}
	}
	f := lore.File{Name: subject, Text: []byte(text), From: from}
	files := slices.Clone(w.files)
	if i := slices.IndexFunc(files, func(o lore.File) bool { return o.Name == subject }); i >= 0 {
		files[i] = f
	} else {
		files = append(files, f)
	}
	known, left := s.cfg.Ground.With(append(slices.Clone(w.under), files)...)
	return &knowing{known, left}
}

// newestOf returns the number of the newest version of a subject, 0 where there is none.
func newestOf(versions []calendar.Amendment, subject string) int {
	n := 0
	for i := range versions {
		if versions[i].Subject == subject {
			n = versions[i].Number
		}
	}
	return n
}

// followClub chooses whether the trees of a member are planned by the rules of a club.
func (s *Server) followClub(c echo.Context, g calendar.Grower, at seat) error {
	follow := c.FormValue("follow") == "yes"
	if err := s.cfg.Store.Follow(c.Request().Context(), g.ID, at.Club.ID, follow); err != nil {
		return err
	}
	in := tongueOf(c.Request().Context())
	said := in.Say("Your trees are no longer planned by the rules of {1}.", at.Club.Name)
	if follow {
		said = in.Say("Your trees are planned by the rules of {1} from now on.", at.Club.Name)
	}
	return s.afresh(c, g.ID, said, deskOfClub(at.Club.ID))
}

// numbered reads the number of a version from a path.
func numbered(c echo.Context) (int, error) {
	n, err := strconv.Atoi(c.Param("number"))
	if err != nil || n < 1 || n > 2*calendar.MostVersions {
		return 0, calendar.ErrNotFound
	}
	return n, nil
}
