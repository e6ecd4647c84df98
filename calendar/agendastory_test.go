package calendar_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"strings"
	"testing"
	"time"

	"budswell/calendar"
	"budswell/climate"
)

func planOf(t testing.TB, n int, on string) *calendar.Plan {
	t.Helper()
	plan, err := planner(t, "temperate", on).Plan(manyTrees(t, n, on))
	if err != nil {
		t.Fatal(err)
	}
	return plan
}

func weekends(saturday, sunday int) *calendar.Hours {
	return &calendar.Hours{Weekdays: [7]int{sunday, 0, 0, 0, 0, 0, saturday}}
}

// Agendas of whatever trees, with much and little time: how far from the best they
// are at most.
func TestFitNearTheBound(t *testing.T) {
	daily := &calendar.Hours{Weekdays: [7]int{480, 60, 60, 60, 60, 60, 480}, SetUp: calendar.WorkMinutes{"repot": 30, "feed": 10}}
	for n, hours := range map[int][]*calendar.Hours{20: {weekends(240, 180), weekends(480, 480), daily}, 300: {daily}} {
		plan := planOf(t, n, "2027-02-10")
		for _, h := range hours {
			a := plan.Fit(h, nil)
			works := 0
			for _, d := range a.Days {
				works += len(d.Works)
			}
			t.Logf("%3d trees, %v: %d works on %d days, %d wait; worth %.0f days, gap %.2f %%", n, h.Weekdays, works, len(a.Days), len(a.Waiting), a.Worth, 100*a.Gap/(a.Worth+a.Gap))
			if a.Gap > 0.02*a.Worth {
				t.Errorf("gap %v of %v", a.Gap, a.Worth)
			}
		}
	}
}

func BenchmarkFit300Trees(b *testing.B) {
	plan := planOf(b, 300, "2027-02-10")
	h := weekends(480, 480)
	h.SetUp = calendar.WorkMinutes{"repot": 30, "feed": 10}
	b.ReportAllocs()
	for b.Loop() {
		plan.Fit(h, nil)
	}
}

// maples are trees that all want a repot in the same days of spring.
func maples(t testing.TB, n int, repotted string) []calendar.Tree {
	out := make([]calendar.Tree, n)
	for i := range out {
		out[i] = calendar.Tree{
			ID: fmt.Sprintf("maple-%d", i+1), Name: fmt.Sprintf("maple %d", i+1), Species: "Acer campestre", Origin: calendar.Nursery,
			Log: []calendar.Entry{
				{On: d(t, repotted), Did: "repot"},
				{On: d(t, repotted) + 500, Judged: &calendar.Judgement{Stage: calendar.StageBuilding, Strength: calendar.Strong}},
			},
		}
	}
	return out
}

// repotDays returns the days on which trees are repotted in a season, and how many
// on each; and how many wait.
func repotDays(a *calendar.Agenda, season int) (days map[climate.Date]int, waiting int) {
	days = map[climate.Date]int{}
	for _, day := range a.Days {
		for _, c := range day.Works {
			if c.Work.Work.ID == "repot" && c.Work.Season == season {
				days[day.Day]++
			}
		}
	}
	for _, w := range a.Waiting {
		if w.Work.Work.ID == "repot" && w.Work.Season == season {
			waiting++
		}
	}
	return days, waiting
}

func total(days map[climate.Date]int) int {
	n := 0
	for _, k := range days {
		n += k
	}
	return n
}

// Twenty maples swell in the same ten days. The stories are common practice, no
// published source: what a grower would do with the time there is.
func TestTwentyMaples(t *testing.T) {
	for place, of := range map[string]struct {
		on, repotted string
		minutes      int // on Saturdays; the southern spring is the longer
	}{"temperate": {"2027-02-20", "2024-04-01", 360}, "southern": {"2027-07-25", "2024-09-10", 240}} {
		t.Run(place, func(t *testing.T) {
			trees := maples(t, 20, of.repotted)
			plan, err := planner(t, place, of.on).Plan(trees)
			if err != nil {
				t.Fatal(err)
			}
			best, season := climate.NoDate, 0
			for _, w := range plan.Trees[0].Works {
				if w.Work.ID == "repot" && !best.Valid() {
					best, season = w.Window.Likely, w.Season
				}
			}
			saturday := best
			for saturday.Weekday() != time.Saturday {
				saturday++
			}
			if saturday-best > 3 {
				saturday -= 7
			}

			// On Saturdays alone as many as go into one, the nearest to the best first.
			const setUp, each = 30, 90
			h := weekends(of.minutes, 0)
			h.SetUp = calendar.WorkMinutes{"repot": setUp}
			few := plan.Fit(h, nil)
			days, waiting := repotDays(few, season)
			if total(days)+waiting != 20 || waiting == 0 || days[saturday] != (of.minutes-setUp)/each {
				t.Errorf("on Saturdays alone %v, %d wait", days, waiting)
			}
			for _, day := range few.Days {
				if day.Day.Weekday() != time.Saturday {
					t.Errorf("work on %v", day.Day)
				}
			}
			m := few.More(saturday, 120)
			if len(m.Moves) == 0 || m.Gain <= 0 || m.Gain > m.AtMost || m.Moves[0].Day != saturday && m.Moves[0].Work.Work.ID == "repot" {
				t.Errorf("two hours more on %v: %+v", saturday, m)
			}

			// A weekend with a helper takes most.
			h.Helpers = []calendar.Helper{{On: saturday, Minutes: 480, Hard: true}, {On: saturday + 1, Minutes: 480, Hard: true}}
			helped := plan.Fit(h, nil)
			with, wait := repotDays(helped, season)
			if wait >= waiting || with[saturday] != (of.minutes+480-setUp)/each || with[saturday+1] != (480-setUp)/each || helped.Worth <= few.Worth {
				t.Errorf("with a helper on %v and the day after: %v, %d wait", saturday, with, wait)
			}

			// Away on that weekend nothing is done on it.
			h.Helpers, h.Away = nil, []calendar.Absence{{From: saturday - 1, To: saturday + 1}}
			away := plan.Fit(h, few.Promise())
			gone, wait := repotDays(away, season)
			if gone[saturday] != 0 || wait < waiting || total(gone)+wait != 20 {
				t.Errorf("away on %v: %v, %d wait", saturday, gone, wait)
			}

			// No hours at all: everything waits, and says so.
			none := plan.Fit(&calendar.Hours{}, nil)
			if len(none.Days) != 0 || len(none.Waiting) == 0 || none.Worth != 0 || none.Gap != 0 {
				t.Errorf("without hours %d days, %d wait", len(none.Days), len(none.Waiting))
			}
			for _, w := range none.Waiting {
				if !strings.Contains(w.Reason, "there are no hours") && !strings.Contains(w.Reason, "no day is left") {
					t.Errorf("%s: %s", w.Work.Key, w.Reason)
				}
			}

			// Far more hours than needed: each on its likely day.
			always := &calendar.Hours{Weekdays: [7]int{1440, 1440, 1440, 1440, 1440, 1440, 1440}, Helpers: []calendar.Helper{}}
			for day := time.Sunday; day <= time.Saturday; day++ {
				crowd := calendar.Helper{On: climate.NoDate, Weekday: day, Minutes: 6000, Hard: true}
				always.Helpers = append(always.Helpers, crowd, crowd)
			}
			all := plan.Fit(always, nil)
			for _, day := range all.Days {
				for _, c := range day.Works {
					if likely := c.Work.Window.Likely; c.Work.Rule.Every == 0 && c.Day != likely && likely > plan.On && len(c.Work.Blocked) == 0 {
						t.Errorf("%s on %v, likely %v", c.Work.Key, c.Day, likely)
					}
				}
			}
			for _, w := range all.Waiting {
				if !strings.Contains(w.Reason, "no day is left") {
					t.Errorf("%s waits: %s", w.Work.Key, w.Reason)
				}
			}
		})
	}
}

// At every kind of place the agenda keeps to the hours and to the windows.
func TestFitEverywhere(t *testing.T) {
	for name := range places {
		t.Run(name, func(t *testing.T) {
			plan, err := planner(t, name, "2028-02-10").Plan(manyTrees(t, 15, "2028-02-10"))
			if err != nil {
				t.Fatal(err)
			}
			a := plan.Fit(weekends(240, 180), nil)
			if len(a.Days) == 0 {
				t.Fatal("nothing is done")
			}
			for _, day := range a.Days {
				if day.Minutes > day.Free || day.Day < plan.On || day.Day.Weekday() != time.Saturday && day.Day.Weekday() != time.Sunday {
					t.Errorf("%+v", day)
				}
				for _, c := range day.Works {
					if c.Chance <= 0 || c.Chance != c.Work.Open.On(day.Day) || c.Work.Done.Valid() {
						t.Errorf("%s of %s on %v, %v", c.Work.Key, c.Tree.Tree.Name, day.Day, c.Chance)
					}
					for _, b := range c.Work.Blocked {
						if !b.Until.Valid() || b.Until > day.Day {
							t.Errorf("%s on %v, but %s", c.Work.Key, day.Day, b.Reason)
						}
					}
				}
			}
		})
	}
}

// A leap day is a day like others.
func TestFitOnALeapDay(t *testing.T) {
	plan, err := planner(t, "temperate", "2028-02-25").Plan(maples(t, 4, "2025-04-01"))
	if err != nil {
		t.Fatal(err)
	}
	leap := d(t, "2028-02-29")
	a := plan.Fit(&calendar.Hours{Weekdays: [7]int{time.Tuesday: 360}}, nil) // 29 February is a Tuesday
	if len(a.Days) == 0 || a.Days[0].Day != leap || a.Days[1].Day != leap+7 {
		t.Fatalf("%+v", a.Days)
	}
}

// A plan as text and JSON with what is chosen; without hours neither says a word
// of it.
func TestAgendaIsShown(t *testing.T) {
	plan, err := planner(t, "temperate", "2027-03-20").Plan(maples(t, 12, "2024-04-01"))
	if err != nil {
		t.Fatal(err)
	}
	plain, before := &bytes.Buffer{}, mustJSON(t, plan)
	if err := plan.WriteText(plain); err != nil {
		t.Fatal(err)
	}
	h := weekends(240, 0)
	h.SetUp = calendar.WorkMinutes{"repot": 30}
	plan.Agenda = plan.Fit(h, nil)
	text := &bytes.Buffer{}
	if err := plan.WriteText(text); err != nil {
		t.Fatal(err)
	}
	after, found := strings.CutPrefix(text.String(), plain.String())
	if !found {
		t.Fatal("the plan itself differs")
	}
	for _, want := range []string{
		"\nWho fits into which day\n", "\nSat 2027-04-10: ", " of 4 h; ", " % likely right\n", "\n  Repot: maple ", "\n  Setting up: 30 min\n",
		"\nWho waits\n", "months of its road", "\nWith 2 h more on Sat 2027-04-",
	} {
		if !strings.Contains(after, want) {
			t.Errorf("%q is not in\n%s", want, after)
		}
	}
	var shown struct {
		Agenda struct {
			Version int
			On      string
			Days    []struct {
				Day   string
				Works []struct{ Tree, Key, Kind, Title, Best string }
			}
			Waiting []struct{ Tree, Reason, Risk string }
			More    []struct {
				Gain, At_most float64
				Moves         []struct{ Tree string }
			}
		}
	}
	if strings.Contains(before, "agenda") || json.Unmarshal([]byte(mustJSON(t, plan)), &shown) != nil {
		t.Fatal("the JSON of the plan")
	}
	a := shown.Agenda
	if a.Version != 1 || a.On != "2027-03-20" || len(a.Days) != len(plan.Agenda.Days) || a.Days[0].Works[0].Tree == "" || len(a.More) != 3 || len(a.Waiting) != len(plan.Agenda.Waiting) {
		t.Errorf("%+v", a)
	}
}

func mustJSON(t *testing.T, v any) string {
	t.Helper()
	b, err := json.Marshal(v)
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

// BenchmarkMore is to choose anew with two hours more.
func BenchmarkMore(b *testing.B) {
	a := planOf(b, 300, "2027-02-10").Fit(weekends(480, 480), nil)
	day := a.Scarce(1, 120)[0]
	for b.Loop() {
		a.More(day, 120)
	}
}
