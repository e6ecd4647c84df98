package calendar

import (
	"bufio"
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"budswell/climate"
)

// hill is the curve of a window that is surest on a day, and three quarters as
// sure so many days before and after.
func hill(best climate.Date, width int, top float64) Curve {
	c := Curve{First: best - climate.Date(2*width)}
	for i := range 4*width + 1 {
		off := float64(i-2*width) / float64(2*width)
		c.Chance = append(c.Chance, top*(1-off*off))
	}
	return c
}

// planned makes a work that nothing stands against.
func planned(rule *Rule, work *Work, best climate.Date, width int, top float64) Planned {
	w := climate.Date(width)
	return Planned{
		Key: fmt.Sprintf("%s/%d", rule.ID, best.Year()), Rule: rule, Work: work, Title: work.Title, Season: best.Year(),
		Window: Window{
			Opens:  climate.Spread{P10: best - 2*w, P50: best - w, P90: best},
			Closes: climate.Spread{P10: best, P50: best + w, P90: best + 2*w},
			Likely: best, Certainty: top, Chance: 1,
		},
		Open: hill(best, width, top), Due: climate.NoDate, Done: climate.NoDate,
	}
}

var (
	repotWork = &Work{ID: WorkRepot, Title: "Repot", Class: Roots, Hard: HardOnRoots}
	repotRule = &Rule{ID: "repot", Work: WorkRepot, Minutes: 90, Rest: 1}
	thinWork  = &Work{ID: "thin", Title: "Thin", Class: Foliage}
	thinRule  = &Rule{ID: "thin", Work: "thin", Minutes: 60}
	feedWork  = &Work{ID: "feed", Title: "Feed", Class: Feeding}
	feedRule  = &Rule{ID: "feed", Work: "feed", Minutes: 10, Every: 14}
	afterRoot = &Rule{ID: "feed", Work: "feed", Minutes: 10, Every: 14, Needs: []Need{{Since: AnyRootWork, Weeks: 6}}}
)

// handPlan is a plan of trees with given works.
func handPlan(on climate.Date, works ...[]Planned) *Plan {
	p := &Plan{On: on, Site: climate.Site{Name: "bench", Lat: 50, Lon: 9, Zone: "UTC"}}
	for i, w := range works {
		name := fmt.Sprintf("tree %d", i+1)
		p.Trees = append(p.Trees, TreePlan{Tree: &Tree{ID: Slug(name), Name: name}, Species: maple, Works: w})
	}
	return p
}

func saturdays(minutes int) *Hours {
	return &Hours{Weekdays: [7]int{time.Saturday: minutes}}
}

// dayOf returns the day of a tree's work, and whether it has one.
func dayOf(a *Agenda, tree, key string) (climate.Date, bool) {
	for i := range a.Days {
		for _, c := range a.Days[i].Works {
			if c.Tree.Tree.ID == tree && c.Work.Key == key {
				return a.Days[i].Day, true
			}
		}
	}
	return climate.NoDate, false
}

var saturday = date(2027, 4, 10)

// Three repots and room for two on the Saturday that is best: the third goes to the
// next best, and two more hours would bring it back.
func TestFitGivesWay(t *testing.T) {
	on := date(2027, 3, 1)
	var works [][]Planned
	for range 3 {
		works = append(works, []Planned{planned(repotRule, repotWork, saturday, 10, 0.9)})
	}
	h := saturdays(240)
	h.SetUp = WorkMinutes{WorkRepot: 30}
	a := handPlan(on, works...).Fit(h, nil)
	if len(a.Days) != 2 || len(a.Days[0].Works)+len(a.Days[1].Works) != 3 || len(a.Waiting) != 0 || a.Gap != 0 {
		t.Fatalf("%+v", a)
	}
	for i, n := range map[int]int{0: 1, 1: 2} {
		d := a.Days[i]
		if want := saturday - climate.Date(7*(1-i)); d.Day != want || len(d.Works) != n || d.SetUp != 30 || d.Minutes != 30+90*n || d.Free != 240 {
			t.Errorf("day %d: %+v, want %d works on %v", i+1, d, n, want)
		}
	}
	m := a.More(saturday, 120)
	if len(m.Moves) != 1 || m.Moves[0].From != saturday-7 || m.Moves[0].Day != saturday {
		t.Fatalf("two hours more: %+v", m)
	}
	// A day nearer to the best is worth a little besides.
	if want := 365 * (0.9 - hill(saturday, 10, 0.9).On(saturday-7)); m.Gain < want || m.Gain > want+1 || m.AtMost != m.Gain {
		t.Errorf("gains %v, at most %v; want %v", m.Gain, m.AtMost, want)
	}
	if m = a.More(saturday-1, 60); m.Moves != nil || m.Gain != 0 {
		t.Errorf("an hour on a Friday, too little for a repot: %+v", m)
	}
	if days := a.Scarce(5, 60); len(days) == 0 || days[len(days)-1] != saturday {
		t.Errorf("scarce: %v", days)
	}
}

// Work that costs more to miss comes first, and what waits says why and what that
// risks.
func TestFitSaysWhoWaits(t *testing.T) {
	on := date(2027, 4, 5)
	week := func(rule *Rule, work *Work) []Planned { return []Planned{planned(rule, work, saturday, 2, 0.8)} }
	long := *repotRule
	long.Minutes = 600
	for _, test := range []struct {
		name         string
		h            *Hours
		works        [][]Planned
		done, waits  string // tree
		reason, risk string
	}{
		{
			"hard work first", saturdays(100),
			[][]Planned{week(thinRule, thinWork), week(repotRule, repotWork)},
			"tree-2", "tree-1",
			"its days are full of work that costs more to miss", "about 4 weeks of its road",
		},
		{
			"too long for any day", saturdays(100),
			[][]Planned{week(&long, repotWork), week(thinRule, thinWork)},
			"tree-2", "tree-1",
			"it takes 10 h, and none of its days has more than 1 h 40 min", "a year of its road: the window comes once a season",
		},
		{
			"no hours", &Hours{},
			[][]Planned{week(thinRule, thinWork)},
			"", "tree-1",
			"there are no hours on any of its days", "about 4 weeks of its road",
		},
		{
			"helpers who do no hard work", &Hours{Helpers: []Helper{{On: saturday, Minutes: 200}}},
			[][]Planned{week(repotRule, repotWork), week(thinRule, thinWork)},
			"tree-2", "tree-1",
			"there are no hours for hard work on any of its days", "a year of its road: the window comes once a season",
		},
	} {
		t.Run(test.name, func(t *testing.T) {
			a := handPlan(on, test.works...).Fit(test.h, nil)
			if len(a.Waiting) != 1 || a.Gap != 0 {
				t.Fatalf("waiting %+v, gap %v", a.Waiting, a.Gap)
			}
			w := a.Waiting[0]
			if w.Tree.Tree.ID != test.waits || w.Reason != test.reason || w.Risk() != test.risk || w.Chance != 0.8 || w.Best != saturday {
				t.Errorf("%s waits: %s; risks %s; %v on %v", w.Tree.Tree.ID, w.Reason, w.Risk(), w.Chance, w.Best)
			}
			if test.done != "" {
				if len(a.Days) != 1 || a.Days[0].Works[0].Tree.Tree.ID != test.done {
					t.Errorf("days %+v", a.Days)
				}
			}
		})
	}
}

// A helper on a day, one who may do hard work and one who may not.
func TestFitWithHelpers(t *testing.T) {
	on := date(2027, 4, 5)
	var works [][]Planned
	for range 4 {
		works = append(works, []Planned{planned(repotRule, repotWork, saturday, 2, 0.8), planned(thinRule, thinWork, saturday, 2, 0.8)})
	}
	h := saturdays(180)
	h.Helpers = []Helper{{On: saturday, Minutes: 240}}
	a := handPlan(on, works...).Fit(h, nil)
	count := map[string]int{}
	for _, c := range a.Days[0].Works {
		count[c.Work.Work.ID]++
	}
	if count[WorkRepot] != 2 || count["thin"] != 4 {
		t.Errorf("%v with one who may only thin", count)
	}
	h.Helpers[0].Hard = true
	a = handPlan(on, works...).Fit(h, nil)
	clear(count)
	for _, c := range a.Days[0].Works {
		count[c.Work.Work.ID]++
	}
	if count[WorkRepot] != 4 || count["thin"] != 1 {
		t.Errorf("%v with one who may repot", count)
	}
}

// With far more hours than needed each work is done on its best day.
func TestFitWithTimeEnough(t *testing.T) {
	h := &Hours{Weekdays: [7]int{1440, 1440, 1440, 1440, 1440, 1440, 1440}}
	on := date(2027, 3, 1)
	feed := planned(feedRule, feedWork, saturday+60, 30, 0.95)
	feed.Due = feed.Window.Opens.P50
	a := handPlan(on, []Planned{planned(repotRule, repotWork, saturday, 10, 0.9), feed}, []Planned{planned(thinRule, thinWork, saturday+3, 10, 0.9)}).Fit(h, nil)
	if len(a.Waiting) > 0 || a.Gap != 0 {
		t.Errorf("%+v wait, gap %v", a.Waiting, a.Gap)
	}
	feeds := 0
	for _, d := range a.Days {
		for _, c := range d.Works {
			if c.Day != c.Best || c.Chance != c.BestChance {
				t.Errorf("%s on %v, best on %v", c.Work.Key, c.Day, c.Best)
			}
			if c.Work.Rule.Every > 0 {
				feeds++
			}
		}
	}
	if feeds != 5 { // from 30 days before the middle to 30 after, every 14
		t.Errorf("fed %d times", feeds)
	}
}

// What a tree's other works ask for is kept: feeding waits six weeks after a repot,
// however late that is.
func TestFitKeepsTheOrder(t *testing.T) {
	on := date(2027, 4, 11) // the best Saturday is past
	feed := planned(afterRoot, feedWork, saturday+70, 35, 0.95)
	feed.Due = saturday + 42
	a := handPlan(on, []Planned{planned(repotRule, repotWork, saturday, 15, 0.9), feed}).Fit(saturdays(240), nil)
	repot, ok := dayOf(a, "tree-1", "repot/2027")
	if !ok || repot != saturday+7 {
		t.Fatalf("repot on %v", repot)
	}
	first, ok := dayOf(a, "tree-1", feed.Key)
	if !ok || first < repot+42 {
		t.Errorf("fed on %v, six weeks after %v is %v", first, repot, repot+42)
	}
}

// Two hard works of a tree do not share a season, even where their windows reach
// over midwinter.
func TestFitKeepsHardWorkApart(t *testing.T) {
	on := date(2027, 10, 1)
	style := &Work{ID: "style", Title: "Style", Class: Branches, Hard: HardOnBranches}
	first := planned(repotRule, repotWork, date(2027, 12, 11), 30, 0.9)
	second := planned(&Rule{ID: "style", Work: "style", Minutes: 90}, style, date(2028, 1, 15), 20, 0.9)
	a := handPlan(on, []Planned{first, second}).Fit(saturdays(90), nil)
	x, ok := dayOf(a, "tree-1", first.Key)
	y, also := dayOf(a, "tree-1", second.Key)
	if !ok || !also || x.Year() != 2027 || y.Year() != 2028 {
		t.Errorf("on %v and %v", x, y)
	}
}

// randomPlan draws a plan of a few trees.
func randomPlan(t *rapid.T) (*Plan, *Hours) {
	on := date(2027, 3, 1)
	var works [][]Planned
	for range rapid.IntRange(1, 5).Draw(t, "trees") {
		var w []Planned
		at := func() climate.Date { return on + climate.Date(rapid.IntRange(-5, 40).Draw(t, "best")) }
		top := rapid.Float64Range(0.3, 1).Draw(t, "top")
		if rapid.Bool().Draw(t, "repot") {
			w = append(w, planned(repotRule, repotWork, at(), rapid.IntRange(2, 12).Draw(t, "width"), top))
		}
		if rapid.Bool().Draw(t, "thin") {
			w = append(w, planned(thinRule, thinWork, at(), rapid.IntRange(2, 12).Draw(t, "width"), top))
		}
		if rapid.Bool().Draw(t, "feed") {
			feed := planned(afterRoot, feedWork, at()+30, 20, top)
			feed.Due = feed.Window.Opens.P50
			w = append(w, feed)
		}
		works = append(works, w)
	}
	h := &Hours{SetUp: WorkMinutes{WorkRepot: 30, "feed": 10}}
	for d := range h.Weekdays {
		h.Weekdays[d] = rapid.SampledFrom([]int{0, 0, 60, 150, 300}).Draw(t, "minutes")
	}
	if rapid.Bool().Draw(t, "helper") {
		h.Helpers = []Helper{{On: climate.NoDate, Weekday: time.Saturday, Minutes: 120, Hard: rapid.Bool().Draw(t, "hard")}}
	}
	return handPlan(on, works...), h
}

// What holds of every agenda: minutes, chances, each work once, the same answer
// twice, all promises kept when nothing changed, and no more lost than told by any
// two hours more.
func TestEveryAgendaHoldsTogether(t *testing.T) {
	n, proven := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		plan, h := randomPlan(t)
		a := plan.Fit(h, nil)
		if n++; a.Gap == 0 {
			proven++
		}
		jobs := len(a.Waiting)
		last := climate.NoDate
		for _, d := range a.Days {
			minutes := d.SetUp
			for _, c := range d.Works {
				minutes += c.Minutes
				jobs++
				if c.Chance != c.Work.Open.On(d.Day) || c.Chance <= 0 || c.Chance < d.Least || c.Day != d.Day {
					t.Fatalf("%+v on %v", c, d.Day)
				}
			}
			if minutes != d.Minutes || d.Minutes > d.Free || d.Free != h.on(d.Day).all || d.Day <= last || d.Chance < d.Least-1e-9 || len(d.Works) == 0 {
				t.Fatalf("day %+v", d)
			}
			last = d.Day
		}
		if jobs != len(a.jobs) || a.Gap < 0 {
			t.Fatalf("%d of %d works, gap %v", jobs, len(a.jobs), a.Gap)
		}
		text := func(a *Agenda) string {
			b, err := json.Marshal(a)
			if err != nil {
				t.Fatal(err)
			}
			return string(b)
		}
		if x, y := text(a), text(plan.Fit(h, nil)); x != y {
			t.Fatal(cmp.Diff(x, y))
		}
		again := plan.Fit(h, a.Promise())
		if diff := cmp.Diff(a.Promise(), again.Promise()); diff != "" {
			t.Fatalf("promises are not kept: %s", diff)
		}
		day := plan.On + climate.Date(rapid.IntRange(0, 40).Draw(t, "day"))
		m := a.More(day, 120)
		after := plan.Fit(h.with(day, 120), nil)
		if m.Gain < 0 || m.AtMost < m.Gain || after.value-a.value > m.AtMost+leastGain || (m.Gain > 0) != (len(m.Moves) > 0) {
			t.Fatalf("two hours more on %v: gain %v, at most %v; anew %v, from %v", day, m.Gain, m.AtMost, after.value, a.value)
		}
		if a.Gap == 0 && after.Gap == 0 && m.Gain != after.value-a.value {
			t.Fatalf("two hours more on %v: gain %v; anew %v, from %v, both proven", day, m.Gain, after.value, a.value)
		}
	})
	t.Logf("%d of %d agendas are proven best", proven, n)
	if proven < n*3/4 {
		t.Error("few are proven best")
	}
}

// sampleAgenda is an agenda with all that is told: works that give way, that are
// moved and missed, set-up, single and repeated works that wait, and more time.
func sampleAgenda() *Agenda {
	on := saturday - 7
	var works [][]Planned
	for i := range 5 {
		feed := planned(feedRule, feedWork, saturday+20, 10, 0.95)
		feed.Due = feed.Window.Opens.P50
		works = append(works, []Planned{planned(repotRule, repotWork, saturday+climate.Date(i), 7, 0.9), planned(thinRule, thinWork, saturday+3, 3, 0.9), feed})
	}
	h := saturdays(220)
	h.SetUp = WorkMinutes{WorkRepot: 30}
	return handPlan(on, works...).Fit(h, Promise{{"tree-1", "repot/2027", on - 1, 0.8}, {"tree-5", "repot/2027", on, 0.6}})
}

func TestAgendaAsTextAndJSON(t *testing.T) {
	a := sampleAgenda()
	var b bytes.Buffer
	out := &texter{w: bufio.NewWriter(&b)}
	out.agenda(a)
	if err := errors.Join(out.err, out.w.Flush()); err != nil {
		t.Fatal(err)
	}
	golden(t, "agenda.txt", b.Bytes())
	text, err := json.MarshalIndent(a, "", "  ")
	if err != nil {
		t.Fatal(err)
	}
	golden(t, "agenda.json", append(text, '\n'))
}
