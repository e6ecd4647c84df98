package feeds

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

	"budswell/calendar"
)

// Collect returns everything that growers entered, in a form to take along; of
// all growers, or of those named.
func Collect(ctx context.Context, store calendar.Store, only ...string) (*calendar.Archive, error) {
	growers, err := store.Growers(ctx)
	if err != nil {
		return nil, err
	}
	for _, id := range only {
		if !slices.ContainsFunc(growers, func(g calendar.Grower) bool { return g.ID == id }) {
			return nil, fmt.Errorf("grower %q: %w", id, calendar.ErrNotFound)
		}
	}
	out := &calendar.Archive{Format: calendar.ArchiveFormat, Version: calendar.ArchiveVersion, Growers: []calendar.ArchiveGrower{}}
	for _, g := range growers {
		if len(only) > 0 && !slices.Contains(only, g.ID) {
			continue
		}
		a, err := collect(ctx, store, g)
		if err != nil {
			return nil, err
		}
		out.Growers = append(out.Growers, *a)
	}
	return out, nil
}

func collect(ctx context.Context, store calendar.Store, g calendar.Grower) (*calendar.ArchiveGrower, error) {
	out := &calendar.ArchiveGrower{
		ID: g.ID, Name: g.Name, Email: g.Email,
		Places: []calendar.ArchivePlace{}, Trees: []calendar.ArchiveTree{}, Feeds: []calendar.ArchiveFeed{},
	}
	places, err := store.Places(ctx, g.ID)
	if err != nil {
		return nil, err
	}
	for _, p := range places {
		out.Places = append(out.Places, calendar.ArchivePlaceOf(p))
	}
	trees, err := store.Trees(ctx, g.ID)
	if err != nil {
		return nil, err
	}
	for _, t := range trees {
		if t.Log == nil {
			t.Log = []calendar.Entry{}
		}
		out.Trees = append(out.Trees, calendar.ArchiveTree{Place: t.Place, Tree: t.Tree})
	}
	feeds, err := store.Feeds(ctx, g.ID)
	if err != nil {
		return nil, err
	}
	for _, f := range feeds {
		if f.Revoked.IsZero() {
			out.Feeds = append(out.Feeds, calendar.ArchiveFeed{ID: f.ID, Name: f.Name, Created: f.Created, Filter: f.Filter})
		}
	}
	if out.Shows, err = store.Shows(ctx, g.ID); err != nil {
		return nil, err
	}
	if out.Hours, err = store.Hours(ctx, g.ID); err != nil {
		return nil, err
	}
	return out, nil
}

// Addition is what an archive adds to what a grower has. It only ever adds:
// what is there already stays as it is.
type Addition struct {
	Grower calendar.Grower
	New    bool // there is no such grower yet
	Places []calendar.Place
	Trees  []calendar.Kept // new ones, and those whose log grows
	Feeds  []calendar.Feed // without the hash of a link
	Shows  []calendar.Show // with those that are there; nil: none is new
	Hours  *calendar.Hours // nil: none, or there are some

	Adds, Stays []string // the same in words
}

// Add works out what an archived grower adds to the grower of an id, and writes
// nothing.
func Add(ctx context.Context, store calendar.Store, a *calendar.ArchiveGrower, id string) (*Addition, error) {
	out := &Addition{Grower: calendar.Grower{ID: id, Name: a.Name, Email: a.Email}}
	known, err := store.Grower(ctx, id)
	switch {
	case errors.Is(err, calendar.ErrNotFound):
		out.New = true
		out.adds("grower %s", a.Name)
	case err != nil:
		return nil, err
	default:
		out.Grower = known
	}
	for _, add := range []func(context.Context, calendar.Store, *calendar.ArchiveGrower) error{out.addPlaces, out.addTrees, out.addFeeds, out.addWishes} {
		if err := add(ctx, store, a); err != nil {
			return nil, err
		}
	}
	return out, nil
}

func (d *Addition) adds(format string, args ...any) {
	d.Adds = append(d.Adds, fmt.Sprintf(format, args...))
}

func (d *Addition) stays(format string, args ...any) {
	d.Stays = append(d.Stays, fmt.Sprintf(format, args...))
}

func (d *Addition) addPlaces(ctx context.Context, store calendar.Store, a *calendar.ArchiveGrower) error {
	for i := range a.Places {
		p, err := a.Places[i].Place(d.Grower.ID)
		if err != nil {
			return fmt.Errorf("place %q: %w", a.Places[i].ID, err)
		}
		known, err := store.Place(ctx, d.Grower.ID, p.ID)
		switch {
		case errors.Is(err, calendar.ErrNotFound):
			d.Places = append(d.Places, p)
			d.adds("place %s", p.Site.Name)
		case err != nil:
			return err
		case known.Site.Lat != p.Site.Lat || known.Site.Lon != p.Site.Lon:
			return fmt.Errorf("place %q: is %v, %v here and %v, %v there; want another id for it: %w",
				p.ID, known.Site.Lat, known.Site.Lon, p.Site.Lat, p.Site.Lon, calendar.ErrConflict)
		default:
			d.stays("place %s", p.Site.Name)
		}
	}
	return nil
}

func (d *Addition) addTrees(ctx context.Context, store calendar.Store, a *calendar.ArchiveGrower) error {
	known, err := store.Trees(ctx, d.Grower.ID)
	if err != nil {
		return err
	}
	for i := range a.Trees {
		t := &a.Trees[i]
		at := slices.IndexFunc(known, func(k calendar.Kept) bool { return k.ID == t.ID })
		if at < 0 {
			d.Trees = append(d.Trees, calendar.Kept{Grower: d.Grower.ID, Place: t.Place, Tree: t.Tree})
			d.adds("tree %s with %s", t.Name, entries(len(t.Log)))
			continue
		}
		k := known[at]
		if !strings.EqualFold(k.Species, t.Species) {
			return fmt.Errorf("tree %q: is a %s here and a %s there; want another id for it: %w", t.ID, k.Species, t.Species, calendar.ErrConflict)
		}
		have := map[string]bool{}
		for _, e := range k.Log {
			have[entryKey(e)] = true
		}
		k.Log = slices.DeleteFunc(slices.Clone(t.Log), func(e calendar.Entry) bool { return have[entryKey(e)] })
		if len(k.Log) == 0 {
			d.stays("tree %s", k.Name)
			continue
		}
		d.Trees = append(d.Trees, k)
		d.adds("%s in the log of %s", entries(len(k.Log)), k.Name)
	}
	return nil
}

func entries(n int) string {
	if n == 1 {
		return "1 entry"
	}
	return fmt.Sprintf("%d entries", n)
}

// entryKey is the same for entries that say the same of the same day.
func entryKey(e calendar.Entry) string {
	s := fmt.Sprint(e.On, e.Did, e.Saw, e.NotYet, e.Note)
	if e.Judged != nil {
		s += fmt.Sprint(*e.Judged)
	}
	if e.FieldSoilLeft != nil {
		s += fmt.Sprint(*e.FieldSoilLeft)
	}
	return s
}

func (d *Addition) addFeeds(ctx context.Context, store calendar.Store, a *calendar.ArchiveGrower) error {
	known, err := store.Feeds(ctx, d.Grower.ID)
	if err != nil {
		return err
	}
	for _, f := range a.Feeds {
		if slices.ContainsFunc(known, func(k calendar.Feed) bool { return k.ID == f.ID }) {
			d.stays("feed %s", f.Name)
			continue
		}
		d.Feeds = append(d.Feeds, calendar.Feed{Grower: d.Grower.ID, ID: f.ID, Name: f.Name, Created: f.Created, Filter: f.Filter})
		d.adds("feed %s, with a new link", f.Name)
	}
	return nil
}

// Write writes the addition and returns the links that were made, those of feeds
// in the addition's order. Where it is cut off, the same archive added again
// adds the rest.
func (d *Addition) Write(ctx context.Context, cfg Config) (Links, error) {
	var out Links
	if d.New {
		secret, hash, err := NewSecret(cfg.Random)
		if err != nil {
			return out, err
		}
		d.Grower.KeyHash, out.Page = hash, PageLink(cfg.Base, secret)
		if err := cfg.Store.PutGrower(ctx, d.Grower); err != nil {
			return out, err
		}
	}
	for _, p := range d.Places {
		if err := cfg.Store.PutPlace(ctx, p); err != nil {
			return out, err
		}
	}
	for _, t := range d.Trees {
		if err := cfg.Store.PutTree(ctx, t); err != nil {
			return out, err
		}
	}
	if err := d.writeWishes(ctx, cfg.Store); err != nil {
		return out, err
	}
	for _, f := range d.Feeds {
		secret, hash, err := NewSecret(cfg.Random)
		if err != nil {
			return out, err
		}
		f.TokenHash = hash
		if err := cfg.Store.PutFeed(ctx, f); err != nil {
			return out, err
		}
		out.Feeds = append(out.Feeds, FeedLink(cfg.Base, secret))
	}
	return out, nil
}
