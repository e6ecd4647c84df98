package calendar

import (
	"context"
	"time"

	"budswell/climate"
	"budswell/climate/phenology"
)

// Grower is a person who keeps trees.
type Grower struct {
	ID    string
	Name  string
	Email string // where nudges are mailed; empty: nowhere

	// KeyHash is the SHA-256, in hex, of the secret in the link that opens the
	// grower's pages.
	KeyHash string
}

// Place is a site where a grower's trees stand, with its weather.
type Place struct {
	ID      string
	Grower  string // id
	Site    climate.Site
	Weather climate.Weather
	Benches []Bench

	// Pool is what other growers saw at theirs, to learn from. It is not kept here: see [Pools].
	Pool []phenology.Pooled
}

// Kept is a tree with where it stands.
type Kept struct {
	Tree
	Grower string // id
	Place  string // id
}

// Feed is a secret link to a grower's calendar.
type Feed struct {
	ID     string
	Grower string
	Name   string // as calendar programs show it

	// TokenHash is the SHA-256, in hex, of the link's secret, which is shown
	// once and not kept.
	TokenHash string
	Filter    Filter

	Created time.Time
	Revoked time.Time // zero: not revoked
}

// Filter narrows a feed. Empty lists do not restrict.
type Filter struct {
	Trees   []string `json:"trees,omitempty"`   // tree ids
	Groups  []string `json:"groups,omitempty"`  // growth groups
	Classes []string `json:"classes,omitempty"` // classes of work
	Works   []string `json:"works,omitempty"`   // ids of works

	// Years shows the stages to come of the trees, in place of their work; classes
	// and works then restrict nothing.
	Years bool `json:"years,omitempty"`
}

// Revision is how often, and when last, what a person sees of a feed's event
// changed.
type Revision struct {
	UID      string
	Digest   string // of all that a person sees
	Sequence int
	Modified time.Time
}

// Store keeps everything that growers entered, and what the service must not
// forget. Each method is one transaction. A thing that is not there is
// [ErrNotFound], a value that cannot be kept [ErrInvalid], and a second thing
// with a secret that must be unique [ErrConflict]. Ids of places, trees and
// feeds are a grower's own: two growers may use the same. Times come back in
// UTC, to the nanosecond.
type Store interface {
	Accounts
	Condition
	Leases

	Growers(ctx context.Context) ([]Grower, error) // by id
	Grower(ctx context.Context, id string) (Grower, error)
	GrowerByKey(ctx context.Context, keyHash string) (Grower, error)
	// PutGrower adds a grower or replaces the one of the same id.
	PutGrower(ctx context.Context, g Grower) error

	// Sites returns the places of all growers without their weather, by grower and id.
	Sites(ctx context.Context) ([]Place, error)
	Places(ctx context.Context, grower string) ([]Place, error) // by id
	Place(ctx context.Context, grower, id string) (Place, error)
	// PutPlace adds a place or replaces the one of the same id. What services said
	// of the weather of a place that is now a kilometre elsewhere is let go.
	PutPlace(ctx context.Context, p Place) error

	// Trees returns a grower's trees in the order in which they were added, each
	// log by day and, within a day, in the order in which it was written.
	Trees(ctx context.Context, grower string) ([]Kept, error)
	// PutTree adds a tree, or changes the one of the same id; the entries of its
	// log that are not yet known are added, and none is ever taken away. Entries
	// that say the same of the same day are one.
	PutTree(ctx context.Context, t Kept) error
	AddEntry(ctx context.Context, grower, tree string, e Entry) error

	// Changes counts how often what a grower's plans and feeds are made from was
	// written, by whatever process; 0 where there is no such grower. RegionChanges
	// does the same for a region: a place lent to it counts when it is put, or where its weather
	// keeps coming from, and not when readings come in, which they do all day.
	Changes(ctx context.Context, grower string) (int, error)
	RegionChanges(ctx context.Context, region string) (int, error)

	Regions(ctx context.Context) ([]Region, error) // by id, without their bands
	Region(ctx context.Context, id string) (Region, error)
	// PutRegion adds a region or replaces the one of the same id. Of a region that was
	// kept when regions had one site, that is its one band. A place that is lent to a band is
	// kept as gone where there is none, or its grower does not edit the regions of the club; and it
	// is gone as soon as the grower leaves the club or the service, or edits no more.
	PutRegion(ctx context.Context, r Region) error
	// EndRegion deletes a region, its bands, and what was published of it.
	EndRegion(ctx context.Context, id string) error

	Feeds(ctx context.Context, grower string) ([]Feed, error)
	// FeedByToken finds a feed by the hash of its secret; a revoked one is
	// returned along with ErrGone.
	FeedByToken(ctx context.Context, tokenHash string) (Feed, error)
	// PutFeed adds a feed or changes the one of the same id; when it was created
	// and that it was revoked stay.
	PutFeed(ctx context.Context, f Feed) error
	RevokeFeed(ctx context.Context, grower, id string, at time.Time) error

	// Revise compares digests by UID with those kept for owner (a grower or
	// region id), raises the sequence of those that changed, adds those that are
	// new, and returns the revisions in the order of the digests.
	Revise(ctx context.Context, owner string, digests []Revision, at time.Time) ([]Revision, error)

	// Withdraw takes an entry of a log back: it is kept, marked as withdrawn, and
	// Trees leaves it out. ErrNotFound says that no such entry stands. AddEntry of
	// its like lets it stand again; PutTree of a log that holds it does not.
	Withdraw(ctx context.Context, grower, tree string, e Entry, at time.Time) error

	// Preferences returns the defaults for a grower who has set none.
	Preferences(ctx context.Context, grower string) (Preferences, error)
	// PutPreferences lets deliveries that were postponed before their first attempt be tried
	// at once, since the hours for which they waited may be others now.
	PutPreferences(ctx context.Context, grower string, p Preferences) error

	Webhooks(ctx context.Context, grower string) ([]Webhook, error) // the oldest first
	Webhook(ctx context.Context, grower, id string) (Webhook, error)
	// AddWebhook adds a webhook; one of the same id is ErrConflict.
	AddWebhook(ctx context.Context, w Webhook) error
	EndWebhook(ctx context.Context, grower, id, why string, at time.Time) error

	// Decide puts nudges into the outbox, with their deliveries and links, except
	// those of which the grower was told a subject before, sent or not. It
	// returns how many were new.
	Decide(ctx context.Context, nudges []Nudge) (int, error)
	// DecideAfter is Decide for nudges of one grower that were decided when the grower
	// had been told so many subjects: it is ErrConflict, and none is added, where that
	// are more by now, since a day's messages are counted before they are decided.
	DecideAfter(ctx context.Context, grower string, told int, nudges []Nudge) (int, error)
	// Nudges returns the newest nudges of a grower, so many at most, or all where
	// most is 0; the newest first, without their links.
	Nudges(ctx context.Context, grower string, most int) ([]Nudge, error)
	// Subjects returns what a grower was ever told of, in order.
	Subjects(ctx context.Context, grower string) ([]string, error)
	// ToldDays returns the days last told by key; Tell adds those whose key is
	// not there yet, for days that are told otherwise than by a nudge.
	ToldDays(ctx context.Context, grower string) (map[string]climate.Date, error)
	Tell(ctx context.Context, grower string, days []ToldDay, at time.Time) error

	// Claim takes the oldest delivery by a channel that is not done and may be
	// tried at now, counts the attempt, and keeps others from claiming it until
	// the lease ends. ErrNotFound says that there is none. Sent, Failed and
	// Postpone take the id of the delivery.
	Claim(ctx context.Context, channel string, now time.Time, lease time.Duration) (Claimed, error)
	Sent(ctx context.Context, id string, at time.Time) error
	// Failed says why an attempt, counted as Claim returned it, came to nothing,
	// and when the next may be made; zero gives up. It does nothing once the
	// delivery was done or claimed anew.
	Failed(ctx context.Context, id string, attempt int, why string, retry time.Time) error
	// Postpone gives a claim back, for a time until which the attempt could not
	// be made; the attempt does not count. It does nothing where Failed would not.
	Postpone(ctx context.Context, id string, attempt int, until time.Time) error

	// LinkByHash finds a link by the hash of its secret; one that has expired at
	// now is ErrGone.
	LinkByHash(ctx context.Context, hash string, now time.Time) (Link, error)
	// UseLink adds what a link logs to the logs of some of its trees, all or none.
	// A tree that is not of the link, or on which it was used before, is ErrConflict.
	UseLink(ctx context.Context, hash string, uses []LinkUse, at time.Time) error
	// TakeBack withdraws what was logged by a link, from all trees where it stands,
	// and returns these.
	TakeBack(ctx context.Context, hash string, at time.Time) ([]LinkUse, error)

	// LastRun returns when a job last succeeded, zero if never; Ran records it,
	// whatever was recorded before. LastRuns returns that of all jobs that ever did.
	LastRun(ctx context.Context, job string) (time.Time, error)
	LastRuns(ctx context.Context) (map[string]time.Time, error)
	Ran(ctx context.Context, job string, at time.Time) error

	// WeatherSources returns where the weather of all places keeps coming from, by
	// grower, place and kind; PutWeatherSources says where that of a place does from
	// now on. What is remembered of asking one stays where its kind and address do.
	WeatherSources(ctx context.Context) ([]WeatherSource, error)
	// WeatherSourcesOf returns those of one grower's places.
	WeatherSourcesOf(ctx context.Context, grower string) ([]WeatherSource, error)
	PutWeatherSources(ctx context.Context, grower, place string, sources []WeatherSource) error
	// Asked remembers how it went to ask a source. It changes no plan.
	Asked(ctx context.Context, s WeatherSource) error

	// Readings returns what sources, and the grower, said of a place's weather day by
	// day, by name of the source and kind.
	Readings(ctx context.Context, grower, place string) ([]climate.Series, error)
	// PutReadings adds to what a source said, and returns how many days changed. A
	// value replaces the one had before; what is NaN leaves it, unless the series is the
	// whole of what its source says. When a day's values were had, to the second,
	// moves only when one of them does. Of days foretold, those more than a year
	// before the last are let go.
	PutReadings(ctx context.Context, grower, place string, s climate.Series, whole bool) (int, error)

	// Locale returns the default for a grower who has set none. PutLocale counts as a
	// change, since feeds are written by it.
	Locale(ctx context.Context, grower string) (Locale, error)
	PutLocale(ctx context.Context, grower string, l Locale) error

	Published
	Wishes
	Amendments
	Clubs
	Pools
}
