package pages

import (
	"cmp"
	"html/template"
	"slices"
	"strconv"
	"strings"
	"time"

	"budswell/calendar"
	"budswell/climate"
	"budswell/feeds/wording"
)

// Home is the page of a grower: what the next six weeks ask of each tree.
type Home struct {
	Left string // that own rules are left out, or trees that hang on them; empty: all hold

	CSRF   string
	Grower string
	Places []Place
	Feeds  []Feed
	Programs
	Made   *Link // a feed's link that was just made; it is shown once
	Said   string
	Nudges []Nudge

	// What a new feed may be narrowed by.
	Trees, Groups, Classes, Works []Choice

	Fault *Fault

	Hours   bool   // they were told
	Entered string // shows to come, counted; empty: none
	Ahead   bool   // the form asks for a feed of the years
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
func FeedOf(f calendar.Feed, trees map[string]string) Feed {
	out := Feed{ID: f.ID, Name: f.Name, Made: f.Created.Format("2 January 2006")}
	if !f.Revoked.IsZero() {
		out.Revoked = f.Revoked.Format("2 January 2006")
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
			parts = append(parts, wording.Lower(id))
		}
	}
	out.Shows = "all work on all trees"
	if f.Filter.Years {
		out.Shows = "the years to the bench of all trees"
	}
	switch {
	case len(parts) == 0:
	case f.Filter.Years:
		out.Shows = "the years to the bench of " + strings.Join(parts, ", ")
	default:
		out.Shows = "only " + strings.Join(parts, ", ")
	}
	return out
}

// Nudge is a message of the outbox.
type Nudge struct{ Title, Body, State string }

// NudgeOf describes a message as it is now.
func NudgeOf(n calendar.Nudge, now time.Time) Nudge {
	out := Nudge{Title: n.Title, Body: n.Body}
	var states []string
	for _, d := range n.Deliveries {
		states = append(states, stateOf(d, !n.Expires.IsZero() && !n.Expires.After(now)))
	}
	if out.State = strings.Join(states, "; "); out.State == "" {
		out.State = "kept here since " + n.Decided.Format("2 January 2006") + "; no way to send it is set up"
	}
	return out
}

// stateOf says how far a delivery has come; one that is expired is not sent any more.
func stateOf(d calendar.Delivery, expired bool) string {
	to := "to " + d.To
	if d.Channel == calendar.ByWebhook {
		to = "to your webhook"
	}
	switch {
	case !d.Sent.IsZero():
		return "sent " + to + " on " + d.Sent.Format("2 January 2006")
	case d.GivenUp:
		return "not delivered " + to + ", given up"
	case expired:
		return "not sent " + to + ": of no use any more"
	case d.Error != "":
		return "not delivered " + to + " yet, tried " + wording.Count(d.Attempts, "time")
	}
	return "waiting to go " + to
}

// Place is a site with its trees.
type Place struct {
	ID    string
	Name  string
	Basis string
	Known string // how old the weather is

	Sources  []Source // that it keeps coming from
	Readings string   // path of the page of what is read there
	Trees    []Tree
}

// Tree is what the next six weeks ask of one tree.
type Tree struct {
	ID, Name, Species, Group, Stage, Strength string
	Bench                                     string // empty: in the open

	Notice string // what comes before all else; empty: nothing
	Next   string
	Works  []Work
	Weeks  []string // headings of the six weeks
}

// PlaceOf lays out a plan. Known is the last day of measured weather, or NoDate.
func PlaceOf(p *calendar.Plan, known climate.Date) Place {
	out := Place{Name: p.Site.Name, Basis: wording.Rests(p.Basis), Known: knownOf(p, known)}
	for i := range p.Trees {
		t := &p.Trees[i]
		v := Tree{
			ID: t.Tree.ID, Name: t.Tree.Name, Species: t.Tree.Species,
			Stage: wording.Name(string(t.State.Stage)), Strength: string(t.State.Strength),
			Notice: wording.Sentence(t.Notice), Next: wording.Sentence(t.Next), Works: worksOf(t.Works, p.On), Weeks: weeks(p.On),
		}
		if t.Bench != nil {
			v.Bench = t.Bench.String()
		}
		if t.Species != nil {
			v.Species, v.Group = t.Species.Name, wording.Lower(string(t.Species.Group))
		}
		out.Trees = append(out.Trees, v)
	}
	return out
}

func age(known, on climate.Date) string {
	switch {
	case !known.Valid():
		return "No weather is measured for this place: dates rest on typical years, and are wide."
	case on-known <= 1:
		return "Weather is measured up to " + wording.Day(known) + "."
	}
	return "Weather is measured up to " + wording.Day(known) + ", " + wording.Count(int(on-known), "day") + " ago."
}

func weeks(on climate.Date) []string {
	out := make([]string, 0, shownDays/7)
	for d := on; d < on+shownDays; d += 7 {
		out = append(out, wording.ShortDay(d))
	}
	return out
}

// worksOf lays out the works that touch the days shown, those to be done first.
func worksOf(all []calendar.Planned, on climate.Date) []Work {
	var out []Work
	for i := range all {
		if w := &all[i]; shows(w, on) {
			out = append(out, workOf(w, on))
		}
	}
	slices.SortStableFunc(out, func(a, b Work) int { return cmp.Or(cmp.Compare(a.order, b.order), cmp.Compare(a.likely, b.likely)) })
	return out
}

// Count says how many works the six weeks hold that nothing stands against.
func (t Tree) Count() string {
	n := 0
	for _, w := range t.Works {
		if w.order == toDo {
			n++
		}
	}
	if n == 0 {
		return "nothing"
	}
	return strconv.Itoa(n)
}
