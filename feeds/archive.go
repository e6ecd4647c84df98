package feeds

import (
	"context"
	"errors"
	"fmt"
	"reflect"
	"slices"
	"strings"

	"budswell/calendar"
	"budswell/climate"
	"budswell/feeds/wording"
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
	sources, err := store.WeatherSources(ctx)
	if err != nil {
		return nil, err
	}
	for _, p := range places {
		a := calendar.ArchivePlaceOf(p)
		a.Sources = calendar.ArchiveSourcesOf(slices.DeleteFunc(slices.Clone(sources), func(w calendar.WeatherSource) bool {
			return w.Grower != g.ID || w.Place != p.ID
		}))
		series, err := store.Readings(ctx, g.ID, p.ID)
		if err != nil {
			return nil, err
		}
		a.Readings = calendar.ArchiveReadingsOf(series)
		out.Places = append(out.Places, a)
	}
	wants, err := store.Preferences(ctx, g.ID)
	if err != nil {
		return nil, err
	}
	out.Nudges = preferred(wants)
	locale, err := store.Locale(ctx, g.ID)
	if err != nil {
		return nil, err
	}
	if locale != calendar.DefaultLocale() {
		out.Locale = &locale
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
	rules, err := store.Amendments(ctx, calendar.Whose{Grower: g.ID})
	if err != nil {
		return nil, err
	}
	out.Rules = calendar.ArchiveRulesOf(rules)
	if out.Shares, err = sharesOf(ctx, store, g.ID); err != nil {
		return nil, err
	}
	return out, nil
}

// Addition is what an archive adds to what a grower has. It only ever adds:
// what is there already stays as it is.
type Addition struct {
	Grower calendar.Grower
	New    bool                  // there is no such grower yet
	Nudges *calendar.Preferences // nil: they stay
	Places []calendar.Place
	Fed    []NewSources     // of places that have none, new ones among them
	Read   []NewReadings    // at places, old ones among them
	Trees  []calendar.Kept  // new ones, and those whose log grows
	Feeds  []calendar.Feed  // without the hash of a link
	Shows  []calendar.Show  // with those that are there; nil: none is new
	Hours  *calendar.Hours  // nil: none, or there are some
	Locale *calendar.Locale // nil: it stays
	Rules  []calendar.Amendment
	Shares []string // clubs in which sightings are to be shared

	Adds, Stays []string // the same in words
}

// NewSources are where the weather of a place of an id keeps coming from.
type NewSources struct {
	Place   string
	Sources []calendar.WeatherSource
}

// NewReadings are days that were read at a place of an id.
type NewReadings struct {
	Place string
	climate.Series
}

// preferred returns preferences in the one form in which they are archived.
func preferred(p calendar.Preferences) *calendar.Preferences {
	p.Off = append([]string{}, p.Off...)
	return &p
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
	for _, add := range []func(context.Context, calendar.Store, *calendar.ArchiveGrower) error{out.addNudges, out.addPlaces, out.addTrees, out.addFeeds, out.addWishes, out.addLocale, out.addRules, out.addShares} {
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
		if err := d.addSources(ctx, store, &a.Places[i]); err != nil {
			return err
		}
		if err := d.addReadings(ctx, store, &a.Places[i]); err != nil {
			return err
		}
	}
	return nil
}

// addNudges takes over what a grower wants to be told, unless that was said here.
func (d *Addition) addNudges(ctx context.Context, store calendar.Store, a *calendar.ArchiveGrower) error {
	if a.Nudges == nil {
		return nil
	}
	wants := preferred(calendar.DefaultPreferences())
	if !d.New {
		p, err := store.Preferences(ctx, d.Grower.ID)
		if err != nil {
			return err
		}
		if !reflect.DeepEqual(preferred(p), wants) {
			d.stays("what to be told, and when")
			return nil
		}
	}
	if d.Nudges = preferred(*a.Nudges); reflect.DeepEqual(d.Nudges, wants) {
		d.Nudges = nil
		return nil
	}
	d.adds("what to be told, and when")
	return nil
}

// addSources adds where weather keeps coming from, to a place that has it from nowhere.
func (d *Addition) addSources(ctx context.Context, store calendar.Store, p *calendar.ArchivePlace) error {
	known, err := store.WeatherSources(ctx)
	if err != nil || len(p.Sources) == 0 || slices.ContainsFunc(known, func(w calendar.WeatherSource) bool { return w.Grower == d.Grower.ID && w.Place == p.ID }) {
		return err
	}
	d.Fed = append(d.Fed, NewSources{p.ID, p.WeatherSources(d.Grower.ID)})
	d.adds("%s of weather for %s", wording.Count(len(p.Sources), "source"), p.Name)
	return nil
}

// addReadings adds the days of own readings that are not there yet.
func (d *Addition) addReadings(ctx context.Context, store calendar.Store, p *calendar.ArchivePlace) error {
	if len(p.Readings) == 0 {
		return nil
	}
	known, err := store.Readings(ctx, d.Grower.ID, p.ID)
	if err != nil {
		return err
	}
	for i := range p.Readings {
		s := p.Readings[i].Series()
		for _, k := range known {
			if k.Source != s.Source || k.Kind != s.Kind {
				continue
			}
			have := make(map[climate.Date]bool, len(k.Readings))
			for _, r := range k.Readings {
				have[r.On] = true
			}
			s.Readings = slices.DeleteFunc(s.Readings, func(r climate.Reading) bool { return have[r.On] })
			s.Elevation = k.Elevation
		}
		if n := len(s.Readings); n > 0 {
			d.Read = append(d.Read, NewReadings{p.ID, s})
			d.adds("%s of own readings at %s", wording.Count(n, "day"), p.Name)
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
	s := fmt.Sprintf("%v %q %q %q %q %q", e.On, e.Did, e.Saw, e.NotYet, e.Moved, e.Note)
	if e.Judged != nil {
		s += fmt.Sprintf(" judged %q %q", e.Judged.Stage, e.Judged.Strength)
	}
	if e.FieldSoilLeft != nil {
		s += fmt.Sprint(" left ", *e.FieldSoilLeft)
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
	if d.Locale != nil {
		if err := cfg.Store.PutLocale(ctx, d.Grower.ID, *d.Locale); err != nil {
			return out, err
		}
	}
	if d.Nudges != nil {
		if err := cfg.Store.PutPreferences(ctx, d.Grower.ID, *d.Nudges); err != nil {
			return out, err
		}
	}
	for _, p := range d.Places {
		if err := cfg.Store.PutPlace(ctx, p); err != nil {
			return out, err
		}
	}
	for _, f := range d.Fed {
		if err := cfg.Store.PutWeatherSources(ctx, d.Grower.ID, f.Place, f.Sources); err != nil {
			return out, err
		}
	}
	for _, r := range d.Read {
		if _, err := cfg.Store.PutReadings(ctx, d.Grower.ID, r.Place, r.Series, false); err != nil {
			return out, err
		}
	}
	if err := d.writeRules(ctx, cfg.Store); err != nil {
		return out, err
	}
	for _, t := range d.Trees {
		if err := cfg.Store.PutTree(ctx, t); err != nil {
			return out, err
		}
	}
	if err := d.writeWishes(ctx, cfg.Store); err != nil {
		return out, err
	}
	for _, club := range d.Shares {
		if err := cfg.Store.PutShares(ctx, club, d.Grower.ID, true); err != nil {
			return out, err
		}
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
