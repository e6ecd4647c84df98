package feeds

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"runtime/debug"
	"slices"
	"time"

	"budswell/calendar"
	"budswell/climate"
	"budswell/feeds/ics"
	"budswell/feeds/wording"
)

// calendarKind is the media type of a feed.
const calendarKind = "text/calendar; charset=utf-8"

// personCache lets a program keep a feed that only its reader has the link of.
const personCache = "private, max-age=900"

// What feeds say of themselves.
const (
	aboutWork  = "Work on trees in its season. Dates are forecasts and move with the weather: look at the tree first."
	aboutTasks = "Work on trees in its season, as tasks. Dates are forecasts and move with the weather: look at the tree first. " +
		"Ticking one off in a list that was subscribed to logs nothing; log it on your page, or connect the program with a password instead."
	aboutYears = "The stages that trees come to on their way to the exhibition bench. Each stands on the first day of a season: it is known to a season at best, and moves with what you do and with the years. " +
		"How long trees take is common practice and judged: look at the tree first."
	aboutNoTasks = "Stages years ahead are no tasks: there is nothing here. Make a feed of work to have its tasks."
)

// editionOf returns what a grower's feeds show.
func (s *Server) editionOf(ctx context.Context, grower string) (*edition, error) {
	return s.publish(ctx, grower, false)
}

// publish is editionOf; it may ask for one of today.
func (s *Server) publish(ctx context.Context, grower string, today bool) (*edition, error) {
	changes, err := s.cfg.Store.Changes(ctx, grower)
	if err != nil {
		return nil, err
	}
	return s.published(ctx, &publisher{
		owner: "grower " + grower, id: grower, today: today, cache: personCache,
		plan: func(ctx context.Context) (*planned, error) {
			g, err := s.newest(ctx, grower)
			if err != nil {
				return nil, err
			}
			out := g.planned(s.cfg.Now())
			return out, s.addYears(ctx, g, out)
		},
		tongue: func(ctx context.Context) (*wording.Tongue, error) { return s.growersTongue(ctx, grower) },
		feeds:  func(ctx context.Context, note string) ([]listed, error) { return s.feedsOf(ctx, grower, note) },
	}, changes)
}

// planned says for how long a garden is of today, wherever its places are, and until
// the morning after.
func (g *garden) planned(now time.Time) *planned {
	out := &planned{changes: g.changes, day: climate.DateOf(now.UTC()), entries: g.entries, about: g.weatherAge(), in: g.in, promise: g.promise}
	until := func(zone *time.Location, on climate.Date) time.Time { return midnight(on+1, zone).Add(morningTime) }
	out.starts, out.ends = midnight(out.day, time.UTC), until(time.UTC, out.day)
	for i := range g.plots {
		on, zone := g.plots[i].plan.On, g.plots[i].zone
		starts, ends := midnight(on, zone), until(zone, on)
		if i == 0 {
			out.day, out.starts, out.ends = on, starts, ends
			continue
		}
		out.day = max(out.day, on)
		if starts.After(out.starts) {
			out.starts = starts
		}
		if ends.Before(out.ends) {
			out.ends = ends
		}
	}
	return out
}

// midnight returns the instant at which a day begins. Where clocks skip midnight
// it is when they go on.
func midnight(d climate.Date, zone *time.Location) time.Time {
	y, m, dd := d.Time().Date()
	t := time.Date(y, m, dd, 0, 0, 0, 0, zone)
	for climate.DateOf(t) < d {
		t = t.Add(time.Hour)
	}
	return t
}

// feedBody and tasksBody name the two feeds of one link among an edition's bodies.
func feedBody(id string) string  { return "feed " + id }
func tasksBody(id string) string { return "tasks " + id }

// feedsOf lists the feeds of a grower that are not withdrawn: each link has one
// of events and one of tasks.
func (s *Server) feedsOf(ctx context.Context, grower, note string) ([]listed, error) {
	in, err := s.growersTongue(ctx, grower)
	if err != nil {
		return nil, err
	}
	feeds, err := s.cfg.Store.Feeds(ctx, grower)
	if err != nil {
		return nil, err
	}
	var out []listed
	for _, f := range feeds {
		if !f.Revoked.IsZero() {
			continue
		}
		work := listed{name: feedBody(f.ID), filter: f.Filter, Calendar: ics.Calendar{
			UID: ics.UID("grower "+grower, "feed", f.ID), Name: f.Name, Description: withNote(in.Say(aboutWork), note), URL: s.link("/"),
		}}
		tasks := listed{name: tasksBody(f.ID), filter: f.Filter, tasks: true, Calendar: ics.Calendar{
			UID: ics.UID("grower "+grower, "tasks", f.ID), Name: in.Say("{1} (tasks)", f.Name), Description: withNote(in.Say(aboutTasks), note), URL: s.link("/"),
		}}
		if f.Filter.Years {
			work.Description, tasks.Description = withNote(in.Say(aboutYears), note), withNote(in.Say(aboutNoTasks), note)
		}
		out = append(out, work, tasks)
	}
	return out, nil
}

func withNote(about, note string) string {
	if note == "" {
		return about
	}
	return note + " " + about
}

// write writes the feeds of an edition and returns the revisions of all entries,
// whether a feed shows them or not.
func (s *Server) write(ctx context.Context, p *publisher, e *edition, feeds []listed, all []ics.Entry, now time.Time) (map[string]calendar.Revision, error) {
	ics.Sort(all)
	digests := (&ics.Calendar{Entries: all}).Digests()
	digests = digests[:len(all)] // each entry's; a grower may have it in several feeds
	for i := range feeds {
		f := &feeds[i]
		if f.Entries = passing(f.filter, f.tasks, all); f.shows != nil {
			f.Entries = slices.DeleteFunc(f.Entries, func(e ics.Entry) bool { return !f.shows(&e) })
		}
		own := f.Digests()
		digests = append(digests, own[len(own)-1])
	}
	revised, err := s.cfg.Store.Revise(ctx, p.id, digests, now)
	if err != nil {
		return nil, err
	}
	revisions := make(map[string]calendar.Revision, len(revised))
	for _, r := range revised {
		revisions[r.UID] = r
	}
	for i := range feeds {
		f := &feeds[i]
		text, err := f.Bytes(revisions)
		if err != nil {
			return nil, err
		}
		if e.feeds[f.name], err = newBody(calendarKind, p.cache, text, ics.Modified(revisions[f.UID])); err != nil {
			return nil, err
		}
	}
	return revisions, nil
}

// form counts in how many ways editions were kept so far.
const form = 2

// maker names the program, the lore and the address that an edition is made by, and whether
// the words of growers and clubs are laid over the lore: with another of them it is made anew.
func maker(cfg *Config) (string, error) {
	known, err := json.Marshal(cfg.Lore)
	if err != nil {
		return "", fmt.Errorf("feeds: lore: %w", err)
	}
	h := sha256.New()
	fmt.Fprintf(h, "%d\n%s\n%s\n%v\n", form, cfg.Base, known, cfg.Ground != nil)
	if build, ok := debug.ReadBuildInfo(); ok {
		fmt.Fprintln(h, build.Main.Version)
		for _, v := range build.Settings {
			if v.Key == "vcs.revision" || v.Key == "vcs.modified" {
				fmt.Fprintln(h, v.Key, v.Value)
			}
		}
	}
	return hex.EncodeToString(h.Sum(nil)[:12]), nil
}
