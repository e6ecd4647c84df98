package nudge

import (
	"time"

	"budswell/calendar"
)

// QuietUntil returns when a grower's quiet hours end, by the clock of a zone, and
// false where now is not in them. It looks at the clock minute by minute, so that
// it holds in nights in which clocks skip or repeat an hour, whichever they are.
func QuietUntil(p *calendar.Preferences, zone *time.Location, now time.Time) (time.Time, bool) {
	quiet := func(t time.Time) bool {
		t = t.In(zone)
		minute := t.Hour()*60 + t.Minute()
		if p.QuietFrom <= p.QuietTo {
			return p.QuietFrom <= minute && minute < p.QuietTo
		}
		return minute >= p.QuietFrom || minute < p.QuietTo
	}
	if !quiet(now) {
		return time.Time{}, false
	}
	t := now.Truncate(time.Minute)
	for quiet(t) {
		t = t.Add(time.Minute)
	}
	return t, true
}
