package pages

import "io"

// Clubs lists the clubs that a grower is in.
type Clubs struct {
	Said  string
	Clubs []ClubRow
}

// ClubRow is a club with what the grower is in it.
type ClubRow struct {
	ID, Name, Role string
	Shares         bool
}

// Club is the page of a club for its members.
type Club struct {
	CSRF        string
	ID, Name    string
	Said, Fault string
	Role        string
	Edits       bool // regions and rules
	Keeps       bool // members
	Shares      bool
	Regions     []Choice
	Members     []MemberRow
}

// MemberRow is a member as others in the club see them.
type MemberRow struct {
	ID, Name, Role, Since string
	Shares, Me            bool
	Roles                 []Choice // for a keeper
}

// Members is the page on which a keeper settles who is in a club.
type Members struct {
	CSRF        string
	ID, Name    string
	Said, Fault string
	Link        string // of an invitation just made; shown once
	Mails       bool   // the service can mail invitations
	Mail, Role  string // as typed
	Roles       []Choice
	Members     []MemberRow
	Invitations []InvitationRow
}

// InvitationRow is an invitation that can be used yet.
type InvitationRow struct{ Hash, Mail, Role, Until string }

// JoinClub asks a grower whether to join the club that an invitation is into.
type JoinClub struct {
	CSRF, Action string
	Club, Role   string
	Grower       string // who is signed in; empty: nobody
	Joins        bool   // and who is not with the service yet may join it
	In           bool   // is a member already
}

// Pool is the page of what the members of a club share.
type Pool struct {
	CSRF, ID, Name string
	Said, Fault    string
	Keeps          bool
	Shares         bool
	Springs        []PoolSpring
	Mine           []PoolRow // what the grower shares
	Odd            []PoolRow // for a keeper
	Record         []string  // what was set aside, in words, for a keeper
}

// PoolBand is what was seen of a species in a band of elevation in one spring.
type PoolBand struct {
	Species, Common  string // common: empty where the reader's language has none
	Band, Seen, Late string
}

// PoolSpring is what was seen in one spring, the newest first.
type PoolSpring struct {
	Year  int
	Bands []PoolBand
}

// PoolRow is one sighting.
type PoolRow struct {
	Value                      string // names it in the form
	Who                        string // a member's name; for a keeper alone
	Species, Phase, On, Offset string
	Aside                      bool
}

// Clubs writes the page.
func (p *Pages) Clubs(w io.Writer, v *Clubs) error { return p.write(w, "clubs.html", v) }

// Club writes the page.
func (p *Pages) Club(w io.Writer, v *Club) error { return p.write(w, "club.html", v) }

// Members writes the page.
func (p *Pages) Members(w io.Writer, v *Members) error { return p.write(w, "members.html", v) }

// JoinClub writes the page.
func (p *Pages) JoinClub(w io.Writer, v *JoinClub) error { return p.write(w, "join-club.html", v) }

// Pool writes the page.
func (p *Pages) Pool(w io.Writer, v *Pool) error { return p.write(w, "pool.html", v) }
