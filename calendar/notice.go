package calendar

import (
	"fmt"
	"strings"
)

// notice says what goes before all that comes next: that nothing is known of when the
// tree was dug, that by its log it stands in the frost, that wire has been on it for
// longer than a growing season, in which it bites into most trees, and that it rests
// (common practice, no published source).
func (b *bench) notice() string {
	if b.tree.Origin.dug() && !b.history.had.Valid() {
		return "Nothing is known of when it was dug: log that, or judge the tree. Until then it is planned for as newly dug, if it is out of the ground at all."
	}
	on := b.planner.outlook.Issue
	var parts []string
	if b.unsheltered() {
		parts = append(parts, "Its log does not say that it is in winter shelter, and the time to bring it there is most likely past: do it now if it is not done, and log it.")
	}
	if wire := b.state.WireSince; wire.Valid() && b.history.growth.Passed(wire, on, 1) {
		parts = append(parts, fmt.Sprintf("There is wire on it since %v: look at it now, and take off what marks, whatever the season.", wire))
	}
	if d, until := b.history.rest(on); d != nil {
		end := "for want of warmth without an end that can be told"
		if until.Valid() {
			end = "until about " + until.String()[:len("2006-01")]
		}
		parts = append(parts, fmt.Sprintf("It rests %s after %s (done on %v): no hard work before.", end, lower(d.work.Title), d.on))
	}
	return strings.Join(parts, " ")
}

// unsheltered reports whether the tree should be in winter shelter, since the next that
// comes of it is the way out, and neither a work nor a move in its log brought it there.
func (b *bench) unsheltered() bool {
	const winter = 240 // days, the longest
	on := b.planner.outlook.Issue
	for _, e := range b.tree.Log {
		if e.Moved != "" && e.On <= on && e.On > on-winter {
			return false
		}
	}
	if b.history.last(WorkWinterShelter, on-winter).Valid() {
		return false
	}
	out := false
	for _, c := range b.works {
		if c.Done.Valid() || c.Window.Chance < 0.5 {
			continue
		}
		switch ahead := c.Window.Opens.P50 - on; c.Work.ID {
		case WorkWinterShelter:
			if c.Window.Closes.P50 >= on && ahead < winter/2 {
				return false // its time is now, or to come
			}
		case WorkOutOfWinter:
			out = out || ahead > 0 && ahead < winter/2
		}
	}
	return out
}
