package ics

import (
	"cmp"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"net/url"
	"slices"
	"strings"
	"unicode/utf8"

	"budswell/calendar"
	"budswell/climate"
	"budswell/feeds/wording"
)

const (
	// near is how many days before its opening an event is no longer tentative.
	near = 21

	// longestSpan is the longest window, in days, that is shown from end to end;
	// of a longer one only the best week is, or it would paint the whole month.
	longestSpan = 42

	// leastChance is the chance below which a window is not shown at all.
	leastChance = 0.1
)

// Entry is one work as a calendar shows it, or as a list of tasks does. First
// and Last are both days of it. What was shown is kept as JSON of it, so its
// fields keep their names.
type Entry struct {
	UID    string
	Digest string // of all that a person sees
	Task   bool

	// What feeds are narrowed by. Group is also that of a region's species, by its slug.
	Tree, Group, Class, Work string
	Band                     string `json:",omitempty"` // of a region; empty: over all bands

	Summary     string
	Description string
	Categories  []string
	Color       string // a name of CSS Color Module Level 3
	URL         string // of the page that says more

	First, Last climate.Date
	Tentative   bool
	Done        bool         // on First
	Priority    int          // of a task: 1, the highest, to 9
	Cancelled   climate.Date // the day on which it left the plan undone; NoDate: it is in it
	Quiet       bool         // rings no alarm
	Ahead       bool         // a stage that is years ahead, and no work
}

// subject is what a work is for: a tree, or all trees of a group.
type subject struct {
	id    string // stable; part of UIDs
	name  string // as it stands in a summary
	about string // first line of a description
	tree  string // id; empty for a group
	group string
	page  string
	in    *wording.Tongue // of whoever reads it

	plan *calendar.TreePlan // nil for a group
}

// Entries makes the events of a plan, in the order of their days. Owner is the
// id of the grower; page the address below which each tree has its page, with a
// slash at its end, and empty where there is none.
//
// Where the plan has an agenda, a work stands on the day chosen for it, and its
// window is told in words; one for which no day was found says so, and stands on
// its window.
//
// A work that something stands against all the time that its window is open is
// left out: a calendar is for what there is to do, the page says what waits. A
// work that is done stays, on the day on which it was done.
func Entries(in *wording.Tongue, owner string, p *calendar.Plan, page string) []Entry {
	events, _ := Both(in, owner, p, page)
	return events
}

// Both makes the events of a plan, as [Entries] does, and its tasks, as [Tasks] does: the
// words of the two are the same, and are most of the effort.
func Both(in *wording.Tongue, owner string, p *calendar.Plan, page string) (events, tasks []Entry) {
	chosen := choicesOf(p.Agenda)
	for i := range p.Trees {
		t := &p.Trees[i]
		s := subject{id: "tree " + t.Tree.ID, name: t.Tree.Name, tree: t.Tree.ID, page: TreePage(page, t.Tree.ID), in: in, plan: t}
		species := t.Tree.Species
		if t.Species != nil {
			species, s.group = t.Species.Name, string(t.Species.Group)
		}
		s.about = in.Say("{1} ({2}), stage: {3}.", line(t.Tree.Name, in.Say("A tree")), line(species, in.Say("species not known")), in.Lower(string(t.State.Stage)))
		for k := range t.Works {
			w := &t.Works[k]
			e, ok := entry(owner, s, w, chosen[[2]string{t.Tree.ID, w.Key}], p.On, p.Basis)
			if !ok {
				continue
			}
			events = append(events, e)
			if e, ok = taskOf(owner, s, w, e); ok {
				tasks = append(tasks, e)
			}
		}
	}
	Sort(events)
	Sort(tasks)
	return events, tasks
}

// TreePage returns the address of a tree's page, and nothing where there are no pages.
func TreePage(page, tree string) string {
	if page == "" {
		return ""
	}
	return page + "trees/" + url.PathEscape(tree)
}

// Sort puts entries into the order of their days.
func Sort(es []Entry) {
	slices.SortFunc(es, func(a, b Entry) int {
		return cmp.Or(cmp.Compare(a.First, b.First), cmp.Compare(a.Summary, b.Summary), cmp.Compare(a.UID, b.UID))
	})
}

// entry makes the event of one work, and false where it is not to be shown.
func entry(owner string, s subject, w *calendar.Planned, c choice, on climate.Date, basis climate.Basis) (Entry, bool) {
	in := s.in
	first, last, ok := span(w, on)
	if !ok {
		return Entry{}, false
	}
	if len(c.days) > 0 {
		first, last = c.days[0].Day, c.days[0].Day
	}
	e := Entry{
		UID:  UID(owner, s.id, w.Key),
		Tree: s.tree, Group: s.group,
		URL:   s.page,
		First: first, Last: last, Cancelled: climate.NoDate,
		Done:      w.Done.Valid(),
		Tentative: !w.Done.Valid() && first-on > near,
	}
	if w.Work != nil {
		e.Class, e.Work, e.Color = string(w.Work.Class), w.Work.ID, Color(w.Work.Class)
		e.Categories = []string{line(in.Name(string(w.Work.Class)), in.Say("Work")), line(in.Title(w.Work.Title), in.Say("Work"))}
	}
	e.Summary = summary(s, w)
	if c.waiting() {
		e.Summary = ending(e.Summary, in.Say(" (no day for it yet)"))
	}
	e.Description = text(describe(s, w, c, on, basis))
	e.Digest = e.seen()
	return e, true
}

// summary names a work and what it is for.
func summary(s subject, w *calendar.Planned) string {
	in, title := s.in, w.Title
	if title == "" && w.Work != nil {
		title = w.Work.Title
	}
	out := line(in.Title(title), in.Say("Work")) + ": " + line(s.name, in.Say("a tree"))
	if w.Done.Valid() {
		out += in.Say(" (done)")
	}
	return line(out, in.Say("Work"))
}

// seen digests all that a person sees of an entry.
func (e *Entry) seen() string {
	parts := []string{
		e.Summary, e.Description, strings.Join(e.Categories, "\n"), e.Color, e.URL,
		e.First.String(), e.Last.String(), fmt.Sprint(e.Tentative, e.Done),
	}
	if e.Task {
		parts = append(parts, "task", fmt.Sprint(e.Priority))
	}
	if e.Cancelled.Valid() {
		parts = append(parts, "cancelled")
	}
	return digest(parts...)
}

// Cancel returns an entry that has left the plan undone, as it is shown for a
// while: under its UID, on its days, and saying so in words too, since not every
// program minds the status.
func (e Entry) Cancel(in *wording.Tongue, on climate.Date) Entry {
	e.Cancelled, e.Tentative = on, false
	e.Summary = ending(e.Summary, in.Say(" (cancelled)"))
	why := in.Say("the weather, the log or the rules say otherwise now. Nothing is to be done here")
	if e.Last < on {
		why = in.Say("its days are over, and the log does not say that it was done. If it was, log it")
	}
	e.Description = in.Say("Taken out of the plan on {1}: {2}; it shows for a while so that you notice, and then goes.", in.WeekDay(on), why)
	e.Digest = e.seen()
	return e
}

// ending puts an ending on a line, which it cuts where both are too long.
func ending(s, with string) string {
	return cut(s, longestLine-utf8.RuneCountInString(with)) + with
}

// span returns the days that a work takes in the calendar: its day when it is
// done or has a day of its own, else from the 50 % day of opening to the 50 %
// day of closing, less what is blocked at the start. Of a long window it is the
// week about the likely day, or the last week once that is past.
func span(w *calendar.Planned, on climate.Date) (first, last climate.Date, ok bool) {
	switch {
	case w.Done.Valid():
		return w.Done, w.Done, true
	case !w.Window.Opens.P50.Valid() || w.Window.Chance < leastChance:
		return 0, 0, false
	case w.Rule != nil && w.Rule.Every > 0 && !w.Due.Valid():
		return 0, 0, false // repeated, and not due any more
	}
	first, last = w.Window.Opens.P50, w.Window.Closes.P50
	if !last.Valid() || last < first {
		last = first
	}
	free, ok := calendar.FreeFrom(w.Blocked)
	if !ok || free > last {
		return 0, 0, false
	}
	if free.Valid() {
		first = max(first, free)
	}
	if w.Due.Valid() {
		return w.Due, w.Due, !free.Valid() || w.Due >= free
	}
	if long(first, last) {
		if bestIsPast(&w.Window, on) {
			return last - 6, last, true
		}
		likely := min(max(w.Window.Likely, first), last)
		first, last = max(first, likely-3), min(last, likely+3)
	}
	return first, last, true
}

func bestIsPast(w *calendar.Window, on climate.Date) bool { return w.Likely+3 < on }

func long(first, last climate.Date) bool { return last-first+1 > longestSpan }

// UID returns the identifier of a work: the same for the same owner, tree and
// key for ever, and telling nothing of them.
func UID(owner, subject, key string) string {
	return digest(owner, subject, key)[:32] + "@budswell"
}

func digest(parts ...string) string {
	h := sha256.New()
	for _, p := range parts {
		fmt.Fprintf(h, "%d:%s", len(p), p)
	}
	return hex.EncodeToString(h.Sum(nil))
}

// Color returns the colour of a class of work, by the names that RFC 7986, 5.9
// allows. Earth for roots, green for what grows, metal for wire, cool for
// shelter, warm for what feeds and warns.
func Color(c calendar.Class) string {
	switch c {
	case calendar.Collecting:
		return "saddlebrown"
	case calendar.Roots:
		return "sienna"
	case calendar.Branches:
		return "seagreen"
	case calendar.Foliage:
		return "olivedrab"
	case calendar.Wire:
		return "slategray"
	case calendar.Feeding:
		return "darkgoldenrod"
	case calendar.Protection:
		return "steelblue"
	case calendar.Health:
		return "indianred"
	case calendar.Showing:
		return "mediumorchid"
	}
	return "darkolivegreen"
}
