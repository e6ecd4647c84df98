// Package nudge tells growers in time. [Decide] says what there is to tell on a
// morning and is a pure function; the nudges it returns go into the outbox of a
// [calendar.Store], from which a [Sender] delivers them by mail and to webhooks; a
// [Scheduler] runs both.
//
// A nudge tells subjects, such as that the buds of a species swell at a place
// this season, and a grower is told each subject once: the store refuses a
// nudge of which a subject was told before. What happens on one morning is one
// message of each kind, however many trees it is about, and no more messages a
// day than the grower wants; see [Decide].
//
// A nudge is delivered once by each channel. A delivery is claimed before the
// other side is spoken to and marked as done, on the disk, as soon as that has
// taken it, before anything else is said to it. A process that dies in between
// leaves the delivery claimed; when the claim ends it is tried again. Neither
// SMTP nor HTTP offers a way to ask whether a message was taken, so a message
// that was taken while the process, the machine or the connection died before
// the answer was read and marked is delivered a second time. A mail is then the
// same byte for byte, with the same Message-ID, which is made from the nudge's
// id; a webhook's is the same body with the same webhook-id, so that either can
// be told for a repeat. Nothing else repeats and nothing is lost.
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
	"budswell/feeds/wording"
)

// Kinds of nudge.
const (
	BudsSwell     = "buds-swell"     // buds are swelling, by forecast or by a sign on another tree
	WindowOpens   = "window-opens"   // a work's window has come
	WindowCloses  = "window-closes"  // and is about to go
	Overdue       = "overdue"        // and has most likely gone, with the work not logged
	ShadeEnds     = "shade-ends"     // a tree may come out of the shade
	WireCheck     = "wire-check"     // wire is to be looked at
	FrostNear     = "frost-near"     // a night near freezing is forecast for roots or growth that cannot bear it
	RootCold      = "root-cold"      // a night is forecast that potted roots do not stand
	Heat          = "heat"           // a day is forecast that trees want shade from
	ForecastMoved = "forecast-moved" // a day that was told has moved
	WeekAhead     = "week-ahead"     // the weekly digest
)

// several is the kind of a nudge that holds others, beyond what a grower wants a day.
const several = "several"

// Kinds lists the kinds that a grower can switch off, with what they tell.
func Kinds() []struct{ ID, Title string } {
	return []struct{ ID, Title string }{
		{FrostNear, "Frost tonight, for soft roots and growth"},
		{RootCold, "Cold that potted roots do not stand"},
		{Heat, "Heat"},
		{BudsSwell, "Buds are swelling"},
		{WindowOpens, "A window opens"},
		{WindowCloses, "A window is closing"},
		{Overdue, "Work is overdue"},
		{ShadeEnds, "Shade ends"},
		{WireCheck, "Look at the wire"},
		{ForecastMoved, "The forecast moved"},
		{WeekAhead, "The week ahead, once a week"},
	}
}

// Day is what is known of a grower's trees when it is decided what to tell.
type Day struct {
	Grower      calendar.Grower
	Preferences calendar.Preferences
	Webhooks    []calendar.Webhook
	Now         time.Time
	Places      []Morning

	In *wording.Tongue // of the grower; nil: English

	Sent     []calendar.Nudge // earlier nudges, as far as they are of this day
	Subjects []string         // all that was told, besides what those tell

	Told map[string]climate.Date // the days last told, by key; see calendar.ToldDay

	// Urgent says to tell only what cannot wait for the next morning.
	Urgent bool
}

// Morning is what is known of the trees at one of a grower's places.
type Morning struct {
	Place string // its id

	Plan    *calendar.Plan              // made this morning
	Seasons map[string]phenology.Season // by the tree's id, of the season that Plan.On is in
	Nights  *climate.Record             // a provider's weather forecast; nil where there is none

	in    *wording.Tongue
	now   time.Time
	wants calendar.Preferences
	told  map[string]bool         // subjects of earlier nudges and of this morning's
	early map[string]bool         // subjects of earlier nudges
	days  map[string]climate.Date // as in Day
}

const (
	// useful is how long a nudge is worth delivering; the page shows it all the same.
	useful = 10 * 24 * time.Hour

	// mostUrgent is how many urgent nudges a grower gets a day at most.
	mostUrgent = 3

	// MostADay is above the number of nudges that a grower can have had in a day.
	MostADay = 100
)

// Decide returns what there is to tell that was not told before, and the days
// that are from now on taken as told although no nudge tells them, to which
// later days are compared. The same day gives the same nudges, with the same ids.
//
// Of the day's messages, by the grower's own clock, no more are made than the
// grower's cap, and no more than three that are urgent. The last message that
// the cap allows holds all that is left; what comes after it waits for the next
// morning. Links of the nudges have no secret yet; see [Seal].
func Decide(d Day) ([]calendar.Nudge, []calendar.ToldDay) {
	early := make(map[string]bool, len(d.Subjects))
	for _, s := range d.Subjects {
		early[s] = true
	}
	for _, n := range d.Sent {
		for _, s := range n.Subjects {
			early[s] = true
		}
	}
	told := maps.Clone(early)
	in := d.tongue()
	var urgent, others []draft
	var days []calendar.ToldDay
	for i := range d.Places {
		m := &d.Places[i]
		m.in = in
		m.now, m.wants, m.told, m.early, m.days = d.Now, d.Preferences, told, early, d.Told
		for _, kind := range []func(*Morning) (draft, bool){
			frostNear, rootCold, heat, budsSwell, shadeEnds, wireCheck, windowOpens, windowCloses, overdue, forecastMoved,
		} {
			n, ok := kind(m)
			if !ok || !m.wants.Wants(n.kind) {
				continue
			}
			for _, s := range n.subjects {
				told[s] = true
			}
			if n.urgent {
				urgent = append(urgent, n)
			} else {
				others = append(others, n)
			}
		}
		days = append(days, m.baseline()...)
	}
	if n, ok := d.weekAhead(told); ok && d.Preferences.Wants(WeekAhead) {
		others = slices.Insert(others, 0, n)
	}
	urgentToday, othersToday := d.today()
	out := d.nudges(fit(in, urgent, mostUrgent-urgentToday))
	if d.Urgent {
		return out, nil
	}
	return append(out, d.nudges(fit(in, others, d.Preferences.Cap-othersToday))...), days
}

func (d *Day) tongue() *wording.Tongue {
	if d.In == nil {
		return wording.English
	}
	return d.In
}

// today counts the messages of the day so far.
func (d *Day) today() (urgent, others int) {
	zone := d.zone()
	on := climate.DateOf(d.Now.In(zone))
	for _, n := range d.Sent {
		switch {
		case climate.DateOf(n.Decided.In(zone)) != on:
		case n.Urgent:
			urgent++
		default:
			others++
		}
	}
	return urgent, others
}

func (d *Day) zone() *time.Location {
	if len(d.Places) == 0 {
		return Zone(d.Preferences, nil)
	}
	return Zone(d.Preferences, &d.Places[0].Plan.Site)
}

// Zone returns the time zone of a grower's own clock: the one set, or that of the
// first place, or UTC.
func Zone(p calendar.Preferences, first *climate.Site) *time.Location {
	if p.Zone != "" {
		if zone, err := time.LoadLocation(p.Zone); err == nil {
			return zone
		}
	}
	if first != nil {
		if zone, err := first.Location(); err == nil {
			return zone
		}
	}
	return time.UTC
}

// fit makes no more than slots drafts of those given, the last one of all that is left.
func fit(in *wording.Tongue, drafts []draft, slots int) []draft {
	switch {
	case len(drafts) <= slots:
		return drafts
	case slots <= 0:
		return nil
	}
	return append(slices.Clone(drafts[:slots-1]), merge(in, drafts[slots-1:]))
}

// nudges writes drafts out.
func (d *Day) nudges(drafts []draft) []calendar.Nudge {
	var out []calendar.Nudge
	for _, v := range drafts {
		n := calendar.Nudge{
			ID: id(d.Grower.ID, v.kind, v.subjects), Grower: d.Grower.ID, Kind: v.kind, Urgent: v.urgent,
			Title: clean(v.title), Body: v.letter.text(), HTML: v.letter.html(),
			Subjects: v.subjects, Days: v.days, Links: v.links, Decided: d.Now, Expires: v.expires,
		}
		if n.Expires.IsZero() {
			n.Expires = d.Now.Add(useful)
		}
		for i := range n.Links {
			n.Links[i].Expires = d.Now.Add(linkLife)
		}
		if d.Preferences.Mail && d.Grower.Email != "" {
			n.Deliveries = append(n.Deliveries, calendar.Delivery{ID: n.ID + "_mail", Channel: calendar.ByMail, To: d.Grower.Email})
			n.Links = append(n.Links, calendar.Link{Does: calendar.StopMail, Label: d.tongue().Say(noMoreMail), Expires: d.Now.Add(stopLife)})
		}
		for _, w := range d.Webhooks {
			if w.Ended.IsZero() {
				n.Deliveries = append(n.Deliveries, calendar.Delivery{ID: n.ID + "_" + w.ID, Channel: calendar.ByWebhook, To: w.ID})
			}
		}
		out = append(out, n)
	}
	return out
}

// How long links work.
const (
	linkLife = 21 * 24 * time.Hour
	stopLife = 400 * 24 * time.Hour
)

// Seal gives the links of nudges their secrets, which draw makes with their hashes.
func Seal(nudges []calendar.Nudge, draw func() (secret, hash string, err error)) error {
	for i := range nudges {
		for k := range nudges[i].Links {
			l := &nudges[i].Links[k]
			var err error
			if l.Secret, l.Hash, err = draw(); err != nil {
				return err
			}
		}
	}
	return nil
}

// draft is a nudge before it is written out.
type draft struct {
	kind     string
	urgent   bool
	title    string
	letter   letter
	subjects []string
	days     []calendar.ToldDay
	links    []calendar.Link
	expires  time.Time // zero: as usual
}

// link lets the reader log something on a tree; what is the same is one link.
func (d *draft) link(does, label, tree string) {
	i := slices.IndexFunc(d.links, func(l calendar.Link) bool { return l.Does == does })
	if i < 0 {
		i = len(d.links)
		d.links = append(d.links, calendar.Link{Does: does, Label: clean(label)})
	}
	if !slices.Contains(d.links[i].Trees, tree) {
		d.links[i].Trees = append(d.links[i].Trees, tree)
	}
}

// merge makes one draft of several, which are of one urgency.
func merge(in *wording.Tongue, drafts []draft) draft {
	if len(drafts) == 1 {
		return drafts[0]
	}
	out := draft{kind: several, urgent: drafts[0].urgent, letter: letter{in: in}}
	var titles []string
	for i := range drafts {
		v := &drafts[i]
		titles = append(titles, v.title)
		out.letter.add(v.title, &v.letter)
		out.subjects = append(out.subjects, v.subjects...)
		out.days = append(out.days, v.days...)
		for _, l := range v.links {
			for _, tree := range l.Trees {
				out.link(l.Does, l.Label, tree)
			}
		}
		if !v.expires.IsZero() && (out.expires.IsZero() || v.expires.After(out.expires)) {
			out.expires = v.expires
		}
	}
	if slices.ContainsFunc(drafts, func(v draft) bool { return v.expires.IsZero() }) {
		out.expires = time.Time{}
	}
	out.title = some(in, titles)
	return out
}

// id makes the id of a nudge from what it tells and whom.
func id(grower, kind string, subjects []string) string {
	sorted := slices.Sorted(slices.Values(subjects))
	sum := sha256.Sum256([]byte(strings.Join(append([]string{grower, kind}, sorted...), "\x00")))
	return hex.EncodeToString(sum[:16])
}
