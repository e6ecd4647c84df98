package calendar

import (
	"fmt"
	"slices"
	"time"

	"budswell/climate"
)

// Nudge is a message to a person, kept in the outbox until each of its
// deliveries is done.
type Nudge struct {
	ID     string // made from what it is about; the same nudge has the same id
	Grower string
	Kind   string
	Urgent bool // of no use tomorrow, such as frost tonight
	Title  string
	Body   string // plain text, complete but for its links
	HTML   string // the same as the inner part of an HTML page; empty where there is none

	// Subjects are the things it tells, such as "bud-swell 2026 bench Acer
	// campestre". A grower is told each of them once.
	Subjects []string

	// Days are the days that it tells of things to come, so that it can be told
	// later how far they moved.
	Days []ToldDay

	Links      []Link
	Deliveries []Delivery

	Decided time.Time
	Expires time.Time // of no use afterwards, and not delivered then; zero: never
}

// ToldDay is the day that a grower was last told of a thing.
type ToldDay struct {
	Key string
	On  climate.Date
}

// Channels by which a nudge is delivered.
const (
	ByMail    = "mail"
	ByWebhook = "webhook"
)

// Delivery is one nudge on its way by one channel. Each is done by itself, once.
type Delivery struct {
	ID      string // unique; the same for the same nudge, channel and recipient
	Channel string
	To      string // a mail address, or the id of a webhook

	Sent     time.Time // zero: not yet
	Attempts int
	Retry    time.Time // not to be tried again before
	GivenUp  bool      // not to be tried again at all
	Error    string    // of the last attempt that failed
}

// Claimed is a delivery that a sender has taken on, with what it delivers.
type Claimed struct {
	Nudge
	Delivery Delivery
}

// StopMail is what a link does that ends mail to a grower.
const StopMail = "stop:mail"

// Link lets whoever has its secret do one thing, without signing in: log
// something on some trees, once on each, or end the mail.
type Link struct {
	Hash   string // SHA-256, in hex, of the secret
	Grower string // filled in by the store
	Nudge  string // its id; filled in by the store

	// Secret is kept only until the nudge is delivered, for it stands in the
	// message; afterwards it is empty.
	Secret string

	// Does is what it does: "did:" with a work, "saw:" or "not-yet:" with a
	// phase, or [StopMail].
	Does    string
	Label   string   // the same as people read it
	Trees   []string // ids of the trees on which it can be logged
	Expires time.Time

	Uses []LinkUse // by tree
}

// LinkUse is what was logged on a tree by a link.
type LinkUse struct {
	Tree  string
	Entry Entry
	At    time.Time
	Back  time.Time // when it was taken back; zero: it stands
}

// Used reports whether the link was used on a tree already.
func (l *Link) Used(tree string) bool {
	return slices.ContainsFunc(l.Uses, func(u LinkUse) bool { return u.Tree == tree })
}

// Preferences say what a grower wants to be told, and how.
type Preferences struct {
	Mail bool     `json:"mail"` // to the grower's address
	Off  []string `json:"off"`  // kinds of nudge that are not wanted

	// Level is the probability from which buds are told to swell, 0.1 to 0.9.
	Level float64 `json:"level"`
	// Moved is by how many days a forecast must move to be told again, 3 to 60.
	Moved int `json:"moved"`

	// Quiet hours, in minutes after midnight, 0 to 1439, in which nothing is
	// delivered; the same twice: none.
	QuietFrom int    `json:"quiet_from"`
	QuietTo   int    `json:"quiet_to"`
	Wake      bool   `json:"wake"` // urgent nudges come in quiet hours too
	Zone      string `json:"zone"` // IANA time zone; empty: that of the first place

	Cap     int          `json:"cap"`      // messages a day, 1 to 20, besides urgent ones
	WeekDay time.Weekday `json:"week_day"` // of the weekly digest
}

// DefaultPreferences are those of a grower who has set none.
func DefaultPreferences() Preferences {
	return Preferences{
		Mail: true, Level: 0.5, Moved: 10, QuietFrom: 21 * 60, QuietTo: 7 * 60, Cap: 4, WeekDay: time.Friday,
	}
}

// Wants reports whether a kind of nudge is wanted.
func (p *Preferences) Wants(kind string) bool { return !slices.Contains(p.Off, kind) }

// Validate reports the first preference that cannot be.
func (p *Preferences) Validate() error {
	const lastMinute = 24*60 - 1
	switch {
	case !(p.Level >= 0.1 && p.Level <= 0.9):
		return fmt.Errorf("level %v: want 0.1 to 0.9: %w", p.Level, ErrInvalid)
	case p.Moved < 3 || p.Moved > 60:
		return fmt.Errorf("moved %d: want 3 to 60 days: %w", p.Moved, ErrInvalid)
	case min(p.QuietFrom, p.QuietTo) < 0 || max(p.QuietFrom, p.QuietTo) > lastMinute:
		return fmt.Errorf("quiet hours %d to %d: want minutes from 0 to %d: %w", p.QuietFrom, p.QuietTo, lastMinute, ErrInvalid)
	case p.Cap < 1 || p.Cap > 20:
		return fmt.Errorf("cap %d: want 1 to 20 messages a day: %w", p.Cap, ErrInvalid)
	case p.WeekDay < time.Sunday || p.WeekDay > time.Saturday:
		return fmt.Errorf("week day %d: want 0 to 6: %w", p.WeekDay, ErrInvalid)
	}
	if p.Zone != "" {
		if _, err := time.LoadLocation(p.Zone); err != nil {
			return fmt.Errorf("zone %q: want an IANA time zone such as Europe/Zurich: %w", p.Zone, ErrInvalid)
		}
	}
	return nil
}

// Webhook is an address of a grower's to which nudges are posted as JSON.
type Webhook struct {
	ID     string
	Grower string
	URL    string
	Secret string // by which its messages are signed; shown once

	Created time.Time
	Ended   time.Time // zero: in use
	Why     string    // it was ended
}
