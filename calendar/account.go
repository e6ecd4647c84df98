package calendar

import "time"

// Account is how a grower signs in with a mail address and a password. A grower
// may have none: the secret link of [Grower.KeyHash] opens the pages as well.
type Account struct {
	Grower   string    // id
	Mail     string    // folded by the caller; no two accounts have the same
	Password string    // its hash, in PHC string form
	Changed  time.Time // when the password was set
}

// Ticket is a link that may be used once, until it expires: to set a password,
// or, without a grower, to join.
type Ticket struct {
	Hash    string // SHA-256, in hex, of the link's secret
	Grower  string // id; empty for an invitation
	Mail    string // the address that an invitation is for; may be empty
	Expires time.Time
}

// Session is a browser's visit.
type Session struct {
	Hash    string // of the cookie's value
	Grower  string // id; empty where nobody is signed in
	Data    []byte
	Seen    time.Time
	Expires time.Time
}
