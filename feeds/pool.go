package feeds

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"math"
	"net/http"
	"slices"

	"github.com/labstack/echo/v4"

	"budswell/calendar"
	"budswell/climate"
	"budswell/climate/phenology"
	"budswell/feeds/pages"
	"budswell/feeds/wording"
)

// contribute puts what a grower's sightings tell into the pools of the clubs in which
// the grower shares; elsewhere nothing is kept of it. A plan is good without.
func (s *Server) contribute(ctx context.Context, grower string, tell []calendar.Telling) {
	mine, err := s.cfg.Store.Memberships(ctx, grower)
	if err == nil && slices.ContainsFunc(mine, func(m calendar.Member) bool { return m.Shares }) {
		_, err = s.cfg.Store.PutTellings(ctx, grower, tell)
	}
	if err != nil {
		s.cfg.Log.ErrorContext(ctx, "not pooled", "grower", grower, "error", err)
	}
}

// poolOf is what a region of a club learns from: what its members share.
func (s *Server) poolOf(ctx context.Context, club string) ([]phenology.Pooled, error) {
	if club == "" {
		return nil, nil
	}
	all, err := s.cfg.Store.Pool(ctx, club)
	if err != nil {
		return nil, err
	}
	var out []phenology.Pooled
	for i := range all {
		if !all[i].Aside {
			out = append(out, all[i].Pooled)
		}
	}
	return out, nil
}

func (s *Server) poolPage(c echo.Context, g calendar.Grower, at seat) error {
	return s.poolWith(c, g, at, http.StatusOK, "")
}

func (s *Server) poolWith(c echo.Context, g calendar.Grower, at seat, status int, fault string) error {
	ctx := c.Request().Context()
	all, err := s.cfg.Store.Pool(ctx, at.Club.ID)
	if err != nil {
		return err
	}
	p := &pages.Pool{
		CSRF: csrfToken(c), ID: at.Club.ID, Name: at.Club.Name, Said: s.sessions.PopString(ctx, sessionSaid), Fault: fault,
		Keeps: at.Member.Role.May(calendar.Keeper), Shares: at.Member.Shares,
	}
	in := tongueOf(ctx)
	for _, b := range calendar.Bands(all) {
		seen := in.Say("{1} by {2}, {3}", wording.Amount{N: b.Trees, Thing: "sighting"}, wording.Amount{N: b.Growers, Thing: "grower"}, in.ShortDay(b.First))
		if b.Last > b.First {
			seen = in.Say("{1} by {2}, {3} to {4}", wording.Amount{N: b.Trees, Thing: "sighting"}, wording.Amount{N: b.Growers, Thing: "grower"}, in.ShortDay(b.First), in.ShortDay(b.Last))
		}
		if n := len(p.Springs); n == 0 || p.Springs[n-1].Year != b.Year {
			p.Springs = append(p.Springs, pages.PoolSpring{Year: b.Year})
		}
		spring := &p.Springs[len(p.Springs)-1]
		spring.Bands = append(spring.Bands, pages.PoolBand{Species: b.Species, Common: s.commonly(in, b.Species), Band: in.Say("{1} to {2} m", b.Low, b.High), Seen: seen, Late: lateness(in, b.Late)})
	}
	for i := range all {
		if all[i].Grower == g.ID {
			p.Mine = append(p.Mine, poolRow(in, &all[i], lateness(in, all[i].Late)))
		}
	}
	slices.Reverse(p.Mine) // the newest first, as far as a species goes
	if p.Keeps {
		if err := s.addOdd(ctx, at.Club.ID, all, p); err != nil {
			return err
		}
	}
	return s.page(c, status, func(b *bytes.Buffer) error { return s.in(c).Pool(b, p) })
}

// commonly is what people call a species; empty where that is not known.
func (s *Server) commonly(in *wording.Tongue, species string) string {
	sp, err := s.cfg.Lore.SpeciesNamed(species)
	if err != nil {
		return ""
	}
	return wording.Capital(in.Common(sp.Name, sp.Common))
}

// addOdd adds what keepers alone see: whose sightings are far off, and what was set aside.
func (s *Server) addOdd(ctx context.Context, club string, all []calendar.PooledEntry, p *pages.Pool) error {
	in := tongueOf(ctx)
	names := map[string]string{"": in.Say("a keeper who has left")}
	name := func(id string) (string, error) {
		if n, ok := names[id]; ok {
			return n, nil
		}
		g, err := s.cfg.Store.Grower(ctx, id)
		if errors.Is(err, calendar.ErrNotFound) {
			g.Name, err = in.Say("somebody who has left"), nil
		}
		names[id] = g.Name
		return g.Name, err
	}
	seen := map[string]bool{}
	for _, o := range calendar.OddOnes(all) {
		r := poolRow(in, &o.PooledEntry, oddness(in, &o))
		if seen[r.Value] {
			continue // of two trees on one day
		}
		seen[r.Value] = true
		var err error
		if r.Who, err = name(o.Grower); err != nil {
			return err
		}
		p.Odd = append(p.Odd, r)
	}
	record, err := s.cfg.Store.Asides(ctx, club)
	if err != nil {
		return err
	}
	for i := range record {
		a := &record[i]
		who, err := name(a.Grower)
		if err != nil {
			return err
		}
		keeper, err := name(a.Keeper)
		if err != nil {
			return err
		}
		fill := []any{who, a.Species, in.Lower(string(a.Phase)), in.Day(a.On), keeper, in.DayOf(a.At)}
		if a.Back {
			p.Record = append(p.Record, in.Say("{1}: {2}, {3} of {4}, let count again by {5} on {6}", fill...))
		} else {
			p.Record = append(p.Record, in.Say("{1}: {2}, {3} of {4}, set aside by {5} on {6}", fill...))
		}
	}
	return nil
}

// lateness says how far off a sighting is from what was to be expected.
func lateness(in *wording.Tongue, days float64) string {
	switch n := int(math.Round(math.Abs(days))); {
	case n == 0:
		return in.Say("as expected")
	case days < 0:
		return in.Say("{1} ahead", wording.Amount{N: n, Thing: "day"})
	default:
		return in.Say("{1} behind", wording.Amount{N: n, Thing: "day"})
	}
}

func oddness(in *wording.Tongue, o *calendar.Odd) string {
	late, others := lateness(in, o.Off), wording.Amount{N: o.Others, Thing: "other grower"}
	switch {
	case o.Others == 0 && o.Off < 0:
		return in.Say("{1} of what the forecast expected there; nobody else saw the species that spring", late)
	case o.Others == 0:
		return in.Say("{1} what the forecast expected there; nobody else saw the species that spring", late)
	case o.Off < 0:
		return in.Say("{1} of what {2} saw", late, others)
	}
	return in.Say("{1} what {2} saw", late, others)
}

func poolRow(in *wording.Tongue, e *calendar.PooledEntry, offset string) pages.PoolRow {
	return pages.PoolRow{
		Value: namedSighting(e), Species: e.Species, Phase: in.Lower(string(e.Phase)), On: in.Day(e.On), Offset: offset, Aside: e.Aside,
	}
}

// namedSighting names sightings in a form: a member's of one species, phase and day.
func namedSighting(e *calendar.PooledEntry) string {
	b, err := json.Marshal([]string{e.Grower, e.Species, string(e.Phase), e.On.String()})
	if err != nil {
		return "" // four texts always are JSON
	}
	return string(b)
}

// mostAside is how many sightings are set aside at once.
const mostAside = 500

// setAside sets sightings aside, or lets them count again.
func (s *Server) setAside(c echo.Context, g calendar.Grower, at seat) error {
	ctx := c.Request().Context()
	form, err := c.FormParams()
	if err != nil {
		return err
	}
	picked, back := form["sighting"], form.Get("do") == "back"
	switch {
	case len(picked) == 0:
		return s.poolWith(c, g, at, http.StatusUnprocessableEntity, tongueOf(ctx).Say("Nothing was changed: tick some sightings first."))
	case len(picked) > mostAside || !back && form.Get("do") != "aside":
		return refuse(calendar.ErrInvalid, "Nothing was changed: the form cannot be read. Load the page again.")
	}
	asides := make([]calendar.Aside, len(picked))
	for i, v := range picked {
		var f []string
		if err := json.Unmarshal([]byte(v), &f); err != nil || len(f) != 4 {
			return refuse(calendar.ErrInvalid, "Nothing was changed: the form cannot be read. Load the page again.")
		}
		on, err := climate.ParseDate(f[3])
		if err != nil {
			return refuse(calendar.ErrInvalid, "Nothing was changed: the form cannot be read. Load the page again.")
		}
		asides[i] = calendar.Aside{
			Club: at.Club.ID, Grower: f[0], Species: f[1], Phase: phenology.Phase(f[2]), On: on, Keeper: g.ID, At: s.cfg.Now(), Back: back,
		}
	}
	gone := 0
	for _, a := range asides {
		err := s.cfg.Store.SetAside(ctx, a)
		if errors.Is(err, calendar.ErrNotFound) {
			gone++ // taken back meanwhile
			continue
		}
		if err != nil {
			return err
		}
	}
	in := tongueOf(ctx)
	words := in.Say("What was ticked is set aside: nobody learns from it.")
	if back {
		words = in.Say("What was ticked counts again.")
	}
	if gone > 0 {
		words += " " + in.Say("{1} had been taken back already.", wording.Amount{N: gone, Thing: "sighting"})
	}
	s.sessions.Put(ctx, sessionSaid, words)
	return c.Redirect(http.StatusSeeOther, "/clubs/"+at.Club.ID+"/pool")
}
