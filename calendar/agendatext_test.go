package calendar

import (
	"bufio"
	"bytes"
	"fmt"
	"strings"
	"testing"

	"budswell/climate"
)

var (
	frostWork   = &Work{ID: "frost-watch", Title: "Watch for frost", Class: Protection, Loses: 120}
	outWork     = &Work{ID: WorkOutOfWinter, Title: "Out of winter shelter", Class: Protection, Loses: 30}
	protectRule = &Rule{ID: "protect", Work: "frost-watch", Minutes: 20}
	styleRule   = &Rule{ID: "style", Work: WorkSecondStyle, Minutes: 600, Rest: 1}
	styleWork   = &Work{ID: WorkSecondStyle, Title: "Second styling", Class: Branches, Hard: HardOnBranches}
)

func agendaText(t *testing.T, a *Agenda) string {
	t.Helper()
	var b bytes.Buffer
	out := &texter{w: bufio.NewWriter(&b)}
	out.agenda(a)
	if err := out.w.Flush(); err != nil {
		t.Fatal(err)
	}
	return strings.Join(strings.Fields(b.String()), " ")
}

// Care that keeps trees from harm never waits in silence, whatever the hours.
func TestProtectionNeverWaitsInSilence(t *testing.T) {
	on := date(2027, 4, 5)
	frost := func() []Planned { return []Planned{planned(protectRule, frostWork, saturday, 2, 0.3)} }
	a := handPlan(on, frost(), frost(), []Planned{planned(repotRule, repotWork, saturday, 2, 0.9)}).Fit(saturdays(100), nil)
	text := agendaText(t, a)
	if a := strings.Index(text, "What cannot wait"); a < 0 || a > strings.Index(text, "Sat 2027-04-10") {
		t.Errorf("not said, or not first: %s", text)
	}
	for _, want := range []string{"Watch for frost: tree 1, tree 2, best on 2027-04-10 (30 %)", "Repot: tree 3"} {
		if !strings.Contains(text, want) {
			t.Errorf("%q is not in %s", want, text)
		}
	}
	if _, waits, _ := strings.Cut(text, "Who waits"); strings.Contains(waits, "frost") {
		t.Errorf("said twice: %s", text)
	}
}

// A tree is not taken out of shelter long before its time because the hours are then.
func TestNothingComesOutTooEarly(t *testing.T) {
	on := date(2027, 3, 1)
	out := planned(&Rule{ID: "out", Work: WorkOutOfWinter, Minutes: 15}, outWork, saturday, 14, 0.5)
	late := saturdays(60)
	late.Away = []Absence{{saturday - 14, saturday + 6}}
	if day, ok := dayOf(handPlan(on, []Planned{out}).Fit(late, nil), "tree-1", out.Key); !ok || day != saturday+7 {
		t.Errorf("out on %v, %v; want the Saturday after the absence", day, ok)
	}
	late.Away[0].To = saturday + 60
	a := handPlan(on, []Planned{out}).Fit(late, nil)
	if len(a.Days) > 0 || len(a.Waiting) != 1 || !a.Waiting[0].Urgent() || a.Waiting[0].Reason != "you are away when its window is open, or have no hours" {
		t.Errorf("%+v %+v", a.Days, a.Waiting)
	}
}

// Work that is longer than any day says what can be done.
func TestAdviceForLongWork(t *testing.T) {
	on := date(2027, 4, 5)
	long := *repotRule
	long.Minutes = 400
	for _, test := range []struct {
		rule *Rule
		work *Work
		own  int
		want string
	}{
		{styleRule, styleWork, 300, "or do it in sittings within 4 weeks: give the longest of them as its minutes (minutes: {second-style: 300}), and log it after the last."},
		{styleRule, styleWork, 30, "Keep a longer day for it, or get a helper."},
		{&long, repotWork, 300, "get a helper who may do hard work: bare roots cannot wait for another day."},
	} {
		a := handPlan(on, []Planned{planned(test.rule, test.work, saturday, 2, 0.9)}).Fit(saturdays(test.own), nil)
		if len(a.Waiting) != 1 || !strings.HasSuffix(a.Waiting[0].Advice, test.want) {
			t.Errorf("%s with %d minutes: %+v", test.work.ID, test.own, a.Waiting)
			continue
		}
		if !strings.Contains(agendaText(t, a), test.want) {
			t.Errorf("not told: %s", agendaText(t, a))
		}
	}
}

// Waits of light work that comes again do not drown those that cost a year, and its
// days far ahead do not drown the near ones.
func TestLightWorkIsToldInFewWords(t *testing.T) {
	on := date(2027, 3, 20)
	var works [][]Planned
	for i := range 40 {
		look := *feedRule
		look.ID = fmt.Sprintf("look-%d", i%20)
		kind := &Work{ID: look.ID, Title: "Look for pest " + fmt.Sprint(i%20), Class: Health}
		w := planned(&look, kind, saturday+60, 60, 0.95)
		w.Due = saturday
		works = append(works, []Planned{w, planned(repotRule, repotWork, saturday+climate.Date(i), 2, 0.9)})
	}
	a := handPlan(on, works...).Fit(saturdays(240), nil)
	text := agendaText(t, a)
	_, waits, _ := strings.Cut(text, "Who waits")
	if len(a.Waiting) < 60 || !strings.HasPrefix(waits, " Repot: ") || strings.Count(waits, "comes again") >= mostWaits || !strings.Contains(waits, "more, that cost less to miss.") {
		t.Errorf("%d wait: %s", len(a.Waiting), waits)
	}
	if !strings.Contains(text, "Round of the trees, ") || !strings.Contains(text, "Left out here: ") {
		t.Errorf("no round: %s", text)
	}
	for _, d := range a.Days {
		if shown := strings.Contains(text, dayName(d.Day)+": "); shown != (d.Day <= on+roundsShown) && d.Day > saturday+50 {
			t.Errorf("%v is shown: %v", d.Day, shown)
		}
	}
}
