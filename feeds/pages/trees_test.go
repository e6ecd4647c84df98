package pages

import (
	"testing"

	"budswell/calendar"
	"budswell/climate"
	"budswell/feeds/wording"
)

// The first work of a tree is the one that its page shows first.
func TestTheFirstWorkIsThatOfThePage(t *testing.T) {
	soon, later := planned(spread(-3, 2, 5), spread(20, 30, 40)), planned(spread(4, 8, 20), spread(20, 30, 40))
	done, blocked, far := soon, soon, planned(spread(90, 95, 99), spread(120, 130, 140))
	done.Title, done.Done = "done", on-2
	blocked.Title, blocked.Blocked = "blocked", []calendar.Block{{Reason: "it rests", Until: climate.NoDate}}
	soon.Title, later.Title, far.Title = "soon", "later", "far"
	for name, works := range map[string][]calendar.Planned{
		"soon": {done, blocked, later, soon, far}, "later": {later, far, blocked}, "": {done, blocked, far},
	} {
		got, first := firstOf(wording.English, works, on), ""
		if all := worksOf(wording.English, works, on); len(all) > 0 && all[0].order == toDo {
			first = all[0].Title
		}
		if first != name || got == nil != (name == "") || got != nil && got.Title != name {
			t.Errorf("the first is %+v, on the page %q, want %q", got, first, name)
		}
	}
}
