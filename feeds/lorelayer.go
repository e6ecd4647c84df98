package feeds

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"slices"
	"strings"

	"budswell/calendar"
	"budswell/calendar/lore"
	"budswell/climate"
	"budswell/feeds/wording"
)

// knowing is the lore that somebody's trees are planned by, and what of their own words
// had to be left out of it.
type knowing struct {
	lore *calendar.Lore
	left []lore.Left
}

// layers are the words that are laid over the service's lore, the lowest first.
type layers [][]lore.File

// known lays layers over the service's lore. Who lays nothing over it shares it; what was
// made for others of the same words is used again.
func (s *Server) known(l layers) (*knowing, error) {
	if s.cfg.Ground == nil || len(slices.Concat(l...)) == 0 {
		return &knowing{lore: s.cfg.Lore}, nil
	}
	text, err := json.Marshal(l)
	if err != nil {
		return nil, err
	}
	h := sha256.Sum256(text)
	return s.lores.get(hex.EncodeToString(h[:]), func(*knowing) bool { return true }, func(*knowing, bool) (*knowing, error) {
		known, left := s.cfg.Ground.With(l...)
		return &knowing{known, left}, nil
	})
}

// layersOf returns the words that hold for a grower: of the clubs whose rules they follow,
// in the order of their ids, then their own.
func (s *Server) layersOf(ctx context.Context, grower string) (layers, error) {
	if s.cfg.Ground == nil {
		return nil, nil
	}
	var out layers
	followed, err := s.cfg.Store.Followed(ctx, grower)
	if err != nil {
		return nil, err
	}
	for _, club := range followed {
		files, err := s.filesOf(ctx, calendar.Whose{Club: club})
		if err != nil {
			return nil, err
		}
		out = append(out, files)
	}
	own, err := s.filesOf(ctx, calendar.Whose{Grower: grower})
	return append(out, own), err
}

// filesOf reads what a grower or club says in the place of the lore.
func (s *Server) filesOf(ctx context.Context, of calendar.Whose) ([]lore.File, error) {
	all, err := s.cfg.Store.Amendments(ctx, of)
	if err != nil || len(all) == 0 {
		return nil, err
	}
	from := calendar.From{Layer: calendar.LayerGrower, ID: of.Grower}
	if of.Club != "" {
		c, err := s.cfg.Store.Club(ctx, of.Club)
		if err != nil {
			return nil, err
		}
		from = calendar.From{Layer: calendar.LayerClub, ID: c.ID, Name: c.Name}
	}
	out := make([]lore.File, len(all))
	for i := range all {
		if out[i], err = s.fileOf(ctx, &all[i], from); err != nil {
			return nil, err
		}
	}
	return out, nil
}

// fileOf makes a file of an amendment; from says whose it is.
func (s *Server) fileOf(ctx context.Context, a *calendar.Amendment, from calendar.From) (lore.File, error) {
	from.Since = climate.DateOf(a.At.UTC())
	if a.Club != "" {
		by, err := s.nameOf(ctx, a.Who)
		if err != nil {
			return lore.File{}, err
		}
		from.By = by
	}
	return lore.File{Name: a.Subject, Text: []byte(a.Text), From: from}, nil
}

// nameOf returns the name of a grower; empty of one who has left.
func (s *Server) nameOf(ctx context.Context, id string) (string, error) {
	if id == "" {
		return "", nil
	}
	g, err := s.cfg.Store.Grower(ctx, id)
	if errors.Is(err, calendar.ErrNotFound) {
		return "", nil
	}
	return g.Name, err
}

// loreOf returns the lore that a grower's trees are planned by.
func (s *Server) loreOf(ctx context.Context, grower string) (*knowing, error) {
	l, err := s.layersOf(ctx, grower)
	if err != nil {
		return nil, err
	}
	return s.known(l)
}

// loreOfRegion returns the lore that a region is planned by: with the words of its club,
// but for cautions that hold in others of the club's regions.
func (s *Server) loreOfRegion(ctx context.Context, r *calendar.Region) (*knowing, error) {
	if r.Club == "" || s.cfg.Ground == nil {
		return &knowing{lore: s.cfg.Lore}, nil
	}
	files, err := s.filesOf(ctx, calendar.Whose{Club: r.Club})
	if err != nil {
		return nil, err
	}
	k, err := s.known(layers{files})
	if err != nil {
		return nil, err
	}
	return s.regional(ctx, r, k)
}

// regional leaves out of a club's lore the cautions that hold in others of its regions.
func (s *Server) regional(ctx context.Context, r *calendar.Region, k *knowing) (*knowing, error) {
	if k.lore == s.cfg.Lore {
		return k, nil
	}
	all, err := s.cfg.Store.Regions(ctx)
	if err != nil {
		return nil, err
	}
	elsewhere := func(c calendar.Caution) bool {
		if c.Region == "" || strings.EqualFold(c.Region, r.Name) || c.Region == r.ID {
			return false
		}
		return slices.ContainsFunc(all, func(o calendar.Region) bool {
			return o.Club == r.Club && (strings.EqualFold(c.Region, o.Name) || c.Region == o.ID)
		})
	}
	if !slices.ContainsFunc(k.lore.Cautions, elsewhere) {
		return k, nil
	}
	here := *k.lore
	here.Cautions = slices.DeleteFunc(slices.Clone(here.Cautions), elsewhere)
	return &knowing{&here, k.left}, nil
}

// knownTo is the lore of loreOf, and that of the service where it cannot be read now:
// names of works and species are then those that all know.
func (s *Server) knownTo(ctx context.Context, grower string) *calendar.Lore {
	k, err := s.loreOf(ctx, grower)
	if err != nil {
		s.cfg.Log.ErrorContext(ctx, "own rules cannot be read", "grower", grower, "error", err)
		return s.cfg.Lore
	}
	return k.lore
}

// logLeft logs what of somebody's own words was left out.
func (s *Server) logLeft(ctx context.Context, owner string, left []lore.Left) {
	for _, l := range left {
		s.cfg.Log.WarnContext(ctx, "a rule is left out: by the lore of today it has a fault", "owner", owner, "from", l.File.From.ID, "subject", l.File.Name, "fault", l.Faults.Error())
	}
}

// plannable parts trees into those that the lore can plan, and the names of those that
// it cannot, with why: they hang on words that no longer hold.
func plannable(l *calendar.Lore, p *calendar.Place, trees []calendar.Tree) (can []calendar.Tree, cannot []string) {
	for i := range trees {
		if faults := trees[i].Check(l, p.Site, climate.NoDate); len(faults) > 0 {
			cannot = append(cannot, trees[i].Name+": "+wording.Sentence(faults[0].Error()))
			continue
		}
		can = append(can, trees[i])
	}
	return can, cannot
}

// leftWords says that words of somebody's own, or of a club, are left out of the plan, or
// trees that hang on them; empty where all hold.
func (g *garden) leftWords(in *wording.Tongue) string {
	var parts []string
	if n := len(g.left); n > 0 {
		parts = append(parts, in.Say("{1} of your own, or of a club, left out of the plan, since by the rules of today there is a fault in it.", wording.Amount{N: n, Thing: "rule"}))
	}
	if n := len(g.without); n > 0 {
		parts = append(parts, in.Say("{1} not planned, since what it is, or was done to it, is not known any more.", wording.Amount{N: n, Thing: "tree"}))
	}
	return strings.Join(parts, " ")
}
