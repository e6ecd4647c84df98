package pages

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"budswell/calendar"
	"budswell/climate"
	"budswell/feeds/wording"
)

func monthPlan(trees int, of func(i int) []calendar.Planned) *calendar.Plan {
	p := &calendar.Plan{On: climate.NewDate(2027, time.April, 2), Site: climate.Site{Name: "bench", Lat: 50}}
	for i := range trees {
		t := &calendar.Tree{ID: fmt.Sprint("t", i), Name: fmt.Sprintf("tree %d", i)}
		p.Trees = append(p.Trees, calendar.TreePlan{Tree: t, Works: of(i)})
	}
	return p
}

func workOn(title string, opens, likely, closes climate.Date) calendar.Planned {
	about := func(d climate.Date) climate.Spread { return climate.Spread{P10: d - 3, P50: d, P90: d + 5} }
	return calendar.Planned{
		Key: title, Title: title, Rule: &calendar.Rule{}, Work: &calendar.Work{ID: title, Title: title}, Due: climate.NoDate, Done: climate.NoDate,
		Window: calendar.Window{Opens: about(opens), Closes: about(closes), Likely: likely, Certainty: 0.7, Chance: 1},
	}
}

func april(day int) climate.Date { return climate.NewDate(2027, time.April, day) }

func TestMonthWithoutHours(t *testing.T) {
	p := monthPlan(2, func(i int) []calendar.Planned {
		repot := workOn("Repot", april(6), april(10), april(20))
		repot.Cautions = []string{"Sharp tools. They cut."}
		feed := workOn("Feed", april(1)-20, april(5), april(30)+20)
		feed.Rule.Every, feed.Due = 14, april(5)
		prune := workOn("Prune", april(1), april(3), april(25))
		prune.Blocked = []calendar.Block{{Reason: "roots rest", Until: april(30) + 30}}
		wire := workOn("Wire", april(1)-60, april(1)-50, april(30)+30)
		done := workOn("Spray", april(1)-9, april(1)-2, april(8))
		if done.Done = april(1); i == 1 {
			return []calendar.Planned{repot}
		}
		return []calendar.Planned{repot, feed, prune, wire, done}
	})
	m := (&MonthOf{First: april(1), In: wording.English, Plan: p, Frost: func(d climate.Date) float64 {
		if d < april(10) {
			return 0.4
		}
		return 0.01
	}}).Page()
	says := func(day int) string {
		var out []string
		for _, e := range m.Days[day-1].Entries {
			out = append(out, e.Kind+" "+e.Title+": "+e.Names()+" "+e.Sure)
		}
		return strings.ReplaceAll(strings.Join(out, "; "), "\u00a0", " ")
	}
	for day, want := range map[int]string{
		1: "done Spray: tree 0 ", 2: "", 5: "due Feed: tree 0 >95 %", 19: "due Feed: tree 0 >95 %",
		6: "opens Repot: tree 0, tree 1 ±5", 10: "best Repot: tree 0, tree 1 70 %", 20: "closes Repot: tree 0, tree 1 ±5", 3: "", 25: "",
	} {
		if got := says(day); got != want {
			t.Errorf("%d April: %q, want %q", day, got, want)
		}
	}
	if m.Days[0].Column != 4 || len(m.Days) != 30 || m.Heads[0] != "Mon" {
		t.Errorf("1 April 2027, a Thursday, stands in column %d under %v, of %d days", m.Days[0].Column, m.Heads, len(m.Days))
	}
	if m.Days[0].Frost != "" || m.Days[4].Frost != "40\u00a0%" || m.Days[14].Frost != "" {
		t.Errorf("frost on a day past, one at risk, and one at none: %q %q %q", m.Days[0].Frost, m.Days[4].Frost, m.Days[14].Frost)
	}
	if len(m.Not.Items) != 1 || m.Not.Items[0].Title != "Prune" || !strings.Contains(m.Not.Items[0].Names(), "until about 30 May 2027") {
		t.Errorf("not this month: %+v", m.Not.Items)
	}
	if len(m.All.Items) != 1 || m.All.Items[0].Title != "Wire" {
		t.Errorf("open all month: %+v", m.All.Items)
	}
	if len(m.Cautions.Items) != 1 || m.Cautions.Items[0].Text != "Sharp tools." {
		t.Errorf("cautions: %+v", m.Cautions.Items)
	}
	if m.Overleaf() || m.Numbered() {
		t.Error("so little wants a second sheet, or a key of numbers")
	}
	sunday := (&MonthOf{First: april(1), In: starting(time.Sunday), Plan: p}).Page()
	if sunday.Heads[0] != "Sun" || sunday.Days[0].Column != 5 || sunday.Days[4].Frost != "" {
		t.Errorf("weeks from Sunday: %v, column %d", sunday.Heads, sunday.Days[0].Column)
	}
}

// TestMonthDropsNothing fills months at random: every work of every tree stands on its day, below, or
// overleaf, and what is counted there is there.
func TestMonthDropsNothing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		trees := rapid.IntRange(1, 45).Draw(t, "trees")
		kinds := rapid.IntRange(1, 12).Draw(t, "kinds")
		p := monthPlan(trees, func(i int) (out []calendar.Planned) {
			for k := range kinds {
				day := april(rapid.IntRange(2, 30).Draw(t, "day"))
				w := workOn(fmt.Sprintf("Work of the kind %d", k), day, day, day)
				if rapid.IntRange(0, 9).Draw(t, "blocked") == 0 {
					w.Blocked = []calendar.Block{{Reason: fmt.Sprintf("reason %d of tree %d", k, i), Until: climate.NoDate}}
				}
				out = append(out, w)
			}
			return out
		})
		m := (&MonthOf{First: april(1), In: starting(time.Weekday(rapid.IntRange(0, 6).Draw(t, "week"))), Plan: p}).Page()
		shown := map[string]bool{}
		for _, d := range m.Days {
			below, more := 0, 0
			for _, e := range d.Entries {
				for _, tree := range e.Trees {
					shown[tree+e.Title] = true
				}
				switch {
				case e.Over && e.Below:
					below++
				case e.Over:
					more++
				case e.Below:
					t.Fatalf("%s: %s stands on the day and below", d.Name, e.Title)
				case e.Short && len(e.numbers) != len(e.Trees):
					t.Fatalf("%s: %v of %v", d.Name, e.numbers, e.Trees)
				}
			}
			if below != d.Below || more != d.More {
				t.Fatalf("%s says %d below and %d overleaf, and there are %d and %d", d.Name, d.Below, d.More, below, more)
			}
		}
		for _, i := range m.Not.Items {
			for _, tree := range i.Trees {
				shown[tree+i.Title] = true
			}
		}
		for i := range p.Trees {
			for k := range p.Trees[i].Works {
				if w := &p.Trees[i].Works[k]; !shown[p.Trees[i].Tree.Name+w.Title] {
					t.Fatalf("%s of %s is nowhere", w.Title, p.Trees[i].Tree.Name)
				}
			}
		}
		if lines := m.lines(); lines > (sheetHeight-listHead)/lineHeight {
			t.Fatalf("%.0f lines are reckoned for the sheet", lines)
		}
	})
}

// lines is how much of the sheet is reckoned to be taken, in lines.
func (m *Month) lines() float64 {
	n := 0.0
	for _, week := range m.weeks() {
		most := 0
		for _, d := range week {
			taken := 0
			for i := range d.Entries {
				if e := &d.Entries[i]; !e.Over {
					taken += e.lines(d.letters)
				}
			}
			if d.More+d.Below > 0 {
				taken++
			}
			most = max(most, taken)
		}
		n += float64(most) + dayHead/lineHeight
	}
	under := 0
	for _, c := range m.lists() {
		under = max(under, c.lines())
	}
	return n + float64(under)
}

func TestNumbersOfTrees(t *testing.T) {
	for want, numbers := range map[string][]int{"3": {3}, "1, 2": {2, 1}, "1–3, 7, 9, 10": {1, 2, 3, 7, 9, 10}} {
		if got := (&MonthEntry{numbers: numbers}).Numbers(); got != want {
			t.Errorf("%v: %q, want %q", numbers, got, want)
		}
	}
}

// starting is English with weeks that begin on a day.
func starting(day time.Weekday) *wording.Tongue {
	l := calendar.DefaultLocale()
	l.WeekStart = day
	return wording.In(l, "")
}
