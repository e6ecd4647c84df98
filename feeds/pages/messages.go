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

// Messages writes the page.
func (p *Pages) Messages(w io.Writer, m *Messages) error { return p.write(w, "messages.html", m) }
