package feeds

import (
	"slices"

	"budswell/calendar"
	"budswell/feeds/ics"
)

// passing returns the entries that a feed of tasks, or of events, shows. A feed of
// the years shows stages, and no others do; it has no tasks.
func passing(f calendar.Filter, tasks bool, all []ics.Entry) []ics.Entry {
	out := make([]ics.Entry, 0, len(all))
	for i := range all {
		e := &all[i]
		if e.Task != tasks || e.Ahead != f.Years || !among(f.Trees, e.Tree) || !among(f.Groups, e.Group) {
			continue
		}
		if f.Years || among(f.Classes, e.Class) && among(f.Works, e.Work) {
			out = append(out, *e)
		}
	}
	return out
}

func among(list []string, v string) bool { return len(list) == 0 || slices.Contains(list, v) }
