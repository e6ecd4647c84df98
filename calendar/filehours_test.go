package calendar

import (
	"encoding/json"
	"errors"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"budswell/climate"
)

const goodHours = `hours:
  saturday: 4
  sunday: 2.5
  away: [{from: 2027-07-03, to: 2027-07-18}, {from: 2027-09-04}]
  extra: [{on: 2027-04-02, hours: 5}]
  helpers: [{on: 2027-04-10, hours: 6, hard: true}, {weekday: sunday, hours: 2}]
  minutes: {collected: 240, feed: 5}
  set_up: {repot: 30}
`

func TestReadHours(t *testing.T) {
	f, err := ReadFile("plan.yaml", []byte(goodFile+goodHours), smallLore(), climate.NoDate)
	if err != nil {
		t.Fatal(err)
	}
	want := &Hours{
		Weekdays: [7]int{time.Sunday: 150, time.Saturday: 240},
		Away:     []Absence{{day(t, "2027-07-03"), day(t, "2027-07-18")}, {day(t, "2027-09-04"), day(t, "2027-09-04")}},
		Extra:    []ExtraDay{{day(t, "2027-04-02"), 300}},
		Helpers:  []Helper{{On: day(t, "2027-04-10"), Minutes: 360, Hard: true}, {On: climate.NoDate, Weekday: time.Sunday, Minutes: 120}},
		Minutes:  WorkMinutes{WorkCollect: 240, "feed": 5},
		SetUp:    WorkMinutes{WorkRepot: 30},
	}
	if diff := cmp.Diff(want, f.Hours); diff != "" {
		t.Error(diff)
	}
	if err := f.Hours.Check(smallLore()); err != nil {
		t.Error(err)
	}
	text, err := json.Marshal(f.Hours)
	back := &Hours{}
	if err != nil || json.Unmarshal(text, back) != nil || !cmp.Equal(want, back) {
		t.Errorf("as JSON %s, %v", text, err)
	}
}

// TestReadHoursFaults breaks one thing at a time.
func TestReadHoursFaults(t *testing.T) {
	for _, test := range []struct{ old, new, want string }{
		{"saturday: 4", "saturday: 25", `plan.yaml:2:13: hours.saturday: "25": want hours, 0 to 24`},
		{"saturday: 4", "saturday: -1", `plan.yaml:2:13: hours.saturday: "-1": want hours, 0 to 24`},
		{"saturday: 4", "saturday: .nan", `plan.yaml:2:13: hours.saturday: ".nan": want a number`},
		{"saturday: 4", "saturday: four", `plan.yaml:2:13: hours.saturday: "four": want a number`},
		{"saturday: 4", "saterday: 4", `plan.yaml:2:3: hours: "saterday": there is no such field; did you mean saturday?`},
		{"saturday: 4", "saturday:", `plan.yaml:2:3: hours.saturday: has no value`},
		{"sunday: 2.5", "saturday: 1", `plan.yaml:3:3: hours.saturday: is given twice`},
		{"to: 2027-07-18", "to: 2027-07-01", `plan.yaml:4:33: hours.away[1].to: "2027-07-01": lies before from, 2027-07-03`},
		{"{from: 2027-09-04}", "{to: 2027-09-04}", `plan.yaml:4:46: hours.away[2].from: is missing`},
		{"from: 2027-09-04", "from: 2027-02-29", `plan.yaml:4:53: hours.away[2].from: "2027-02-29": date "2027-02-29": want a day that exists`},
		{"on: 2027-04-02", "on: 2027-07-05", `plan.yaml:5:16: hours.extra[1].on: "2027-07-05": lies in the days away`},
		{"hours: 5", "hours: 0", `plan.yaml:5:35: hours.extra[1].hours: "0": want hours, more than 0 to 24`},
		{"weekday: sunday", "weekday: Sun", `plan.yaml:6:63: hours.helpers[2].weekday: "Sun": want a day of the week in English and small letters`},
		{"weekday: sunday", "on: 2027-05-01, weekday: sunday", `plan.yaml:6:53: hours.helpers[2]: want exactly one of on and weekday`},
		{"hours: 6, hard: true", "hard: true", `hours.helpers[1].hours: is missing`},
		{"hard: true", "hard: perhaps", `hours.helpers[1].hard: `},
		{"feed: 5", "fead: 5", `plan.yaml:7:29: hours.minutes: "fead": there is no such work; did you mean feed?`},
		{"feed: 5", "feed: 1000", `plan.yaml:7:35: hours.minutes.feed: "1000": want 1 to 960 minutes`},
		{"feed: 5", "collect: 5", `plan.yaml:7:29: hours.minutes.collect: collect is given twice; give it once`},
		{"repot: 30", "repot: half", `plan.yaml:8:19: hours.set_up.repot: "half": want a whole number`},
		{"{repot: 30}", "30", `plan.yaml:8:11: hours.set_up: "30": want minutes by work`},
	} {
		t.Run(test.new, func(t *testing.T) {
			text := strings.Replace(goodHours, test.old, test.new, 1)
			if text == goodHours {
				t.Fatalf("%q is not in it", test.old)
			}
			rest := strings.TrimPrefix(goodFile, "version: 1\n")
			f, err := ReadFile("plan.yaml", []byte(text+"version: 1\n"+rest), smallLore(), climate.NoDate)
			if f != nil || !errors.Is(err, ErrInvalid) || !strings.Contains(err.Error(), test.want) {
				t.Errorf("%v, error:\n%v\nwant:\n%s", f, err, test.want)
			}
		})
	}
}

func TestHoursOfADay(t *testing.T) {
	f, err := ReadFile("plan.yaml", []byte(goodFile+goodHours), smallLore(), climate.NoDate)
	if err != nil {
		t.Fatal(err)
	}
	for _, test := range []struct {
		on   string
		want dayMinutes
	}{
		{"2027-04-02", dayMinutes{300, 300}}, // a Friday, extra
		{"2027-04-03", dayMinutes{240, 240}},
		{"2027-04-04", dayMinutes{270, 150}}, // the helper of Sundays
		{"2027-04-05", dayMinutes{0, 0}},
		{"2027-04-10", dayMinutes{600, 600}},
		{"2027-07-04", dayMinutes{0, 0}}, // a Sunday, away
		{"2027-07-18", dayMinutes{0, 0}},
		{"2027-07-24", dayMinutes{240, 240}},
		{"2028-02-29", dayMinutes{0, 0}},
	} {
		if got := f.Hours.on(day(t, test.on)); got != test.want {
			t.Errorf("%s: %+v, want %+v", test.on, got, test.want)
		}
	}
	more := f.Hours.with(day(t, "2027-04-05"), 120)
	if got, was := more.on(day(t, "2027-04-05")), f.Hours.on(day(t, "2027-04-05")); got != (dayMinutes{120, 120}) || was != (dayMinutes{}) {
		t.Errorf("with two hours more %+v, and %+v without", got, was)
	}
}

func TestHoursCheck(t *testing.T) {
	on := day(t, "2027-04-03")
	for name, h := range map[string]*Hours{
		"weekday":     {Weekdays: [7]int{-1}},
		"away":        {Away: []Absence{{on, on - 1}}},
		"extra":       {Extra: []ExtraDay{{climate.NoDate, 60}}},
		"extra away":  {Away: []Absence{{on, on}}, Extra: []ExtraDay{{on, 60}}},
		"helper":      {Helpers: []Helper{{On: on}}},
		"helper day":  {Helpers: []Helper{{On: climate.NoDate, Weekday: 7, Minutes: 60}}},
		"minutes":     {Minutes: WorkMinutes{"no such work": 10}},
		"other word":  {Minutes: WorkMinutes{"collected": 10}},
		"set-up long": {SetUp: WorkMinutes{WorkRepot: 500}},
	} {
		if err := h.Check(smallLore()); !errors.Is(err, ErrInvalid) {
			t.Errorf("%s: %v", name, err)
		}
	}
}
