package pages

import (
	"fmt"
	"io"
	"strconv"

	"budswell/calendar"
	"budswell/feeds/wording"
)

// Nudges is the page on which a grower chooses what to be told, and how.
type Nudges struct {
	CSRF  string
	Said  string
	Fault string

	Email string // empty: none is known
	Mail  bool
	Kinds []Choice

	Levels   []Choice
	Moved    string
	From, To string // of the quiet hours, HH:MM; the same: none
	Wake     bool
	Zone     string // as typed
	Clock    string // the zone that holds where none is typed
	Cap      string
	WeekDays []Choice

	Webhooks bool // may be given
	Hooks    []Hook
	Secret   string // of a webhook just made, shown once
	URL      string // as typed
}

// Hook is a line of the list of webhooks.
type Hook struct{ ID, URL, Made, Ended string }

// NudgesOf lays out preferences; clock names the zone of the first place.
func NudgesOf(in *wording.Tongue, p calendar.Preferences, kinds []Choice, clock string) *Nudges {
	n := &Nudges{
		Mail: p.Mail, Kinds: kinds, Moved: strconv.Itoa(p.Moved), From: clockTime(p.QuietFrom), To: clockTime(p.QuietTo),
		Wake: p.Wake, Zone: p.Zone, Clock: clock, Cap: strconv.Itoa(p.Cap),
	}
	for i := range n.Kinds {
		n.Kinds[i].Picked = p.Wants(n.Kinds[i].Value)
	}
	near := false
	for _, level := range []int{10, 20, 30, 40, 50, 60, 70, 80, 90} {
		picked := !near && float64(level) >= 100*p.Level-0.5
		near = near || picked
		n.Levels = append(n.Levels, Choice{Value: strconv.Itoa(level), Label: in.Say("{1} % sure", strconv.Itoa(level)), Picked: picked})
	}
	for _, d := range in.Week() {
		n.WeekDays = append(n.WeekDays, Choice{Value: strconv.Itoa(int(d)), Label: in.Weekday(d), Picked: d == p.WeekDay})
	}
	return n
}

func clockTime(minutes int) string { return fmt.Sprintf("%02d:%02d", minutes/60, minutes%60) }

// HookOf describes a webhook.
func HookOf(in *wording.Tongue, w calendar.Webhook) Hook {
	h := Hook{ID: w.ID, URL: w.URL, Made: in.DayOf(w.Created)}
	if !w.Ended.IsZero() {
		h.Ended = in.Say("ended {1}: {2}", in.DayOf(w.Ended), in.Say(w.Why))
	}
	return h
}

// Nudges writes the page.
func (p *Pages) Nudges(w io.Writer, n *Nudges) error { return p.write(w, "nudges.html", n) }
