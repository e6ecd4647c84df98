package pages

import "io"

// SignIn is the page on which a grower signs in.
type SignIn struct {
	CSRF   string
	Mail   string // as typed
	Fault  string
	Why    string // the page is shown in place of another
	Mailed bool   // the service can mail links
	Open   bool   // and anybody may join

	Next string // where to go then
	Form string // what was sent there without being signed in, to be offered again
}

// Field is a value that was typed.
type Field struct{ Name, Value string }

// Resume offers a form again that was sent when the sign-in had ended.
type Resume struct {
	CSRF, Action string
	Fields       []Field
}

// Mailing is the page that asks where to mail a link.
type Mailing struct {
	CSRF string
	Open bool // for new growers too
}

// NewPassword is the page on which a password is set by a link.
type NewPassword struct {
	CSRF, Action string
	Join         bool   // by an invitation
	Name, Mail   string // typed or known
	Fixed        bool   // the address is known, and stays
	Fault        string
}

// Account is the page on which a grower settles how to sign in, and takes along
// or deletes what they entered.
type Account struct {
	CSRF        string
	Name, Mail  string
	HasPassword bool
	HasKey      bool   // the secret link is on
	Link        string // it was just made; shown once
	Said, Fault string
	Sessions    []Session
	Reading     []Input // language, units and dates
}

// Session is a browser in which the grower is signed in.
type Session struct {
	Hash, Agent, Since, Seen string
	Here                     bool
}

// Leaving is the page that asks whether all is to be deleted.
type Leaving struct {
	CSRF, Fault string
	HasPassword bool
	Places      int
	Trees       int
	Feeds       int
}

// Adding shows what a file would add, or, with Done, what it added.
type Adding struct {
	CSRF     string
	Adds     []string // in words
	Stays    []string // is here already and stays as it is
	Text     string   // the file
	Done     bool
	NewLinks []*Link
}

// SignIn writes the page.
func (p *Pages) SignIn(w io.Writer, v *SignIn) error { return p.write(w, "sign-in.html", v) }

// Resume writes the page.
func (p *Pages) Resume(w io.Writer, v *Resume) error { return p.write(w, "resume.html", v) }

// Mailing writes the page.
func (p *Pages) Mailing(w io.Writer, v *Mailing) error { return p.write(w, "mailing.html", v) }

// NewPassword writes the page.
func (p *Pages) NewPassword(w io.Writer, v *NewPassword) error {
	return p.write(w, "new-password.html", v)
}

// Account writes the page.
func (p *Pages) Account(w io.Writer, v *Account) error { return p.write(w, "account.html", v) }

// Leaving writes the page.
func (p *Pages) Leaving(w io.Writer, v *Leaving) error { return p.write(w, "leaving.html", v) }

// Adding writes the page.
func (p *Pages) Adding(w io.Writer, v *Adding) error { return p.write(w, "adding.html", v) }
