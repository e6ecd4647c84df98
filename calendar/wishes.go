package calendar

import (
	"context"
	"fmt"
	"slices"
)

// Wishes is the part of a [Store] that keeps what a grower wants of the coming
// years, the hours that there are for it, and what the last agenda promised. What
// cannot be, written or read, is [ErrInvalid].
type Wishes interface {
	// Shows returns the shows of a grower, past ones among them, as they were put.
	Shows(ctx context.Context, grower string) ([]Show, error)
	PutShows(ctx context.Context, grower string, shows []Show) error

	// Hours returns the hours of a grower, and nil where none were ever told; put
	// nil, and they are forgotten, with what was promised.
	Hours(ctx context.Context, grower string) (*Hours, error)
	PutHours(ctx context.Context, grower string, h *Hours) error

	// Promise returns what was last promised. To put another is no change of the
	// grower's plan: it was made from the one before.
	Promise(ctx context.Context, grower string) (Promise, error)
	PutPromise(ctx context.Context, grower string, p Promise) error
}

// mostShows is how many shows a grower has at most.
const mostShows = 200

// CheckShows reports the first thing that cannot be of kept shows, whatever day it
// is and whatever trees and species there are, as an [ErrInvalid]. See [Show.Check]
// for the rest.
func CheckShows(shows []Show) error {
	if len(shows) > mostShows {
		return fmt.Errorf("shows: %d of them; want at most %d: %w", len(shows), mostShows, ErrInvalid)
	}
	names := map[string]bool{}
	for i := range shows {
		s := &shows[i]
		slug := Slug(s.Name)
		want := ""
		switch {
		case slug == "" || len(s.Name) > 200:
			want = "a name of 1 to 200 letters"
		case names[slug]:
			want = "another name than that of an earlier show"
		case !s.On.Valid():
			want = "a day"
		case !slices.Contains(Looks(), s.Look):
			want = "one of the looks " + nameLooks(Looks())
		case len(s.Trees) == 0 || slices.Contains(s.Trees, ""):
			want = "the ids of its trees"
		}
		if want != "" {
			return fmt.Errorf("shows[%d] %q: want %s: %w", i+1, s.Name, want, ErrInvalid)
		}
		names[slug] = true
	}
	return nil
}

// checkWishes reports shows and hours that cannot be.
func (g *ArchiveGrower) checkWishes(at string, lore *Lore) error {
	if err := CheckShows(g.Shows); err != nil {
		return fmt.Errorf("%s.%w", at, err)
	}
	if g.Hours == nil {
		return nil
	}
	if err := g.Hours.Check(lore); err != nil {
		return fmt.Errorf("%s.%w", at, err)
	}
	return nil
}
