// Package ics writes plans as iCalendar (RFC 5545, with RFC 7986), for programs
// that subscribe to a link and read it again every few hours.
//
// A feed has no METHOD: PUBLISH would be a scheduling message, which RFC 5546,
// 3.2.1 wants an ORGANIZER for, and without one a reader "must not assume" any
// (RFC 5545, 3.7.2). DTSTAMP is then the time of the last change (3.8.7.2). It,
// LAST-MODIFIED and SEQUENCE come from kept revisions and never from the clock,
// so that the same plan gives the same bytes.
//
// Use: [Entries] of a plan, a [Calendar] of those that a feed shows, its
// [Calendar.Digests] revised by the store, then [Calendar.Bytes].
package ics

import (
	"bytes"
	"errors"
	"fmt"
	"strings"
	"time"

	ical "github.com/arran4/golang-ical"

	"budswell/calendar"
	"budswell/climate"
)

const (
	productID = "-//budswell//budswell feeds 1//EN"

	// refresh is how often programs are asked to look: a plan is made every
	// morning and whenever something was logged.
	refresh = "PT6H"

	// alarmAt is eight in the morning of the day before the first.
	alarmAt = "-PT16H"

	stamp = "20060102T150405Z"
	day   = "20060102"
)

// Calendar is one feed before it has revisions.
type Calendar struct {
	UID         string // under which its revision is kept; not written
	Name        string
	Description string
	URL         string // of the page that shows the same; empty: none
	Source      string // where the feed itself is read; empty for secret links, which are not kept
	Entries     []Entry
}

// Digests returns what the store's Revise compares: one for each entry, then one
// for the calendar, which moves when anything in it does, entries that left it
// among them.
func (c *Calendar) Digests() []calendar.Revision {
	out := make([]calendar.Revision, 0, len(c.Entries)+1)
	all := []string{c.Name, c.Description, c.URL, c.Source}
	for i := range c.Entries {
		e := &c.Entries[i]
		out = append(out, calendar.Revision{UID: e.UID, Digest: e.Digest})
		all = append(all, e.UID, e.Digest)
	}
	return append(out, calendar.Revision{UID: c.UID, Digest: digest(all...)})
}

// Bytes writes the calendar. Revisions must hold one for the calendar and each
// of its entries, by UID.
func (c *Calendar) Bytes(revisions map[string]calendar.Revision) ([]byte, error) {
	own, ok := revisions[c.UID]
	if !ok {
		return nil, fmt.Errorf("ics: calendar %s has no revision", c.UID)
	}
	for _, link := range []string{c.UID, c.URL, c.Source} {
		if strings.ContainsFunc(link, func(r rune) bool { return r <= ' ' || r == 0x7F }) {
			return nil, fmt.Errorf("ics: calendar %s: %q holds blanks or control characters", c.UID, link)
		}
	}
	cal := ical.NewCalendarFor("budswell")
	cal.SetProductId(productID)
	cal.SetCalscale("GREGORIAN")
	c.head(cal, own)
	seen := make(map[string]bool, len(c.Entries))
	for i := range c.Entries {
		e := &c.Entries[i]
		r, ok := revisions[e.UID]
		switch {
		case !ok:
			return nil, fmt.Errorf("ics: event %s (%s) has no revision", e.UID, e.Summary)
		case seen[e.UID]:
			return nil, fmt.Errorf("ics: event %s (%s) is there twice", e.UID, e.Summary)
		}
		seen[e.UID] = true
		if err := add(cal, e, r); err != nil {
			return nil, err
		}
	}
	if len(c.Entries) == 0 {
		placeholder(cal)
	}
	return written(cal, c.UID)
}

// Object writes an entry by itself, as it is one object of a collection that
// programs read one by one (RFC 4791, 4.1).
func Object(e *Entry, r calendar.Revision) ([]byte, error) {
	cal := ical.NewCalendarFor("budswell")
	cal.SetProductId(productID)
	if err := add(cal, e, r); err != nil {
		return nil, err
	}
	return written(cal, e.UID)
}

func written(cal *ical.Calendar, uid string) ([]byte, error) {
	var b bytes.Buffer
	if err := cal.SerializeTo(&b, ical.WithNewLineWindows); err != nil {
		return nil, fmt.Errorf("ics: write calendar %s: %w", uid, err)
	}
	return b.Bytes(), nil
}

// head sets the properties of the calendar itself (RFC 7986, 5), but not the UID
// that 5.3 allows there: vdirsyncer 0.19 then takes all events of the feed for one.
func (c *Calendar) head(cal *ical.Calendar, r calendar.Revision) {
	property := func(name, value, kind string) {
		p := ical.CalendarProperty{BaseProperty: ical.BaseProperty{IANAToken: name, Value: value, ICalParameters: map[string][]string{}}}
		if kind != "" {
			p.ICalParameters["VALUE"] = []string{kind}
		}
		cal.CalendarProperties = append(cal.CalendarProperties, p)
	}
	cal.SetName(line(c.Name, "Trees"))
	if d := text(c.Description); d != "" {
		cal.SetDescription(d)
		cal.SetXWRCalDesc(d)
	}
	cal.SetLastModified(r.Modified)
	cal.SetColor("darkolivegreen")
	cal.SetRefreshInterval(refresh)
	cal.SetXPublishedTTL(refresh)
	if c.URL != "" {
		cal.SetUrl(c.URL)
	}
	if c.Source != "" {
		property("SOURCE", c.Source, "URI")
	}
}

// add is the one place where a component is made: golang-ical writes events
// without DTSTAMP, without a start, or that end before they begin, and programs
// then drop them.
func add(cal *ical.Calendar, e *Entry, r calendar.Revision) error {
	switch {
	case e.UID == "" || e.Summary == "":
		return fmt.Errorf("ics: event %q (%q): want a UID and a summary", e.UID, e.Summary)
	case !e.First.Valid() || e.Last < e.First:
		return fmt.Errorf("ics: event %s (%s): want days in order, have %v to %v", e.UID, e.Summary, e.First, e.Last)
	case r.Modified.IsZero() || r.Sequence < 0:
		return fmt.Errorf("ics: event %s (%s): revision %d of %v is none", e.UID, e.Summary, r.Sequence, r.Modified)
	case strings.ContainsFunc(e.URL, func(r rune) bool { return r <= ' ' || r == 0x7F }):
		return errors.New("ics: event " + e.UID + ": its link holds blanks or control characters")
	}
	if e.Task {
		t := cal.AddTodo(e.UID)
		common(&t.ComponentBase, e, r)
		task(t, e)
		return nil
	}
	ev := cal.AddEvent(e.UID)
	common(&ev.ComponentBase, e, r)
	event(ev, e)
	return nil
}

// common sets what events and tasks both have.
func common(c *ical.ComponentBase, e *Entry, r calendar.Revision) {
	modified := r.Modified.UTC().Format(stamp)
	c.SetProperty(ical.ComponentPropertyDtstamp, modified)
	c.SetProperty(ical.ComponentPropertyLastModified, modified)
	c.SetSequence(r.Sequence)
	if e.Task {
		due(c, e)
	} else {
		c.SetProperty(ical.ComponentPropertyDtStart, date(e.First), ical.WithValue("DATE"))
		c.SetProperty(ical.ComponentPropertyDtEnd, date(e.Last+1), ical.WithValue("DATE"))
	}
	c.SetSummary(e.Summary)
	if e.Description != "" {
		c.SetDescription(e.Description)
	}
	for _, name := range e.Categories {
		c.AddCategory(name)
	}
	if e.Color != "" {
		c.SetColor(e.Color)
	}
	if e.URL != "" {
		c.SetURL(e.URL)
	}
}

func event(ev *ical.VEvent, e *Entry) {
	ev.SetTimeTransparency(ical.TransparencyTransparent)
	switch {
	case e.Cancelled.Valid():
		ev.SetStatus(ical.ObjectStatusCancelled)
	case e.Tentative:
		ev.SetStatus(ical.ObjectStatusTentative)
	default:
		ev.SetStatus(ical.ObjectStatusConfirmed)
	}
	if !e.Done && !e.Cancelled.Valid() && !e.Quiet {
		a := ev.AddAlarm()
		a.SetAction(ical.ActionDisplay)
		a.SetTrigger(alarmAt)
		a.SetDescription(e.Summary)
	}
}

// placeholder keeps a calendar without events valid: RFC 5545, 3.6 wants at
// least one component, and a time zone is one that nobody sees.
func placeholder(cal *ical.Calendar) {
	s := cal.AddTimezone("UTC").AddStandard()
	s.SetProperty(ical.ComponentPropertyDtStart, "19700101T000000")
	s.SetProperty("TZOFFSETFROM", "+0000")
	s.SetProperty("TZOFFSETTO", "+0000")
}

func date(d climate.Date) string { return d.Time().Format(day) }

// Tag tells one state of an entry from all others of it.
func Tag(r calendar.Revision) string {
	return digest(r.UID, r.Digest, fmt.Sprint(r.Sequence), r.Modified.UTC().Format(time.RFC3339Nano))[:24]
}

// Modified returns when a calendar last changed, to the second, as HTTP and
// iCalendar tell it.
func Modified(r calendar.Revision) time.Time { return r.Modified.UTC().Truncate(time.Second) }
