package feeds

import (
	"context"
	"errors"
	"maps"
	"slices"
	"strings"
	"sync"
	"time"

	"budswell/calendar"
	"budswell/climate"
	"budswell/feeds/ics"
	"budswell/feeds/wording"
)

const (
	// cancelledDays is for how many days a work that left the plan undone still
	// shows, as cancelled: programs that look once a month hear of it.
	cancelledDays = 30

	// tasksAhead is how many days before a work may begin it becomes a task: the
	// six weeks that the page shows too.
	tasksAhead = 42

	// morningTime is for how long after midnight programs are shown the edition of the day
	// before: the morning's is made at five. All of them ask each hour, and the first
	// hour of a day would else be that of planning for everybody, once more before the morning.
	morningTime = 6 * time.Hour

	// retryTime is how long the last good edition is served before another try,
	// where a plan cannot be made.
	retryTime = 10 * time.Minute
)

// edition is what was last published for an owner, ready to be served. It is not
// changed once made.
type edition struct {
	calendar.Edition
	entries func() map[string]ics.Entry // by UID, of all that is in Shown; a poll needs none
	feeds   map[string]*body            // by name
	note    string                      // why it is not of today; empty: it is
}

// fresh reports whether an edition is of today and of what the store holds after
// so many changes.
func (e *edition) fresh(now time.Time, changes int, by string) bool {
	return e.Number > 0 && e.Changes == changes && e.By == by && !now.Before(e.Starts) && now.Before(e.Ends)
}

// ofToday reports whether an edition is fresh, and not one that is only shown until the
// morning's is made.
func (e *edition) ofToday(now time.Time, changes int, by string) bool {
	return e.fresh(now, changes, by) && e.fresh(now.Add(morningTime), changes, by)
}

// publisher is a grower or a region.
type publisher struct {
	today bool   // only an edition of today will do
	owner string // as the store keeps editions: "grower ada"
	id    string // as it keeps revisions
	cache string // Cache-Control
	plan  func(ctx context.Context) (*planned, error)

	// feeds lists the feeds without their entries; note is what their descriptions
	// begin with, or nothing.
	feeds func(ctx context.Context, note string) ([]listed, error)

	// tongue is that of whoever reads them.
	tongue func(ctx context.Context) (*wording.Tongue, error)
}

// planned is what an edition is made of.
type planned struct {
	changes      int
	day          climate.Date
	starts, ends time.Time
	entries      []ics.Entry
	about        string            // what the feeds' descriptions end with, such as whose weather it is
	promise      *calendar.Promise // to be kept with it; nil: none was made
	pages        map[string]*body  // of a region, by the names of bodies
	in           *wording.Tongue   // of whoever reads it
}

// listed is a feed before it is written.
type listed struct {
	name   string
	tasks  bool
	filter calendar.Filter
	shows  func(*ics.Entry) bool // of a region, in place of the filter
	ics.Calendar
}

// pageBody is what the names of a region's pages among its bodies begin with; a language
// ends them.
const pageBody = "page "

// published returns what feeds show now. It is computed once for all who ask
// meanwhile, and only where neither this process nor another over the same
// database has done so since the last change. Where no plan can be made, the
// last good edition says so.
func (s *Server) published(ctx context.Context, p *publisher, changes int) (*edition, error) {
	now := s.cfg.Now()
	fresh := func(e *edition) bool { return e.fresh(now, changes, s.by) }
	if p.today {
		fresh = func(e *edition) bool { return e.ofToday(now, changes, s.by) }
	}
	return s.editions.get(p.owner, fresh, func(*edition, bool) (*edition, error) {
		// Whoever asked first may be gone before the others have their answer.
		ctx, cancel := context.WithTimeout(context.WithoutCancel(ctx), workTime)
		defer cancel()
		was, err := s.stored(ctx, p)
		if err != nil || fresh(was) {
			return was, err
		}
		e, err := s.next(ctx, p, was, now)
		if errors.Is(err, calendar.ErrConflict) {
			// Another process was faster; what it published is as good, or gives way now.
			if was, err = s.stored(ctx, p); err != nil || fresh(was) {
				return was, err
			}
			e, err = s.next(ctx, p, was, now)
		}
		if err != nil && was.Number > 0 {
			s.cfg.Log.ErrorContext(ctx, "no new plan; the last one is served", "owner", p.owner, "error", err)
			return s.reissue(ctx, p, was, changes, now), nil
		}
		return e, err
	})
}

// next plans, where that is not done yet, and issues the edition after was.
func (s *Server) next(ctx context.Context, p *publisher, was *edition, now time.Time) (*edition, error) {
	n, err := p.plan(ctx)
	if err != nil {
		return nil, err
	}
	return s.issue(ctx, p, n, was, now)
}

// stored reads what was last published by any process; its number is 0 where
// nothing was.
func (s *Server) stored(ctx context.Context, p *publisher) (*edition, error) {
	kept, err := s.cfg.Store.Edition(ctx, p.owner)
	if err != nil && !errors.Is(err, calendar.ErrNotFound) {
		return nil, err
	}
	e := &edition{Edition: kept, feeds: make(map[string]*body, len(kept.Bodies))}
	e.entries = sync.OnceValue(func() map[string]ics.Entry {
		out, err := entriesOf(&kept)
		if err != nil {
			// Written by another version: it is written anew, or goes uncancelled.
			s.cfg.Log.Warn("events as they were last shown cannot be read", "owner", p.owner, "error", err)
		}
		return out
	})
	for _, b := range kept.Bodies {
		if b.Name != entriesBody {
			e.feeds[b.Name] = keptBody(kindOf(b.Name), p.cache, b)
		}
	}
	return e, nil
}

func kindOf(name string) string {
	if strings.HasPrefix(name, pageBody) {
		return "text/html; charset=utf-8"
	}
	return calendarKind
}

// issue makes the next edition and keeps it.
func (s *Server) issue(ctx context.Context, p *publisher, n *planned, was *edition, now time.Time) (*edition, error) {
	e := &edition{Edition: calendar.Edition{
		Number: was.Number, Changes: n.changes, By: s.by, Day: n.day, Starts: n.starts, Ends: n.ends,
	}, feeds: map[string]*body{}}
	maps.Copy(e.feeds, n.pages)
	all := slices.Concat(was.near(n.entries, n.day), was.cancelled(n.in, n.entries, n.day))
	feeds, err := p.feeds(ctx, "")
	if err != nil {
		return nil, err
	}
	for i := range feeds {
		feeds[i].Description += n.about
	}
	revisions, err := s.write(ctx, p, e, feeds, all, now)
	if err != nil {
		return nil, err
	}
	e.follow(was, all, revisions, max(was.Number+1, now.Unix()))
	for name, b := range e.feeds {
		e.Bodies = append(e.Bodies, b.kept(name))
	}
	entries, err := e.keptEntries(was)
	if err != nil {
		return nil, err
	}
	e.Bodies = append(e.Bodies, entries)
	// Before the edition, so that no day is shown that is not remembered.
	if n.promise != nil {
		if err := s.cfg.Store.PutPromise(ctx, p.id, *n.promise); err != nil {
			return nil, err
		}
	}
	return e, s.cfg.Store.PutEdition(ctx, p.owner, e.Edition, was.Number)
}

// follow makes what is shown from what was; number is that of a new edition,
// which this is if anything changed.
func (e *edition) follow(was *edition, all []ics.Entry, revisions map[string]calendar.Revision, number int64) {
	if e.Number == 0 {
		e.Number = number
	}
	entries := make(map[string]ics.Entry, len(all)+len(was.Shown))
	e.entries = func() map[string]ics.Entry { return entries }
	before := make(map[string]calendar.Shown, len(was.Shown))
	for _, v := range was.Shown {
		before[v.UID] = v
	}
	for _, entry := range all {
		v, r := before[entry.UID], revisions[entry.UID]
		delete(before, entry.UID)
		if v.UID == "" || v.Gone || v.Digest != r.Digest || v.Sequence != r.Sequence {
			v = calendar.Shown{Revision: r, Changed: number}
			e.Number = number
		}
		e.Shown, entries[v.UID] = append(e.Shown, v), entry
	}
	for _, v := range was.Shown {
		if _, left := before[v.UID]; !left {
			continue
		}
		last := was.entries()[v.UID]
		trace := ics.Entry{UID: v.UID, Task: last.Task, Ahead: last.Ahead} // all that is still of use
		if !v.Gone {
			v.Gone, v.Changed, e.Number = true, number, number
		}
		e.Shown, entries[v.UID] = append(e.Shown, v), trace
	}
}

// near leaves out the tasks that are still far off: a list of tasks is for what is
// to be done, and a calendar shows the rest. One that was shown before stays.
func (e *edition) near(all []ics.Entry, day climate.Date) []ics.Entry {
	shown := make(map[string]bool, len(e.Shown))
	for _, v := range e.Shown {
		shown[v.UID] = !v.Gone
	}
	out := make([]ics.Entry, 0, len(all))
	for i := range all {
		if t := &all[i]; !t.Task || t.First <= day+tasksAhead || shown[t.UID] {
			out = append(out, *t)
		}
	}
	return out
}

// cancelled returns what was shown, is not among now, and must be said not to be
// any more. What was done, or as an event is over, goes without a word.
func (e *edition) cancelled(in *wording.Tongue, now []ics.Entry, day climate.Date) []ics.Entry {
	there := make(map[string]bool, len(now))
	for i := range now {
		there[now[i].UID] = true
	}
	var out []ics.Entry
	for _, v := range e.Shown {
		was, readable := e.entries()[v.UID]
		switch {
		case !readable, v.Gone, there[v.UID], was.Done, was.Ahead: // a stage is known to a season only; it goes without a word
		case was.Cancelled.Valid():
			if day-was.Cancelled < cancelledDays {
				out = append(out, was)
			}
		case was.Task || was.Last >= day:
			out = append(out, was.Cancel(in, day))
		}
	}
	return out
}

// reissue serves an edition on where no newer can be made, with a word about it
// in every feed, where at least that can be written. It is not kept.
func (s *Server) reissue(ctx context.Context, p *publisher, was *edition, changes int, now time.Time) *edition {
	e := &edition{Edition: was.Edition, entries: was.entries, feeds: map[string]*body{}}
	e.Changes, e.By, e.Starts, e.Ends = changes, s.by, now, now.Add(retryTime)
	for name, page := range was.feeds {
		if strings.HasPrefix(name, pageBody) {
			e.feeds[name] = page
		}
	}
	var all []ics.Entry
	for _, v := range was.Shown {
		if entry, ok := was.entries()[v.UID]; ok && !v.Gone {
			all = append(all, entry)
		}
	}
	in, err := p.tongue(ctx)
	if err != nil {
		in = wording.English
	}
	e.note = in.Say("This is the plan of {1}: no newer one could be made since. What changed after that day is not in it; another try is made every few minutes.", in.WeekDay(was.Day))
	feeds, err := p.feeds(ctx, e.note)
	if err == nil {
		_, err = s.write(ctx, p, e, feeds, all, now)
	}
	if err != nil {
		s.cfg.Log.ErrorContext(ctx, "nor can the feeds say so", "owner", p.owner, "error", err)
		e.feeds = was.feeds
	}
	return e
}
