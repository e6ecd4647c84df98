package feeds

import (
	"context"
	"slices"

	"budswell/calendar"
)

// sharesOf lists the clubs in which a grower shares sightings.
func sharesOf(ctx context.Context, store calendar.Store, grower string) (out []string, err error) {
	mine, err := store.Memberships(ctx, grower)
	for _, m := range mine {
		if m.Shares {
			out = append(out, m.Club)
		}
	}
	return out, err
}

// addShares takes over in which clubs sightings are shared, as far as the grower is in
// these here: an archive lets nobody into a club.
func (d *Addition) addShares(ctx context.Context, store calendar.Store, a *calendar.ArchiveGrower) error {
	if len(a.Shares) == 0 {
		return nil
	}
	mine, err := store.Memberships(ctx, d.Grower.ID)
	if err != nil {
		return err
	}
	for _, club := range a.Shares {
		i := slices.IndexFunc(mine, func(m calendar.Member) bool { return m.Club == club })
		switch {
		case i < 0: // no club of theirs here, so there is nothing to share in
		case mine[i].Shares:
			d.stays("sharing of sightings with the club %s", club)
		default:
			d.Shares = append(d.Shares, club)
			d.adds("sharing of sightings with the club %s", club)
		}
	}
	return nil
}
