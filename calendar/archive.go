package calendar

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"time"

	"budswell/climate"
)

// Archive is everything that growers entered, as one file to take along. It is a
// public format, in JSON, version 1:
//
//	{
//	 "format": "budswell-archive", "version": 1,
//	 "growers": [{
//	  "id": "ada", "name": "Ada", "email": "ada@example.org",
//	  "nudges": {"mail": true, "level": 0.5, ...},
//	  "places": [{
//	   "id": "north-bench", "name": "north bench",
//	   "lat": 50.1, "lon": 8.7, "elevation": 120, "tz": "Europe/Berlin",
//	   "benches": [{"id": "frame", "name": "frame", "exposure": "cold frame"}],
//	   "sources": [{"kind": "open-meteo"}, {"kind": "station", "at": "https://...", "elevation": 90}],
//	   "own_readings": [{"source": "Own readings",
//	    "days": [{"on": "2026-01-05", "tmin": -3.1, "tmax": 2, "prcp": null, "got": "2026-01-05T18:00:00Z"}]}],
//	   "normals": {...}, "frost": {...},
//	   "record": {"source": "station.csv", "first": "2020-01-01",
//	    "tmin": [-1.5, null, ...], "tmax": [...], "prcp": [...]}
//	  }],
//	  "trees": [{"id": "ridge-maple", "place": "north-bench", ..., "log": [...]}],
//	  "feeds": [{"id": "...", "name": "Work", "created": "...", "filter": {...}}]
//	 }]
//	}
//
// Normals and frost are as in a plan file, see [File]; normals that were looked
// up also have their source and error. A record has one number for each day from
// first, null where there is none; tmin and tmax in C, prcp in mm. Where numbers were not read
// at the station, origins says so: for tmin, tmax and prcp a text with one letter for each
// day, m measured, p predicted, i interpolated, t from the typical year, - missing. Trees and
// their logs have the fields of a plan file, in the order in which they were
// added; entries that were taken back are left out, for they count for nothing. A
// grower who entered trees for shows has shows, as a plan file does; one who told their
// hours has hours, in minutes: weekdays, Sunday first, away, extra, helpers (on is empty
// for those of every weekday, 0 for Sunday), minutes and set_up by work. Benches
// are as in a plan file. Rules are what the grower says in the place of the lore and stands,
// as YAML texts, see [Amendment]. Sources say where weather keeps coming from; those of kind
// folder, which name files of one machine, are left out, and refused where they are
// there. One who shares sightings in clubs has shares, the clubs' ids: that is the grower's
// own choice, while who is in a club, and what its bands take their weather from, is the club's to say and is not in the file. Own readings, which the grower typed or a folder held, have what is not known
// as null. Nudges are what the grower wants to be told, see [Preferences]; locale is in
// which language, units and form of dates, see [Locale]. Feeds are
// those not withdrawn, without their links. Seed, where it is
// not nought, is that of the generated years. There are no passwords, links, messages,
// or weather forecasts in it, no weather that services gave, which can be had from them
// again, and no webhooks: their addresses are often secrets themselves.
type Archive struct {
	Format  string          `json:"format"`
	Version int             `json:"version"`
	Growers []ArchiveGrower `json:"growers"`
}

// ArchiveFormat and ArchiveVersion stand at the head of an archive.
const (
	ArchiveFormat  = "budswell-archive"
	ArchiveVersion = 1
)

// ArchiveGrower is what one grower entered.
type ArchiveGrower struct {
	ID     string         `json:"id"`
	Name   string         `json:"name"`
	Email  string         `json:"email,omitempty"`
	Nudges *Preferences   `json:"nudges,omitempty"` // nil: not said
	Places []ArchivePlace `json:"places"`
	Trees  []ArchiveTree  `json:"trees"`
	Feeds  []ArchiveFeed  `json:"feeds"`
	Shows  []Show         `json:"shows,omitempty"`
	Hours  *Hours         `json:"hours,omitempty"`
	Rules  []ArchiveRule  `json:"rules,omitempty"`
	Shares []string       `json:"shares,omitempty"` // ids of the clubs in which sightings are shared
	Locale *Locale        `json:"locale,omitempty"` // nil: not said
}

// ArchivePlace is a place with what its grower knows of its weather.
type ArchivePlace struct {
	ID        string               `json:"id"`
	Name      string               `json:"name"`
	Lat       float64              `json:"lat"`
	Lon       float64              `json:"lon"`
	Elevation float64              `json:"elevation"`
	Zone      string               `json:"tz"`
	Normals   *climate.Normals     `json:"normals,omitempty"`
	Frost     *climate.FrostNormal `json:"frost,omitempty"`
	Seed      uint64               `json:"seed,omitempty"`
	Record    *ArchiveRecord       `json:"record,omitempty"`

	Benches  []Bench           `json:"benches,omitempty"`
	Sources  []ArchiveSource   `json:"sources,omitempty"`
	Readings []ArchiveReadings `json:"own_readings,omitempty"`
}

// ArchiveRecord is a daily series.
type ArchiveRecord struct {
	Source  string          `json:"source"`
	First   *climate.Date   `json:"first"` // null where there are no days
	Tmin    []*float64      `json:"tmin"`
	Tmax    []*float64      `json:"tmax"`
	Prcp    []*float64      `json:"prcp"`
	Origins *ArchiveOrigins `json:"origins,omitempty"`
}

// ArchiveOrigins says of each day where its numbers are from.
type ArchiveOrigins struct {
	Tmin string `json:"tmin"`
	Tmax string `json:"tmax"`
	Prcp string `json:"prcp"`
}

// ArchiveTree is a tree with where it stands.
type ArchiveTree struct {
	Place string `json:"place"`
	Tree
}

// ArchiveFeed is a feed without its link.
type ArchiveFeed struct {
	ID      string    `json:"id"`
	Name    string    `json:"name"`
	Created time.Time `json:"created"`
	Filter  Filter    `json:"filter"`
}

// Bounds of what is read, which no honest archive comes near.
const (
	archiveBytes   = 64 << 20
	archiveGrowers = 10_000
	archivePlaces  = 100   // of a grower
	archiveTrees   = 5_000 // of a grower
	archiveEntries = 5_000 // of a tree
	archiveFeeds   = 500   // of a grower
	archiveClubs   = 100   // of a grower
	archiveDays    = 200 * 366
)

// IsArchive reports whether a text looks like an archive, and not like a plan
// file.
func IsArchive(text []byte) bool {
	text = bytes.TrimLeft(text, " \t\r\n")
	return len(text) > 0 && text[0] == '{' && bytes.Contains(text[:min(len(text), 200)], []byte(`"`+ArchiveFormat+`"`))
}

// Write writes an archive; the same content gives the same bytes.
func (a *Archive) Write(w io.Writer) error {
	e := json.NewEncoder(w)
	e.SetIndent("", " ")
	e.SetEscapeHTML(false)
	return e.Encode(a)
}

// ReadArchive reads an archive and checks all that is in it, with names of
// species by the lore. Entries of logs after today are errors.
func ReadArchive(name string, text []byte, lore *Lore, today climate.Date) (*Archive, error) {
	return ReadArchiveBy(name, text, func([]ArchiveRule) *Lore { return lore }, today)
}

// ReadArchiveBy is ReadArchive where growers may have rules of their own: the lore by
// which each is checked is made of those.
func ReadArchiveBy(name string, text []byte, lore func(own []ArchiveRule) *Lore, today climate.Date) (*Archive, error) {
	if len(text) > archiveBytes {
		return nil, fmt.Errorf("%s: has %d bytes; want at most %d: %w", name, len(text), archiveBytes, ErrInvalid)
	}
	if err := scanArchive(text); err != nil {
		return nil, fmt.Errorf("%s:%w", name, err)
	}
	d := json.NewDecoder(bytes.NewReader(text))
	d.DisallowUnknownFields()
	a := &Archive{}
	err := d.Decode(a)
	if err == nil {
		if _, more := d.Token(); more != io.EOF {
			err = errors.New("something follows the archive")
		}
	}
	if err != nil {
		at := d.InputOffset()
		if e, ok := errors.AsType[*json.SyntaxError](err); ok {
			at = e.Offset
		} else if e, ok := errors.AsType[*json.UnmarshalTypeError](err); ok {
			at = e.Offset
		}
		line := 1 + bytes.Count(text[:min(int64(len(text)), at)], []byte("\n"))
		return nil, fmt.Errorf("%s:%d: %w: %w", name, line, err, ErrInvalid)
	}
	if err := a.check(lore, today); err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	return a, nil
}

// wrong names a field and what would be right.
func wrong(field, format string, args ...any) error {
	return fmt.Errorf("%s: %w: %w", field, fmt.Errorf(format, args...), ErrInvalid)
}

func (a *Archive) check(lore func([]ArchiveRule) *Lore, today climate.Date) error {
	switch {
	case a.Format != ArchiveFormat:
		return wrong("format", "%q: want %q", a.Format, ArchiveFormat)
	case a.Version != ArchiveVersion:
		return wrong("version", "%d: want %d; a later version of the program wrote it", a.Version, ArchiveVersion)
	case len(a.Growers) > archiveGrowers:
		return wrong("growers", "%d: want at most %d", len(a.Growers), archiveGrowers)
	}
	seen := map[string]bool{}
	for i := range a.Growers {
		g := &a.Growers[i]
		at := fmt.Sprintf("growers[%d]", i)
		if err := id(at+".id", g.ID, seen); err != nil {
			return err
		}
		if err := g.checkRules(at); err != nil {
			return err
		}
		if err := g.check(at, lore(g.Rules), today); err != nil {
			return err
		}
	}
	return nil
}

// longestID is how long an id may be, in bytes.
const longestID = 200

func id(field, id string, seen map[string]bool) error {
	switch {
	case id == "" || len(id) > longestID:
		return wrong(field, "%.60q: want 1 to %d letters", id, longestID)
	case seen[id]:
		return wrong(field, "%q: is there twice", id)
	}
	seen[id] = true
	return nil
}

func (g *ArchiveGrower) check(at string, lore *Lore, today climate.Date) error {
	for _, c := range []struct {
		field   string
		n, most int
	}{
		{".places", len(g.Places), archivePlaces},
		{".trees", len(g.Trees), archiveTrees},
		{".feeds", len(g.Feeds), archiveFeeds},
		{".name", len(g.Name), longestID},
		{".email", len(g.Email), 254},
		{".shares", len(g.Shares), archiveClubs},
	} {
		if c.n > c.most {
			return wrong(at+c.field, "%d: want at most %d", c.n, c.most)
		}
	}
	clubs := map[string]bool{}
	for i, club := range g.Shares {
		if err := id(fmt.Sprintf("%s.shares[%d]", at, i), club, clubs); err != nil {
			return err
		}
	}
	if err := g.checkWishes(at, lore); err != nil {
		return err
	}
	if g.Locale != nil {
		if err := g.Locale.Validate(); err != nil {
			return fmt.Errorf("%s.locale: %w", at, err)
		}
	}
	if g.Nudges != nil {
		if err := g.Nudges.checkArchived(); err != nil {
			return fmt.Errorf("%s.nudges: %w", at, err)
		}
	}
	sites := map[string]climate.Site{}
	seen := map[string]bool{}
	for i := range g.Places {
		p := &g.Places[i]
		field := fmt.Sprintf("%s.places[%d]", at, i)
		if err := id(field+".id", p.ID, seen); err != nil {
			return err
		}
		if len(p.Name) > longestID {
			return wrong(field+".name", "want at most %d letters", longestID)
		}
		place, err := p.Place(g.ID)
		if err != nil {
			return fmt.Errorf("%s: %w: %w", field, err, ErrInvalid)
		}
		if err := p.checkWeather(field, today); err != nil {
			return err
		}
		sites[p.ID] = place.Site
	}
	seen = map[string]bool{}
	for i := range g.Trees {
		t := &g.Trees[i]
		field := fmt.Sprintf("%s.trees[%d]", at, i)
		if err := id(field+".id", t.ID, seen); err != nil {
			return err
		}
		site, ok := sites[t.Place]
		if !ok {
			return wrong(field+".place", "%q: want the id of one of the grower's places", t.Place)
		}
		// Before words are compared with those that are known, which takes time.
		words := []string{t.Species, string(t.Origin), t.Container.Kind, t.Bench, t.Container.Mix}
		for k := range t.Log {
			e := &t.Log[k]
			words = append(words, e.Did, string(e.Saw), string(e.NotYet), e.Moved)
		}
		for _, w := range words {
			if len(w) > longestID {
				return wrong(field, "%.60q...: want at most %d letters", w, longestID)
			}
		}
		if len(t.Log) > archiveEntries {
			return wrong(field+".log", "%d entries: want at most %d", len(t.Log), archiveEntries)
		}
		if faults := t.Check(lore, site, today); len(faults) > 0 {
			return fmt.Errorf("%s: %w", field, faults[0])
		}
	}
	seen = map[string]bool{}
	for i := range g.Feeds {
		f := &g.Feeds[i]
		field := fmt.Sprintf("%s.feeds[%d]", at, i)
		if err := id(field+".id", f.ID, seen); err != nil {
			return err
		}
		if f.Name == "" || len(f.Name) > longestID*2 {
			return wrong(field+".name", "want a name by which it is found in a calendar program")
		}
		if y := f.Created.Year(); y < 2000 || y > 9999 {
			return wrong(field+".created", "%v: want when it was made", f.Created)
		}
	}
	return nil
}
