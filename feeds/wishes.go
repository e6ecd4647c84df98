package feeds

import (
	"context"
	"slices"

	"budswell/calendar"
)

// settleWishes keeps the hours and shows that a plan file names. A file speaks for
// its own trees: those of other places stay entered for a show of the same name.
func settleWishes(ctx context.Context, store calendar.Store, f *calendar.File, grower string) error {
	if f.Hours != nil {
		if err := store.PutHours(ctx, grower, f.Hours); err != nil {
			return err
		}
	}
	if len(f.Shows) == 0 {
		return nil
	}
	shows, err := store.Shows(ctx, grower)
	if err != nil {
		return err
	}
	for _, show := range f.Shows {
		same := slices.IndexFunc(shows, func(k calendar.Show) bool { return calendar.Slug(k.Name) == calendar.Slug(show.Name) })
		if same < 0 {
			shows = append(shows, show)
			continue
		}
		for _, id := range shows[same].Trees {
			if !anyOf(f.Trees, []string{id}) {
				show.Trees = append(show.Trees, id)
			}
		}
		shows[same] = show
	}
	return store.PutShows(ctx, grower, shows)
}

// addWishes works out which archived shows and hours are new.
func (d *Addition) addWishes(ctx context.Context, store calendar.Store, a *calendar.ArchiveGrower) error {
	known, err := store.Shows(ctx, d.Grower.ID)
	if err != nil {
		return err
	}
	all := slices.Clone(known)
	for _, s := range a.Shows {
		if slices.ContainsFunc(known, func(k calendar.Show) bool { return calendar.Slug(k.Name) == calendar.Slug(s.Name) }) {
			d.stays("show %s", s.Name)
			continue
		}
		all = append(all, s)
		d.adds("show %s", s.Name)
	}
	if len(all) > len(known) {
		d.Shows = all
	}
	hours, err := store.Hours(ctx, d.Grower.ID)
	if err != nil || a.Hours == nil {
		return err
	}
	if hours != nil {
		d.stays("hours")
		return nil
	}
	d.Hours = a.Hours
	d.adds("hours")
	return nil
}

func (d *Addition) writeWishes(ctx context.Context, store calendar.Store) error {
	if d.Shows != nil {
		if err := store.PutShows(ctx, d.Grower.ID, d.Shows); err != nil {
			return err
		}
	}
	if d.Hours == nil {
		return nil
	}
	return store.PutHours(ctx, d.Grower.ID, d.Hours)
}

// addRules adds what a grower says in the place of the lore, where they say nothing of the
// same yet.
func (d *Addition) addRules(ctx context.Context, store calendar.Store, a *calendar.ArchiveGrower) error {
	known, err := store.Amendments(ctx, calendar.Whose{Grower: d.Grower.ID})
	if err != nil {
		return err
	}
	for i := range a.Rules {
		r := &a.Rules[i]
		if slices.ContainsFunc(known, func(k calendar.Amendment) bool { return k.Subject == r.Subject }) {
			d.stays("your %s", r.Subject)
			continue
		}
		d.Rules = append(d.Rules, r.Amendment(d.Grower.ID))
		d.adds("your %s", r.Subject)
	}
	return nil
}

func (d *Addition) writeRules(ctx context.Context, store calendar.Store) error {
	if len(d.Rules) == 0 {
		return nil
	}
	versions, err := store.Versions(ctx, calendar.Whose{Grower: d.Grower.ID})
	if err != nil {
		return err
	}
	for _, r := range d.Rules {
		if _, err := store.Amend(ctx, r, newestOf(versions, r.Subject)); err != nil {
			return err
		}
	}
	return nil
}
