package pages

import (
	"fmt"
	"maps"
	"testing"
	"time"

	"budswell/calendar"
	"budswell/climate"
	"budswell/feeds/wording"
)

func TestWhereAWorkStands(t *testing.T) {
	on := climate.NewDate(2027, time.April, 12)
	about := func(d int) climate.Spread {
		return climate.Spread{P10: on + climate.Date(d-3), P50: on + climate.Date(d), P90: on + climate.Date(d+3)}
	}
	work := func(opens, likely, closes int) calendar.Planned {
		return calendar.Planned{
			Work: &calendar.Work{Title: "Repot"}, Rule: &calendar.Rule{}, Due: climate.NoDate, Done: climate.NoDate,
			Window: calendar.Window{Opens: about(opens), Closes: about(closes), Likely: on + climate.Date(likely), Certainty: 0.9, Chance: 1},
		}
	}
	due := func(opens, closes, day int) calendar.Planned {
		w := work(opens, opens, closes)
		w.Rule.Every, w.Due = 14, on+climate.Date(day)
		return w
	}
	with := func(w calendar.Planned, change func(*calendar.Planned)) calendar.Planned {
		change(&w)
		return w
	}
	for name, row := range map[string]struct {
		work  calendar.Planned
		hours bool
		where int
		as    string
		day   int
	}{
		"best next week":           {work(-5, 6, 20), false, onDay, AsBest, 6},
		"best today":               {work(-5, 0, 20), false, onDay, AsBest, 0},
		"best on the last day":     {work(-5, 13, 30), false, onDay, AsBest, 13},
		"open, best later":         {work(-5, 14, 30), false, mayWait, AsWaits, 0},
		"opens, best later":        {work(9, 20, 30), false, onDay, AsOpens, 9},
		"opens later":              {work(20, 25, 40), false, nowhere, "", 0},
		"best past, closes soon":   {work(-20, -5, 10), false, onDay, AsCloses, 7},
		"best past, closes late":   {work(-20, -5, 40), false, mayWait, AsWaits, 0},
		"as likely closed":         {work(-20, -9, -2), false, onDay, AsClosing, 0},
		"closed":                   {work(-40, -20, -10), false, nowhere, "", 0},
		"due today":                {due(-20, 40, 0), false, onDay, AsDue, 0},
		"due next week":            {due(-20, 40, 7), false, onDay, AsDue, 7},
		"overdue":                  {due(-20, 40, -4), false, onDay, AsOverdue, 0},
		"due after the fortnight":  {due(-20, 40, 14), false, nowhere, "", 0},
		"repeated, not due":        {with(due(-20, 40, 0), func(w *calendar.Planned) { w.Due = climate.NoDate }), false, nowhere, "", 0},
		"done":                     {with(work(-5, 6, 20), func(w *calendar.Planned) { w.Done = on - 1 }), false, nowhere, "", 0},
		"comes hardly":             {with(work(-5, 6, 20), func(w *calendar.Planned) { w.Window.Chance = 0.05 }), false, nowhere, "", 0},
		"blocked":                  {with(work(-5, 6, 20), func(w *calendar.Planned) { w.Blocked = []calendar.Block{{Reason: "soft roots"}} }), false, notNow, AsBlocked, 0},
		"blocked, hours told":      {with(work(-5, 6, 20), func(w *calendar.Planned) { w.Blocked = []calendar.Block{{Reason: "soft roots"}} }), true, notNow, AsBlocked, 0},
		"blocked, out of season":   {with(work(40, 45, 60), func(w *calendar.Planned) { w.Blocked = []calendar.Block{{Reason: "soft roots"}} }), false, nowhere, "", 0},
		"shelter":                  {with(work(-20, -5, 40), func(w *calendar.Planned) { w.Work = &calendar.Work{Class: calendar.Protection} }), false, onDay, AsWhile, 0},
		"open, its day is later":   {work(-5, 6, 20), true, mayWait, AsLater, 0},
		"not open yet, hours told": {work(5, 6, 20), true, nowhere, "", 0},
	} {
		s := standsOn(&row.work, on, row.hours)
		if s.where != row.where || s.as != row.as || s.where == onDay && s.day != on+climate.Date(row.day) {
			t.Errorf("%s: stands %d as %q on day %d, want %d as %q on day %d", name, s.where, s.as, s.day-on, row.where, row.as, row.day)
		}
	}
}

// Trees that share their days stand in one line; the others are folded away, and none
// is lost.
func TestTasksAreGrouped(t *testing.T) {
	on := climate.NewDate(2027, time.April, 12)
	h := &heap{in: wording.English, on: on}
	for i := range 40 {
		w := calendar.Planned{Work: &calendar.Work{Title: "Repot"}, Rule: &calendar.Rule{}, Due: climate.NoDate, Done: climate.NoDate}
		opens := on + climate.Date(i%4)
		if i < 20 {
			opens = on
		}
		w.Window = calendar.Window{Opens: climate.Spread{P10: opens, P50: opens, P90: opens}, Closes: climate.Spread{P10: on + 9, P50: on + 9, P90: on + 9}, Likely: opens, Chance: 1}
		h.put(&calendar.TreePlan{Tree: &calendar.Tree{ID: fmt.Sprint("t", i), Name: fmt.Sprint("tree ", i)}}, &w, stand{where: onDay, day: on, as: AsBest, chance: 0.8})
	}
	tasks := h.tasks()
	if len(tasks) != 1 || h.count != 40 {
		t.Fatalf("%d tasks of %d works, want 1 of 40", len(tasks), h.count)
	}
	task := tasks[0]
	if len(task.Spans) != shownSpans || len(task.More) != 2 || task.MoreTrees != 10 {
		t.Errorf("%d lines and %d folded with %d trees, want 2 and 2 with 10", len(task.Spans), len(task.More), task.MoreTrees)
	}
	seen := map[string]bool{}
	for _, s := range append(task.Spans, task.More...) {
		for _, l := range append(s.Trees, s.Rest...) {
			seen[l.ID] = true
		}
		if s.Sure == "" || s.Percent != 80 {
			t.Errorf("a line does not say how sure it is: %+v", s)
		}
	}
	if len(seen) != 40 || len(task.Spans[0].Trees) != shownTrees || len(task.Spans[0].Rest) != 15 {
		t.Errorf("%d trees; the first line names %d and folds %d", len(seen), len(task.Spans[0].Trees), len(task.Spans[0].Rest))
	}
}

// Repeated works of one class that warn of the same stand in one card; what is done once
// a season, or warns of something else, does not.
func TestRoundsShareTheirCautions(t *testing.T) {
	on := climate.NewDate(2027, time.June, 12)
	h := &heap{in: wording.English, on: on}
	put := func(title string, class calendar.Class, caution string, due climate.Date) {
		w := calendar.Planned{Title: title, Work: &calendar.Work{Class: class}, Rule: &calendar.Rule{Every: 14}, Due: due, Done: climate.NoDate, Cautions: []string{caution}}
		w.Window = calendar.Window{Opens: climate.Spread{P10: on, P50: on, P90: on}, Closes: climate.Spread{P10: on + 60, P50: on + 60, P90: on + 60}, Likely: on, Chance: 1}
		h.put(&calendar.TreePlan{Tree: &calendar.Tree{ID: "t", Name: "t"}}, &w, stand{where: onDay, day: on, as: AsDue, chance: 0.9})
	}
	for i := range shownParts + 2 {
		put(fmt.Sprint("look ", i), calendar.Health, "Read the label.", on)
	}
	put("feed", calendar.Feeding, "Read the label.", on)
	put("look for fire blight", calendar.Health, "Report it.", on)
	put("spray", calendar.Health, "Read the label.", climate.NoDate)
	parts := map[string]int{}
	for _, task := range h.tasks() {
		if task.Title == "" && task.Class == "" {
			t.Errorf("a card without a name: %+v", task)
		}
		parts[task.Title] = len(task.Parts) + len(task.Folded)
		if n := len(task.Parts); n > shownParts {
			t.Errorf("%d works of a round are shown, want %d at most", n, shownParts)
		}
	}
	if want := map[string]int{"": shownParts + 2, "feed": 0, "look for fire blight": 0, "spray": 0}; !maps.Equal(parts, want) {
		t.Errorf("cards with their parts: %v, want %v", parts, want)
	}
}

// A work for which there are no hours names the best of the days that are left, though the
// likeliest day is over.
func TestWithoutRoomTheBestDayIsToCome(t *testing.T) {
	on := climate.NewDate(2027, time.July, 8)
	about := func(d climate.Date) climate.Spread { return climate.Spread{P10: d - 3, P50: d, P90: d + 3} }
	w := calendar.Planned{
		Work: &calendar.Work{}, Rule: &calendar.Rule{}, Due: climate.NoDate, Done: climate.NoDate,
		Window: calendar.Window{Opens: about(on - 20), Closes: about(on + 20), Likely: on - 16, Chance: 1},
	}
	for as, want := range map[string]string{AsRoomless: "Fri 9 Jul 2027", AsChosen: "Tue 22 Jun 2027"} {
		if got := spanOf(wording.English, &w, stand{where: onDay, day: on + 1, as: as}, nil, on).Best; got != want {
			t.Errorf("%s: best %q, want %q", as, got, want)
		}
	}
}
