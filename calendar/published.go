package calendar

import (
	"context"
	"time"

	"budswell/climate"
)

// Edition is what the feeds of an owner last showed. With it a poll is answered
// without a plan, by whatever process, for as long as the edition is of today
// and nothing that it was made from has changed.
type Edition struct {
	// Number rises whenever anything in Shown changes; 0 is before the first.
	Number int64

	Changes      int          // of the owner, as [Store] counts them, when it was made
	By           string       // which program and lore made it
	Day          climate.Date // of the plan
	Starts, Ends time.Time    // from when to before when it is to be shown

	Shown  []Shown // by UID
	Bodies []Body  // by name
}

// Shown is an event or a task as feeds last showed it.
type Shown struct {
	Revision
	State   string // JSON, from which feeds are written anew; empty: it is among the bodies
	Changed int64  // number of the edition in which it last changed
	Gone    bool   // in no feed any more
}

// Body is a feed ready to be served.
type Body struct {
	Name     string
	Tag      string    // of what is in it
	Modified time.Time // zero: not told
	Plain    []byte
	Packed   []byte // gzip
}

// Password lets a program connect as a grower. It is drawn at random, shown once,
// and good for calendars and tasks only.
type Password struct {
	ID      string
	Grower  string // id
	Name    string // which program it is for, as the grower calls it
	Hash    string // SHA-256, in hex
	Created time.Time
	Used    time.Time // last; zero: never
	Revoked time.Time // zero: not revoked
}

// Published is the part of a [Store] that keeps what is published, and who may
// read it by password.
type Published interface {
	// Edition returns what was last published for an owner, "grower ID" or
	// "region ID".
	Edition(ctx context.Context, owner string) (Edition, error)
	// EditionBody is Edition with one body only, or none where it has none of the name,
	// and without what is in Shown.
	EditionBody(ctx context.Context, owner, name string) (Edition, error)
	// PutEdition replaces the edition that has the number after, 0 where there is
	// none, and is ErrConflict where another has been put meanwhile. What is in
	// Shown is added or replaced where it changed in this edition; nothing is
	// taken away.
	PutEdition(ctx context.Context, owner string, e Edition, after int64) error

	Passwords(ctx context.Context, grower string) ([]Password, error) // oldest first
	// PasswordByHash finds a password; a revoked one is returned along with ErrGone.
	PasswordByHash(ctx context.Context, hash string) (Password, error)
	// PutPassword adds a password; one of the same id or hash is ErrConflict.
	PutPassword(ctx context.Context, p Password) error
	UsedPassword(ctx context.Context, grower, id string, at time.Time) error
	RevokePassword(ctx context.Context, grower, id string, at time.Time) error
}
