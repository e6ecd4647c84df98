package feeds

import (
	"context"

	"budswell/calendar"
)

// addLocale takes over how a grower reads, unless that was said here.
func (d *Addition) addLocale(ctx context.Context, store calendar.Store, a *calendar.ArchiveGrower) error {
	if a.Locale == nil || *a.Locale == calendar.DefaultLocale() {
		return nil
	}
	if !d.New {
		l, err := store.Locale(ctx, d.Grower.ID)
		if err != nil {
			return err
		}
		if l != calendar.DefaultLocale() {
			d.stays("language and units")
			return nil
		}
	}
	d.Locale = a.Locale
	d.adds("language and units")
	return nil
}
