package feeds

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"slices"
	"time"

	"budswell/calendar"
	"budswell/climate"
)

// Links are the secret and public addresses of what a grower has. The secret
// ones are known once only, when they are made.
type Links struct {
	Page   string   // empty: as it was
	Feeds  []string // those that were made, in the order of the plan file
	Region string   // of its page; empty: no region
}

// Settle puts what a plan file holds, with the weather of its site, into the
// store: a grower, a place, its trees, the feeds and the region that it names, which
// is to have its bands (see [calendar.File.RegionWith]).
// The ids of grower and place are the caller's. What is there already is
// changed to what the file says; its links stay, unless they are to be renewed.
func Settle(ctx context.Context, cfg Config, f *calendar.File, w climate.Weather, grower, place string, renew bool) (Links, error) {
	var out Links
	if err := settleGrower(ctx, cfg, f.Grower, grower, renew, &out); err != nil {
		return out, err
	}
	if err := cfg.Store.PutPlace(ctx, calendar.Place{ID: place, Grower: grower, Site: f.Site, Weather: w, Benches: f.Benches}); err != nil {
		return out, err
	}
	for _, t := range f.Trees {
		if err := cfg.Store.PutTree(ctx, calendar.Kept{Tree: t, Grower: grower, Place: place}); err != nil {
			return out, err
		}
	}
	if err := settleWishes(ctx, cfg.Store, f, grower); err != nil {
		return out, err
	}
	if err := settleFeeds(ctx, cfg, f.Feeds, grower, renew, &out); err != nil {
		return out, err
	}
	if f.Region != nil {
		r := *f.Region
		known, err := cfg.Store.Region(ctx, r.ID)
		if err != nil && !errors.Is(err, calendar.ErrNotFound) {
			return out, err
		}
		if err == nil && known.Name != r.Name {
			return out, fmt.Errorf("region %q is there already as %q: want that name, or another id: %w", r.ID, known.Name, calendar.ErrConflict)
		}
		if known.Club != "" {
			return out, fmt.Errorf("region %q belongs to the club %q: change it on the club's pages, or take another id: %w", r.ID, known.Club, calendar.ErrConflict)
		}
		if err := cfg.Store.PutRegion(ctx, r); err != nil {
			return out, err
		}
		out.Region = RegionLink(cfg.Base, r.ID)
	}
	return out, nil
}

func settleGrower(ctx context.Context, cfg Config, g calendar.Grower, id string, renew bool, out *Links) error {
	g.ID = id
	known, err := cfg.Store.Grower(ctx, id)
	if err != nil && !errors.Is(err, calendar.ErrNotFound) {
		return err
	}
	if known.Email != "" && g.Email != known.Email {
		return fmt.Errorf("grower %q is there already with another mail address, %s: want that address, or another id: %w", id, known.Email, calendar.ErrConflict)
	}
	if g.KeyHash = known.KeyHash; g.KeyHash == "" || renew {
		secret, hash, err := NewSecret(cfg.Random)
		if err != nil {
			return err
		}
		g.KeyHash, out.Page = hash, PageLink(cfg.Base, secret)
	}
	return cfg.Store.PutGrower(ctx, g)
}

// settleFeeds makes the feeds, or changes what those of the same name show. One
// that was withdrawn comes back only with the links that are renewed.
func settleFeeds(ctx context.Context, cfg Config, feeds []calendar.Feed, grower string, renew bool, out *Links) error {
	known, err := cfg.Store.Feeds(ctx, grower)
	if err != nil {
		return err
	}
	for _, f := range feeds {
		f.Grower, f.Created = grower, cfg.Now()
		same := slices.IndexFunc(known, func(k calendar.Feed) bool { return k.Name == f.Name && k.Revoked.IsZero() })
		if same < 0 && !renew && slices.ContainsFunc(known, func(k calendar.Feed) bool { return k.Name == f.Name }) {
			continue // it was withdrawn, and stays so
		}
		if same >= 0 {
			f.ID, f.TokenHash = known[same].ID, known[same].TokenHash
		} else if f.ID, _, err = NewSecret(cfg.Random); err != nil {
			return err
		}
		if same < 0 || renew {
			secret, hash, err := NewSecret(cfg.Random)
			if err != nil {
				return err
			}
			f.TokenHash = hash
			out.Feeds = append(out.Feeds, FeedLink(cfg.Base, secret))
		}
		if err := cfg.Store.PutFeed(ctx, f); err != nil {
			return err
		}
	}
	return nil
}

// Demo is a story of a grower's years that is moved to end with the present one.
type Demo struct {
	Files fs.FS
	Plan  string // name of the plan file, which names a station file beside it
	Club  string // name of the file of the club that publishes the plan file's region
	Story int    // the last year of the story

	// Read reads a station file.
	Read func(name string, r io.Reader) (*climate.Record, error)
}

// demoID is the id of the demo's grower, and of the place.
const demoID = "demo"

// story is a demo that is being moved.
type story struct {
	cfg     Config
	demo    Demo
	station float64 // elevation of the station, which stands at the grower's site, m
	today   climate.Date
	years   int // by which it is moved
	records map[string]*climate.Record
}

// plan reads a plan file and moves its trees.
func (s *story) plan(name string) (*calendar.File, error) {
	text, err := fs.ReadFile(s.demo.Files, name)
	if err != nil {
		return nil, err
	}
	f, err := calendar.ReadFile(name, text, s.cfg.Lore, climate.NoDate)
	if err != nil {
		return nil, err
	}
	if s.today == climate.NoDate { // the first of them says where today is
		zone, err := f.Site.Location()
		if err != nil {
			return nil, err
		}
		s.today = climate.DateOf(s.cfg.Now().In(zone))
		s.years, s.station = s.today.Year()-s.demo.Story, f.Site.Elevation
	}
	f.Trees = moveTrees(f.Trees, s.years, s.today)
	return f, nil
}

// record reads a station file and moves it. Whoever names the same file shares it.
func (s *story) record(name string) (*climate.Record, error) {
	if r := s.records[name]; r != nil {
		return r, nil
	}
	text, err := fs.ReadFile(s.demo.Files, name)
	if err != nil {
		return nil, err
	}
	r, err := s.demo.Read(name, bytes.NewReader(text))
	if err != nil {
		return nil, err
	}
	s.records[name] = moveRecord(r, s.years)
	return s.records[name], nil
}

// LoadDemo settles the demo as of now, in a store in which it is not yet, and returns its
// addresses.
func LoadDemo(ctx context.Context, cfg Config, d Demo) (Links, error) {
	links, err := (&story{cfg: cfg, demo: d, today: climate.NoDate, records: map[string]*climate.Record{}}).load(ctx)
	if err != nil {
		return links, fmt.Errorf("load the demo: %w", err)
	}
	return links, nil
}

func (s *story) load(ctx context.Context) (Links, error) {
	f, err := s.plan(s.demo.Plan)
	if err != nil {
		return Links{}, err
	}
	r, err := s.record(f.Weather.Record)
	if err != nil {
		return Links{}, err
	}
	f.Shows = moveShows(f.Shows, f.Trees, s.years)
	if f.Hours != nil {
		moveHours(f.Hours, s.years)
	}
	f.Feeds = slices.DeleteFunc(f.Feeds, func(feed calendar.Feed) bool { return !anyOf(f.Trees, feed.Filter.Trees) })
	w := climate.Weather{Record: r}
	own := *f
	own.Region = nil // the club's, which its grower has to be there for first
	links, err := Settle(ctx, s.cfg, &own, w, demoID, demoID, false)
	if err != nil {
		return links, err
	}
	club, tell, err := s.club(ctx)
	if err != nil {
		return links, fmt.Errorf("%s: %w", s.demo.Club, err)
	}
	region, err := f.RegionWith(f.Site, w, s.record)
	if err != nil {
		return links, err
	}
	if err := tell(ctx); err != nil {
		return links, fmt.Errorf("%s: %w", s.demo.Club, err)
	}
	region.Club = club
	links.Region = RegionLink(s.cfg.Base, region.ID)
	return links, s.cfg.Store.PutRegion(ctx, *region)
}

func anyOf(trees []calendar.Tree, ids []string) bool {
	return len(ids) == 0 || slices.ContainsFunc(trees, func(t calendar.Tree) bool { return slices.Contains(ids, t.ID) })
}

// moveTrees moves logs by whole years and leaves out what lies after today, and
// trees of which then nothing is left: they are still to come.
func moveTrees(trees []calendar.Tree, years int, today climate.Date) []calendar.Tree {
	var out []calendar.Tree
	for _, t := range trees {
		var log []calendar.Entry
		for _, e := range t.Log {
			if e.On = moveDate(e.On, years); e.On <= today {
				log = append(log, e)
			}
		}
		if t.Log = log; len(log) > 0 {
			out = append(out, t)
		}
	}
	return out
}

// moveShows moves shows by whole years, and leaves out trees that are still to come.
func moveShows(shows []calendar.Show, trees []calendar.Tree, years int) []calendar.Show {
	var out []calendar.Show
	for _, s := range shows {
		s.On = moveDate(s.On, years)
		s.Trees = slices.DeleteFunc(slices.Clone(s.Trees), func(id string) bool { return !anyOf(trees, []string{id}) })
		if len(s.Trees) > 0 {
			out = append(out, s)
		}
	}
	return out
}

// moveHours moves the days of hours that are not those of every week.
func moveHours(h *calendar.Hours, years int) {
	for i := range h.Away {
		h.Away[i] = calendar.Absence{From: moveDate(h.Away[i].From, years), To: moveDate(h.Away[i].To, years)}
	}
	for i := range h.Extra {
		h.Extra[i].On = moveDate(h.Extra[i].On, years)
	}
	for i := range h.Helpers {
		if h.Helpers[i].On.Valid() {
			h.Helpers[i].On = moveDate(h.Helpers[i].On, years)
		}
	}
}

// moveDate keeps month and day; 29 February becomes the 28th in other years.
func moveDate(d climate.Date, years int) climate.Date {
	t := d.Time()
	moved := climate.NewDate(t.Year()+years, t.Month(), t.Day())
	if moved.Day() != t.Day() {
		return moved - 1
	}
	return moved
}

// moveRecord moves a record by whole years. A 29 February that it gains is
// missing, one that it loses is dropped.
func moveRecord(r *climate.Record, years int) *climate.Record {
	out := &climate.Record{Source: r.Source, First: moveDate(r.First, years)}
	for d := out.First; d <= moveDate(r.Last(), years); d++ {
		t := d.Time()
		from := climate.NewDate(t.Year()-years, t.Month(), t.Day())
		day := r.At(from)
		if t.Month() == time.February && t.Day() == 29 && from.Month() != time.February {
			day = climate.Day{}
		}
		out.Days = append(out.Days, day)
	}
	return out
}
