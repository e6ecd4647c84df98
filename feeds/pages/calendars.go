package pages

import (
	"cmp"
	"html/template"
	"io"
	"strings"

	"budswell/calendar"
	"budswell/feeds/wording"
)

// Calendars is the page of a grower's feeds, and of the programs that connect.
type Calendars struct {
	CSRF  string
	Said  string
	Feeds []Feed
	Programs
	Made *Link // a feed's link that was just made; it is shown once

	// What a new feed may be narrowed by.
	Trees, Groups, Classes, Works []Choice

	Fault *Fault
	Ahead bool // the form asks for a feed of the years
}

// Fault is the form of a feed that was not taken, with the name that was typed.
type Fault struct{ Words, Name string }

// Link is a new feed's address in both forms.
type Link struct {
	Name   string
	Web    string
	Webcal template.URL
	Tasks  string // of the same as tasks, where there is that
}

// NewLink makes both forms of an address that the service itself made.
func NewLink(name, web string) *Link {
	_, rest, _ := strings.Cut(web, "://")
	return &Link{Name: name, Web: web, Webcal: template.URL("webcal://" + rest)} //nolint:gosec // our own address
}

// Choice is something to pick.
type Choice struct {
	Value, Label string
	Picked       bool
}

// Feed is a line of the list of feeds.
type Feed struct {
	ID, Name, Shows, Made string
	Revoked               string // the day; empty: still served
}

// FeedOf describes a feed; trees names trees by id.
func FeedOf(in *wording.Tongue, f calendar.Feed, trees map[string]string) Feed {
	out := Feed{ID: f.ID, Name: f.Name, Made: in.DayOf(f.Created)}
	if !f.Revoked.IsZero() {
		out.Revoked = in.DayOf(f.Revoked)
	}
	var parts []string
	for _, id := range f.Filter.Trees {
		parts = append(parts, cmp.Or(trees[id], id))
	}
	works := [][]string{f.Filter.Classes, f.Filter.Works}
	if f.Filter.Years {
		works = nil // they narrow nothing
	}
	for _, list := range append([][]string{f.Filter.Groups}, works...) {
		for _, id := range list {
			parts = append(parts, in.Lower(id))
		}
	}
	out.Shows = in.Say("all work on all trees")
	if f.Filter.Years {
		out.Shows = in.Say("the years to the bench of all trees")
	}
	switch {
	case len(parts) == 0:
	case f.Filter.Years:
		out.Shows = in.Say("the years to the bench of {1}", strings.Join(parts, ", "))
	default:
		out.Shows = in.Say("only {1}", strings.Join(parts, ", "))
	}
	return out
}

// Calendars writes the page.
func (p *Pages) Calendars(w io.Writer, c *Calendars) error { return p.write(w, "calendars.html", c) }
