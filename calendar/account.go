package calendar

import (
	"context"
	"time"

	"budswell/climate"
)

// Account is how a grower signs in with a mail address and a password. A grower
// may have none: the secret link of [Grower.KeyHash] opens the pages as well.
type Account struct {
	Grower   string    // id
	Mail     string    // folded by the caller; no two accounts have the same
	Password string    // its hash, in PHC string form
	Changed  time.Time // when the password was set
}

// Ticket is a link that may be used once, until it expires: to set a password,
// or, without a grower, to join the service, a club of it, or both.
type Ticket struct {
	Hash    string // SHA-256, in hex, of the link's secret
	Grower  string // id; empty for an invitation
	Mail    string // the address that an invitation is for; may be empty
	Expires time.Time

	// Club is the id of the club that an invitation is into, Role what its member will
	// be; empty: it is into none.
	Club string
	Role Role
}

// Session is a browser's visit.
type Session struct {
	Hash    string // of the cookie's value
	Grower  string // id; empty where nobody is signed in
	Data    []byte
	Seen    time.Time
	Expires time.Time
}

// Accounts is the part of a [Store] that keeps how growers sign in, and lets
// them leave.
type Accounts interface {
	// Account returns how a grower signs in, AccountByMail whose a mail address is.
	Account(ctx context.Context, grower string) (Account, error)
	AccountByMail(ctx context.Context, mail string) (Account, error)
	// PutAccount adds an account or replaces the grower's one. It ends all of the
	// grower's sessions but the one whose hash is keep, and voids the grower's tickets.
	PutAccount(ctx context.Context, a Account, keep string) error
	// Rehash replaces the hash of a password that stays the same, unless the
	// account was changed meanwhile.
	Rehash(ctx context.Context, grower, from, to string) error

	PutTicket(ctx context.Context, t Ticket) error
	Ticket(ctx context.Context, hash string, now time.Time) (Ticket, error)
	// Redeem uses up the ticket of a grower and puts the account, all or nothing.
	// A ticket that is not there, or is of no use any more, is ErrGone.
	Redeem(ctx context.Context, ticket string, a Account, now time.Time) error
	// Join uses up an invitation and adds the grower with the account.
	Join(ctx context.Context, ticket string, g Grower, a Account, now time.Time) error

	Session(ctx context.Context, hash string, now time.Time) (Session, error)
	PutSession(ctx context.Context, s Session) error
	// KeepSession changes a session that is there, so that one that was ended does
	// not come back through a request that was under way.
	KeepSession(ctx context.Context, s Session) error
	Sessions(ctx context.Context, grower string, now time.Time) ([]Session, error) // last seen first
	// EndSession ends a session, where it is there.
	EndSession(ctx context.Context, hash string) error
	// EndSessions ends all sessions of a grower but the one whose hash is keep.
	EndSessions(ctx context.Context, grower, keep string) error

	// DeleteGrower deletes a grower and all that is theirs. FeedByToken answers
	// for their feeds with ErrGone, and nothing but when that was, until Sweep forgets it.
	DeleteGrower(ctx context.Context, id string, at time.Time) error
	// Sweep deletes what is of no more use: sessions and tickets that expired, the
	// memory of feeds whose grower left before the day given, and what a job
	// wrote of a grower who had just left.
	Sweep(ctx context.Context, now, left time.Time) error
}

// Condition is the part of a [Store] that says how the store and what is in it
// are, for the keeper.
type Condition interface {
	// Ready reports why the store cannot be used; nil: it can.
	Ready(ctx context.Context) error
	// Waiting counts what is to be delivered and is not yet, nor of no use any more at now.
	Waiting(ctx context.Context, now time.Time) (int, error)
	// WeatherUntil returns the last day of the record of each place that has one.
	WeatherUntil(ctx context.Context) ([]climate.Date, error)
}
