// Package nudge tells growers in time. [Decide] says what there is to tell on a
// morning and is a pure function; the nudges it returns go into the outbox of a
// [calendar.Store], from which a [Sender] mails them; a [Scheduler] runs both.
//
// A nudge tells subjects, such as that the buds of a species swell at a place
// this season, and a grower is told each subject once: the store refuses a
// nudge of which a subject was told before. What happens on one morning is one
// message of each kind, however many trees it is about.
//
// A nudge is mailed once. It is claimed before the mail server is spoken to and
// marked as sent, on the disk, as soon as the server has taken it, before
// anything else is said to the server. A process that dies in between leaves
// the nudge claimed; when the claim ends the nudge is tried again. SMTP offers
// no way to ask whether a message was taken, so a message that the server took
// while the process, the machine or the connection died before its answer was
// read and marked is mailed a second time. It is then the same message byte for
// byte, with the same Message-ID, which is made from the nudge's id, so that
// mail programs and servers can tell. Nothing else repeats and nothing is lost.
package nudge

import (
	"crypto/sha256"
	"encoding/hex"
	"maps"
	"slices"
	"strings"
	"time"

	"budswell/calendar"
	"budswell/climate"
	"budswell/climate/phenology"
)

// Kinds of nudge.
const (
	BudsSwell   = "buds-swell"   // buds are swelling, by forecast or by a sign on another tree
	WindowOpens = "window-opens" // a work's window has come
	ShadeEnds   = "shade-ends"   // a tree may come out of the shade
	FrostNear   = "frost-near"   // a night near freezing is forecast for roots that cannot bear it
)

// Morning is what is known of the trees at one of a grower's places.
type Morning struct {
	Grower calendar.Grower
	Place  string    // its id
	Now    time.Time // when it is decided

	Plan    *calendar.Plan              // made this morning
	Seasons map[string]phenology.Season // by the tree's id, of the season that Plan.On is in
	Nights  *climate.Record             // a provider's weather forecast; nil where there is none

	// Told holds the subjects of earlier nudges; see the function [Told].
	Told map[string]bool
}

// useful is how long a nudge is worth mailing; the page shows it all the same.
const useful = 10 * 24 * time.Hour

// Decide returns what there is to tell that was not told before. The same
// morning gives the same nudges, with the same ids.
func Decide(m Morning) []calendar.Nudge {
	told := make(map[string]bool, len(m.Told))
	maps.Copy(told, m.Told)
	m.Told = told

	var out []calendar.Nudge
	for _, kind := range []func(*Morning) (calendar.Nudge, bool){budsSwell, shadeEnds, windowOpens, frostNear} {
		n, ok := kind(&m)
		if !ok {
			continue
		}
		n.ID = id(m.Grower.ID, n.Kind, n.Subjects)
		n.Grower, n.To, n.Decided = m.Grower.ID, m.Grower.Email, m.Now
		if n.Expires.IsZero() {
			n.Expires = m.Now.Add(useful)
		}
		for _, s := range n.Subjects {
			told[s] = true
		}
		out = append(out, n)
	}
	return out
}

// Told returns the subjects that nudges tell.
func Told(nudges []calendar.Nudge) map[string]bool {
	out := map[string]bool{}
	for _, n := range nudges {
		for _, s := range n.Subjects {
			out[s] = true
		}
	}
	return out
}

// id makes the id of a nudge from what it tells and whom.
func id(grower, kind string, subjects []string) string {
	sorted := slices.Sorted(slices.Values(subjects))
	sum := sha256.Sum256([]byte(strings.Join(append([]string{grower, kind}, sorted...), "\x00")))
	return hex.EncodeToString(sum[:16])
}
