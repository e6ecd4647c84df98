package pages

import (
	"io"
	"strings"
	"time"

	"budswell/calendar"
	"budswell/feeds/wording"
)

// Messages is the page of what a grower was told, the newest first.
type Messages struct{ Nudges []Nudge }

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

// Messages writes the page.
func (p *Pages) Messages(w io.Writer, m *Messages) error { return p.write(w, "messages.html", m) }
