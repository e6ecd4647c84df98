package ics

import (
	ical "github.com/arran4/golang-ical"

	"budswell/calendar"
	"budswell/climate"
	"budswell/feeds/wording"
)

// Tasks makes the tasks of a plan (VTODO), as [Entries] makes its events: one
// for each work that can be done when its window comes, and one for each that
// was done. What something stands against now is no task; it becomes one when
// that ends. A task has its own UID: programs that read both lists would take
// two things of one UID for one.
func Tasks(in *wording.Tongue, owner string, p *calendar.Plan, page string) []Entry {
	_, tasks := Both(in, owner, p, page)
	return tasks
}

// taskOf makes the task of a work out of its event.
func taskOf(owner string, s subject, w *calendar.Planned, e Entry) (Entry, bool) {
	if len(w.Blocked) > 0 && !w.Done.Valid() {
		return Entry{}, false
	}
	e.UID, e.Task, e.Tentative = UID(owner, s.id, "task "+w.Key), true, false
	if w.Done.Valid() { // a task says so by its status
		undone := *w
		undone.Done = climate.NoDate
		e.Summary = summary(s, &undone)
	}
	e.Priority = priority(w)
	// One reader of tasks (todoman 4.1) fails on a second CATEGORIES, and the
	// library writes several values in one as a single one.
	e.Categories = e.Categories[:min(1, len(e.Categories))]
	e.Digest = e.seen()
	return e, true
}

// priority says what missing a work costs, by RFC 5545, 3.8.1.9, in which 1 to 4
// are high: most for what keeps a tree alive, then for what has one window a year
// and is hard to make up for; least for what comes again in days. Common
// practice, no published source.
func priority(w *calendar.Planned) int {
	switch {
	case w.Rule != nil && w.Rule.Every > 0:
		return 7
	case w.Work != nil && (w.Work.Class == calendar.Protection || w.Work.Class == calendar.Health):
		return 1
	case w.Work != nil && w.Work.Hard != calendar.HardOnNothing:
		return 3
	}
	return 5
}

// due sets the days of a task. DUE is the last day that is as good as the plan
// says; all-day, as readers show it, with that day in it. A DTSTART must be
// before it (RFC 5545, 3.8.2.3), so a task of one day has none.
func due(c *ical.ComponentBase, e *Entry) {
	if e.First < e.Last {
		c.SetProperty(ical.ComponentPropertyDtStart, date(e.First), ical.WithValue("DATE"))
	}
	c.SetProperty(ical.ComponentPropertyDue, date(e.Last), ical.WithValue("DATE"))
}

// task sets what a task has beyond an event.
func task(t *ical.VTodo, e *Entry) {
	t.SetPriority(e.Priority)
	switch {
	case e.Cancelled.Valid():
		t.SetStatus(ical.ObjectStatusCancelled)
	case e.Done:
		t.SetStatus(ical.ObjectStatusCompleted)
		t.SetPercentComplete(100)
		t.SetProperty(ical.ComponentPropertyCompleted, date(e.First)+"T120000Z") // a time is wanted; the log knows the day
	default:
		t.SetStatus(ical.ObjectStatusNeedsAction)
		t.SetPercentComplete(0)
	}
}
