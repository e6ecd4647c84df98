package calendar

import (
	"context"
	"fmt"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"
)

// Whose says whose words something is: a grower's or a club's. Exactly one id is given.
type Whose struct{ Grower, Club string }

// Amendment is one version of what a grower or a club says in the place of the lore, or
// besides it. A version is never changed: a newer one takes its place, or withdraws it.
type Amendment struct {
	Whose
	Subject   string    // what it is about, as "rule repot-deciduous" or "species Acer campestre"
	Number    int       // counted from 1 over all that its owner ever wrote
	At        time.Time // when it was written
	Who       string    // id of the grower who wrote it; empty: has left the service
	Why       string    // the reason, as it was given
	Text      string    // YAML, as the package lore reads it; empty where it withdraws
	Withdrawn bool      // from then on what is below holds again
}

// Bounds of amendments.
const (
	MostAmendmentText = 16 << 10  // bytes of one
	MostAmendments    = 100       // that stand at a time, of one owner
	MostAmendedText   = 128 << 10 // bytes of all that stand, of one owner
	MostVersions      = 2000      // ever written by one owner
	MostWhy           = 400       // letters
)

// Check reports an amendment that cannot be, as an [ErrInvalid], whatever its text says.
func (a *Amendment) Check() error {
	no := func(format string, args ...any) error {
		return fmt.Errorf("rule %.60q: %s: %w", a.Subject, fmt.Sprintf(format, args...), ErrInvalid)
	}
	kind, name, ok := strings.Cut(a.Subject, " ")
	switch {
	case (a.Grower == "") == (a.Club == ""):
		return no("want a grower or a club")
	case !ok || kind == "" || strings.TrimSpace(name) != name || name == "" || len(a.Subject) > 200 || strings.ContainsFunc(a.Subject, unicode.IsControl):
		return no("want a subject such as rule repot-deciduous")
	case a.At.IsZero():
		return no("want the time at which it was written")
	case utf8.RuneCountInString(a.Why) > MostWhy:
		return no("why has %d letters: want at most %d", utf8.RuneCountInString(a.Why), MostWhy)
	case len(a.Text) > MostAmendmentText:
		return no("has %d bytes: want at most %d", len(a.Text), MostAmendmentText)
	case a.Withdrawn != (a.Text == ""):
		return no("want a text, or that it is withdrawn")
	}
	return nil
}

// Amendments is the part of a [Store] that keeps what growers and clubs say in the
// place of the lore, with its history. What a club writes counts as a change of its
// members and regions.
type Amendments interface {
	// Amendments returns what stands: of each subject the newest version, where it does
	// not withdraw; in the order in which these were written.
	Amendments(ctx context.Context, of Whose) ([]Amendment, error)
	// Versions returns all that was ever written, the oldest first.
	Versions(ctx context.Context, of Whose) ([]Amendment, error)
	// Amend adds a version, written by one who saw the version of the subject numbered
	// after, 0 where there was none, and returns its number. ErrConflict says that
	// another was written since, ErrInvalid that there would be too many.
	Amend(ctx context.Context, a Amendment, after int) (int, error)

	// Followed returns the clubs, by id, that a grower is in and whose rules they chose to
	// follow; Follow chooses it for a club that they are in, or ends it, as going from it does.
	Followed(ctx context.Context, grower string) ([]string, error)
	Follow(ctx context.Context, grower, club string, follow bool) error
}
