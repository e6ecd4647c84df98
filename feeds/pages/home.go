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

// Nudge is a message of the outbox.
type Nudge struct{ Title, Body, State string }

// NudgeOf describes a message as it is now.
func NudgeOf(in *wording.Tongue, n calendar.Nudge, now time.Time) Nudge {
	out := Nudge{Title: n.Title, Body: n.Body}
	var states []string
	for _, d := range n.Deliveries {
		states = append(states, stateOf(in, d, !n.Expires.IsZero() && !n.Expires.After(now)))
	}
	if out.State = strings.Join(states, "; "); out.State == "" {
		out.State = in.Say("kept here since {1}; no way to send it is set up", in.DayOf(n.Decided))
	}
	return out
}

// stateOf says how far a delivery has come; one that is expired is not sent any more.
func stateOf(in *wording.Tongue, d calendar.Delivery, expired bool) string {
	to := in.Say("to {1}", d.To)
	if d.Channel == calendar.ByWebhook {
		to = in.Say("to your webhook")
	}
	switch {
	case !d.Sent.IsZero():
		return in.Say("sent {1} on {2}", to, in.DayOf(d.Sent))
	case d.GivenUp:
		return in.Say("not delivered {1}, given up", to)
	case expired:
		return in.Say("not sent {1}: of no use any more", to)
	case d.Error != "":
		return in.Say("not delivered {1} yet, tried {2}", to, wording.Amount{N: d.Attempts, Thing: "time"})
	}
	return in.Say("waiting to go {1}", to)
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
	none   string   // what is said where there is nothing to do
}

// PlaceOf lays out a plan. Known is the last day of measured weather, or NoDate.
func PlaceOf(in *wording.Tongue, p *calendar.Plan, known climate.Date) Place {
	out := Place{Name: p.Site.Name, Basis: in.Rests(p.Basis), Known: knownOf(in, p, known)}
	for i := range p.Trees {
		t := &p.Trees[i]
		v := Tree{
			ID: t.Tree.ID, Name: t.Tree.Name, Species: t.Tree.Species,
			Stage: in.Name(string(t.State.Stage)), Strength: in.Lower(string(t.State.Strength)),
			Notice: wording.Sentence(t.Notice), Next: wording.Sentence(t.Next), Works: worksOf(in, t.Works, p.On), Weeks: weeks(in, p.On), none: in.Say("nothing"),
		}
		if t.Bench != nil {
			v.Bench = BenchOf(in, t.Bench)
		}
		if t.Species != nil {
			v.Species, v.Group = t.Species.Name, in.Lower(string(t.Species.Group))
		}
		out.Trees = append(out.Trees, v)
	}
	return out
}

func age(in *wording.Tongue, known, on climate.Date) string {
	switch {
	case !known.Valid():
		return in.Say("No weather is measured for this place: dates rest on typical years, and are wide.")
	case on-known <= 1:
		return in.Say("Weather is measured up to {1}.", in.Day(known))
	}
	return in.Say("Weather is measured up to {1}, {2} ago.", in.Day(known), wording.Amount{N: int(on - known), Thing: "day"})
}

func weeks(in *wording.Tongue, on climate.Date) []string {
	out := make([]string, 0, shownDays/7)
	for d := on; d < on+shownDays; d += 7 {
		out = append(out, in.ShortDay(d))
	}
	return out
}

// worksOf lays out the works that touch the days shown, those to be done first.
func worksOf(in *wording.Tongue, all []calendar.Planned, on climate.Date) []Work {
	var out []Work
	for i := range all {
		if w := &all[i]; shows(w, on) {
			out = append(out, workOf(in, w, on))
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
		return t.none
	}
	return strconv.Itoa(n)
}

// BenchOf names a bench, and how it stands.
func BenchOf(in *wording.Tongue, b *calendar.Bench) string {
	return b.Name + " (" + in.Lower(cmp.Or(b.Exposure, climate.Open)) + ")"
}
