package calendar

import (
	"context"
	"fmt"
	"regexp"
	"slices"
	"time"
)

// Club is growers who publish regions together.
type Club struct {
	ID      string // of letters, digits and hyphens; part of links
	Name    string
	Founded time.Time
}

// clubForm is what the id of a club looks like.
var clubForm = regexp.MustCompile(`^[a-z0-9][a-z0-9-]{0,63}$`)

// mostClubName is how many letters the name of a club has at most.
const mostClubName = 100

// Check reports a club that cannot be, as an [ErrInvalid].
func (c *Club) Check() error {
	switch {
	case !clubForm.MatchString(c.ID):
		return fmt.Errorf("club: id %q: want up to 64 small letters, digits and hyphens: %w", c.ID, ErrInvalid)
	case !ValidName(c.Name, mostClubName):
		return fmt.Errorf("club %s: name %.120q: want 1 to %d letters on one line: %w", c.ID, c.Name, mostClubName, ErrInvalid)
	case c.Founded.IsZero():
		return fmt.Errorf("club %s: founded: want the time: %w", c.ID, ErrInvalid)
	}
	return nil
}

// Role is what a member may do in a club.
type Role string

// The roles, each of which may all that those after it may.
const (
	Keeper Role = "keeper" // invites, gives roles, lets members go
	Editor Role = "editor" // edits regions and rules
	Plain  Role = "member" // reads
)

// Roles returns all roles, the one that may most first.
func Roles() []Role { return []Role{Keeper, Editor, Plain} }

// May tells whether somebody of role r may what role may. Nobody may anything by a
// role that is none.
func (r Role) May(role Role) bool {
	mine, asked := slices.Index(Roles(), r), slices.Index(Roles(), role)
	return mine >= 0 && asked >= 0 && mine <= asked
}

// Member is a grower in a club.
type Member struct {
	Club   string // id
	Grower string // id
	Role   Role
	Since  time.Time

	// Shares says that what the grower saw on trees goes into the club's pool, without
	// whose, which and where exactly.
	Shares bool
}

// Check reports a member that cannot be, as an [ErrInvalid].
func (m *Member) Check() error {
	switch {
	case m.Grower == "":
		return fmt.Errorf("member of %s: grower: want an id: %w", m.Club, ErrInvalid)
	case !slices.Contains(Roles(), m.Role):
		return fmt.Errorf("member %s of %s: role %q: want keeper, editor or member: %w", m.Grower, m.Club, m.Role, ErrInvalid)
	case m.Since.IsZero():
		return fmt.Errorf("member %s of %s: since: want the time: %w", m.Grower, m.Club, ErrInvalid)
	}
	return nil
}

// Clubs is the part of a [Store] that keeps clubs and who is in them. Whatever
// changes the members of a club counts as a change of all its members and regions.
type Clubs interface {
	Clubs(ctx context.Context) ([]Club, error) // by id
	Club(ctx context.Context, id string) (Club, error)
	// PutClub adds a club or renames the one of the same id; when it was founded stays.
	PutClub(ctx context.Context, c Club) error

	// Members returns who is in a club, Memberships which clubs a grower is in; by
	// the id of the other.
	Members(ctx context.Context, club string) ([]Member, error)
	Memberships(ctx context.Context, grower string) ([]Member, error)
	// PutMember lets a grower into a club, or changes role and sharing of one who is
	// in it; since when stays. EndMember lets one go, who keeps all that is theirs. The
	// last keeper can neither become less nor go while the grower is with the service:
	// ErrConflict. A keeper who leaves the service hands over to whoever has the highest
	// role, and among those to who came first.
	PutMember(ctx context.Context, m Member) error
	EndMember(ctx context.Context, club, grower string) error

	// JoinClub uses up an invitation into a club for a grower of the service, who
	// becomes what it says, or stays what they are where that is more. An invitation
	// that is not there, or of no use any more, is ErrGone.
	JoinClub(ctx context.Context, ticket, grower string, now time.Time) error
}
