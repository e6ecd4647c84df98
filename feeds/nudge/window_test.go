package nudge

import (
	"slices"
	"strings"
	"testing"
	"time"

	"budswell/calendar"
	"budswell/climate"
)

func TestOverdue(t *testing.T) {
	work := func(r *calendar.Rule, change ...func(*calendar.Planned)) calendar.Planned {
		w := planned(r, today-30, today-1)
		for _, f := range change {
			f(&w)
		}
		return w
	}
	class := func(c calendar.Class) func(*calendar.Planned) {
		return func(w *calendar.Planned) { w.Work.Class = c }
	}
	shelter := &calendar.Rule{ID: "shelter", Work: "winter-shelter"}
	off := &calendar.Rule{ID: "off", Work: calendar.WorkUnwire}
	for _, c := range []struct {
		name  string
		work  calendar.Planned
		tells bool
	}{
		{"root work", work(repot), true},
		{"protection", work(shelter, class(calendar.Protection)), true},
		{"shade that should have ended", work(unveil), true},
		{"wire to come off", work(off), true},
		{"branch work, which another year brings again", work(prune), false},
		{"feeding", work(feed), false},
		{"frost watch", work(frosts), false},
		{"done", work(repot, func(w *calendar.Planned) { w.Done = today - 3 }), false},
		{"blocked", work(repot, func(w *calendar.Planned) { w.Blocked = []calendar.Block{{Reason: "it rests"}} }), false},
		{"not likely this season", work(repot, func(w *calendar.Planned) { w.Window.Chance = 0.4 }), false},
		{"still open", planned(repot, today-30, today), false},
	} {
		t.Run(c.name, func(t *testing.T) {
			m := bench()
			m.add("1", maple, nil, climate.NoDate, c.work)
			got := tell(m)
			if !c.tells {
				if slices.Contains(kinds(got), Overdue) {
					t.Errorf("told %q", kinds(got))
				}
				return
			}
			want(t, got, Overdue)
			if !strings.Contains(got[0].Body, "Nothing at all is logged yet for tree 1") {
				t.Errorf("an empty log is not told of:\n%s", got[0].Body)
			}
			want(t, tell(m, got...))
			m.Plan.Trees[0].Tree.Log = []calendar.Entry{{On: today - 100, Did: "feed"}}
			if again := tell(m); strings.Contains(again[0].Body, "Nothing at all") {
				t.Errorf("a log that is not empty:\n%s", again[0].Body)
			}
		})
	}
}

func TestWindowCloses(t *testing.T) {
	m := bench()
	m.add("1", maple, nil, climate.NoDate, planned(repot, today-20, today+12)) // 10 % closed by today+7
	sent := tell(m)
	want(t, sent, WindowOpens)
	for ; m.Plan.On < today+7-closingSoon; m.Plan.On++ {
		want(t, tell(m, sent...))
	}
	closing := tell(m, sent...)
	want(t, closing, WindowCloses)
	sent = append(sent, closing...)
	for ; m.Plan.On <= today+12; m.Plan.On++ {
		want(t, tell(m, sent...))
	}
	want(t, tell(m, sent...), Overdue)
}

// Wire is told each time it is due, and again when it was not looked at and is
// due anew.
func TestWireCheck(t *testing.T) {
	m := bench()
	w := planned(wires, today-30, today+60)
	w.Due = today + 1
	m.add("1", maple, nil, climate.NoDate, w)
	want(t, tell(m))
	m.Plan.On++
	sent := tell(m)
	want(t, sent, WireCheck)
	if does := []string{sent[0].Links[0].Does, sent[0].Links[1].Does}; does[0] != "did:wire-check" || does[1] != "did:unwire" {
		t.Errorf("links %q", does)
	}
	m.Plan.On += 5
	want(t, tell(m, sent...))
	m.Plan.Trees[0].Works[0].Due += 21
	want(t, tell(m, sent...))
	m.Plan.On += 16
	want(t, tell(m, sent...), WireCheck)
}

// Light work is told in the weekly digest where that is wanted, and else by itself.
func TestLightWork(t *testing.T) {
	m := bench()
	w := planned(feed, today-1, today+60)
	w.Work.Class = calendar.Feeding
	m.add("1", maple, nil, climate.NoDate, w)
	d := day(m)
	got, _ := Decide(d)
	want(t, got, WindowOpens)
	d.Preferences.Off = nil
	got, _ = Decide(d)
	want(t, got, WeekAhead)
	if !strings.Contains(got[0].Body, "Do feed") {
		t.Errorf("not in the digest:\n%s", got[0].Body)
	}
}

func TestForecastMoved(t *testing.T) {
	moved := func(opens climate.Date, told map[string]climate.Date, change ...func(*calendar.Planned)) ([]calendar.Nudge, []calendar.ToldDay) {
		w := planned(repot, opens, opens+30)
		for _, f := range change {
			f(&w)
		}
		m := bench()
		m.add("1", maple, nil, climate.NoDate, w)
		m.add("2", maple, nil, climate.NoDate, w)
		d := day(m)
		d.Told = told
		return Decide(d)
	}
	// When a day comes into sight it is taken as told, and nothing is said.
	got, days := moved(today+farSight+1, nil)
	want(t, got)
	if len(days) != 0 {
		t.Errorf("too far off: %v", days)
	}
	got, days = moved(today+farSight, nil)
	want(t, got)
	if len(days) != 2 || days[0].On != today+farSight {
		t.Fatalf("taken as told: %v", days)
	}
	told := map[string]climate.Date{days[0].Key: today + 40, days[1].Key: today + 40}
	for opens, tells := range map[climate.Date]bool{today + 31: false, today + 30: true, today + 49: false, today + 50: true, today + farMoved + 1: false} {
		got, days := moved(opens, told)
		if len(days) != 0 {
			t.Errorf("taken as told again: %v", days)
		}
		if !tells {
			want(t, got)
			continue
		}
		want(t, got, ForecastMoved)
		if !strings.Contains(got[0].Body, "tree 1, tree 2") || !strings.Contains(got[0].Body, "10 days") || len(got[0].Days) != 2 || got[0].Days[0].On != opens {
			t.Errorf("told as %+v", got[0])
		}
	}
	for name, change := range map[string]func(*calendar.Planned){
		"light":   func(w *calendar.Planned) { w.Work.Hard = calendar.HardOnNothing },
		"blocked": func(w *calendar.Planned) { w.Blocked = []calendar.Block{{Reason: "it rests"}} },
		"done":    func(w *calendar.Planned) { w.Done = today - 1 },
	} {
		if got, _ := moved(today+60, told, change); len(got) != 0 {
			t.Errorf("%s: told %q", name, kinds(got))
		}
	}
}

func TestWeekAhead(t *testing.T) {
	m := bench()
	m.add("1", maple, nil, climate.NoDate, planned(repot, today-2, today+20), planned(style, today+10, today+40), planned(cut, today+6, today+40), planned(prune, today+farWeeks, today+60))
	d := day(m)
	d.Preferences.Off = []string{WindowOpens}
	for weekday, tells := range map[time.Weekday]bool{
		time.Sunday: true, time.Saturday: true, time.Friday: true, time.Thursday: false, time.Monday: false,
	} { // today is a Sunday, and what was missed is made up for within two days
		d.Preferences.WeekDay = weekday
		got, _ := Decide(d)
		if !tells {
			want(t, got)
			continue
		}
		want(t, got, WeekAhead)
		for _, s := range []string{"Open now\n- Do repot", "Opens this week\n- Do prune", "Hard work within four weeks\n- Do first-style"} {
			if !strings.Contains(got[0].Body, s) {
				t.Errorf("%q is not in\n%s", s, got[0].Body)
			}
		}
		if strings.Contains(got[0].Body, "heavy-prune") {
			t.Errorf("what is far off is told:\n%s", got[0].Body)
		}
		d.Sent = got
		d.Now = noon.AddDate(0, 0, 1)
		if again, _ := Decide(d); len(again) != 0 {
			t.Errorf("%v: told again the next day: %q", weekday, kinds(again))
		}
		d.Sent, d.Now = nil, noon
	}
	// The day is that of the grower's own clock.
	d.Preferences.WeekDay = time.Monday
	d.Preferences.Zone = "Pacific/Kiritimati"
	got, _ := Decide(d)
	want(t, got, WeekAhead)
	d.Places[0].Plan = &calendar.Plan{On: today, Site: m.Plan.Site}
	got, _ = Decide(d)
	want(t, got) // nothing to tell
}
