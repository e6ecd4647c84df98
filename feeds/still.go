package feeds

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"hash/fnv"
	"slices"
	"strings"
	"time"

	"budswell/calendar"
	"budswell/feeds/pages"
	"budswell/feeds/webspace"
	"budswell/feeds/wording"
)

// Still returns what the service answers for regions, as files for any web server: a page
// is the index.html of the folder of its path, a feed the file of its path. Links between pages
// begin at the path of the service's base address, so the files are to lie where that leads.
// Pages are those in the language of a tongue. Without ids all regions are in it. It fails, and gives nothing, where the plan of
// one cannot be made today.
func (s *Server) Still(ctx context.Context, in *wording.Tongue, ids ...string) ([]webspace.File, error) {
	regions, err := s.cfg.Store.Regions(ctx)
	if err != nil {
		return nil, err
	}
	for _, id := range ids {
		if !slices.ContainsFunc(regions, func(r calendar.Region) bool { return r.ID == id }) {
			return nil, fmt.Errorf("region %q: %w", id, calendar.ErrNotFound)
		}
	}
	path, css := s.pages.Style()
	out := []webspace.File{{Path: strings.TrimPrefix(path, "/"), Bytes: css}}
	for _, r := range regions {
		if len(ids) > 0 && !slices.Contains(ids, r.ID) {
			continue
		}
		e, err := s.region(ctx, r.ID)
		if err != nil {
			return nil, fmt.Errorf("region %q: %w", r.ID, err)
		}
		if e.note != "" {
			return nil, fmt.Errorf("region %q: no plan can be made today; the log says why", r.ID)
		}
		for name, b := range e.feeds {
			if l := languageOf(name); l != "" && l != in.Lang() {
				continue
			}
			plain, err := unpack(b.packed)
			if err != nil {
				return nil, fmt.Errorf("region %q: %s: %w", r.ID, name, err)
			}
			f := webspace.File{Path: "r/" + r.ID + regionPath(name), Bytes: plain}
			if b.kind != calendarKind {
				f.Path += "/index.html"
			}
			out = append(out, f)
		}
	}
	webspace.Sort(out)
	return out, nil
}

// StillFeeds returns feeds of a grower as files, by the feeds' names, and where each is read.
// Their paths tell nothing, cannot be guessed, and are not the links that the service
// gave out; like those they end when the feed is withdrawn. Base is the address of the files.
func (s *Server) StillFeeds(ctx context.Context, base, grower string, names []string) (files []webspace.File, links []string, err error) {
	known, err := s.cfg.Store.Feeds(ctx, grower)
	if err != nil {
		return nil, nil, err
	}
	if _, err := s.cfg.Store.Grower(ctx, grower); err != nil {
		return nil, nil, fmt.Errorf("grower %q: %w", grower, err)
	}
	e, err := s.editionOf(ctx, grower)
	if err != nil {
		return nil, nil, fmt.Errorf("grower %q: %w", grower, err)
	}
	for _, name := range names {
		i := slices.IndexFunc(known, func(f calendar.Feed) bool { return f.Name == name && f.Revoked.IsZero() })
		if i < 0 {
			return nil, nil, fmt.Errorf("grower %q: feed %q: %w, or it was withdrawn; want the name of a feed as the page has it", grower, name, calendar.ErrNotFound)
		}
		h := sha256.Sum256([]byte("still " + known[i].TokenHash))
		at := "f/" + hex.EncodeToString(h[:16])
		for _, one := range []struct{ body, path string }{{feedBody(known[i].ID), at + ".ics"}, {tasksBody(known[i].ID), at + "/tasks.ics"}} {
			b := e.feeds[one.body]
			if b == nil {
				return nil, nil, fmt.Errorf("grower %q: feed %q: is not published: %w", grower, name, calendar.ErrNotFound)
			}
			plain, err := unpack(b.packed)
			if err != nil {
				return nil, nil, fmt.Errorf("grower %q: feed %q: %w", grower, name, err)
			}
			files = append(files, webspace.File{Path: one.path, Bytes: plain})
			links = append(links, strings.TrimRight(base, "/")+"/"+one.path)
		}
	}
	if len(files) > 0 {
		// So that no web server lists the names in the folder.
		var b bytes.Buffer
		if err := s.pages.Message(&b, &pages.Message{Title: "Nothing to see here", Text: "The calendars in this folder are read by whoever was given their links."}); err != nil {
			return nil, nil, err
		}
		files = append(files, webspace.File{Path: "f/index.html", Bytes: b.Bytes()})
	}
	return files, links, nil
}

// Remembering is a store that keeps what was published in another one, so that a set of
// files for a web space has sequence numbers of its own, whatever the service meanwhile shows.
type Remembering struct {
	calendar.Store
	Memory calendar.Store

	// ByContent says that a region counts as changed when it is another, for a store that is
	// filled anew each time.
	ByContent bool
}

// Edition implements [calendar.Store].
func (r Remembering) Edition(ctx context.Context, owner string) (calendar.Edition, error) {
	return r.Memory.Edition(ctx, owner)
}

// PutEdition implements [calendar.Store].
func (r Remembering) PutEdition(ctx context.Context, owner string, e calendar.Edition, after int64) error {
	return r.Memory.PutEdition(ctx, owner, e, after)
}

// Revise implements [calendar.Store].
func (r Remembering) Revise(ctx context.Context, owner string, digests []calendar.Revision, at time.Time) ([]calendar.Revision, error) {
	return r.Memory.Revise(ctx, owner, digests, at)
}

// RegionChanges implements [calendar.Store].
func (r Remembering) RegionChanges(ctx context.Context, id string) (int, error) {
	n, err := r.Store.RegionChanges(ctx, id)
	if err != nil || !r.ByContent || n == 0 {
		return n, err
	}
	region, err := r.Region(ctx, id)
	if errors.Is(err, calendar.ErrNotFound) {
		return 0, nil
	}
	if err != nil {
		return 0, err
	}
	h := fnv.New32a()
	if err := json.NewEncoder(h).Encode(region); err != nil {
		return 0, fmt.Errorf("region %q: %w", id, err)
	}
	return int(h.Sum32()>>1) + 1, nil
}
