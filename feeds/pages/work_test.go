package pages

import (
	"strings"
	"testing"
	"time"

	"budswell/calendar"
	"budswell/climate"
	"budswell/feeds/wording"
)

var on = climate.NewDate(2027, time.March, 1)

func spread(a, b, c climate.Date) climate.Spread {
	return climate.Spread{P10: on + a, P50: on + b, P90: on + c}
}

func planned(opens, closes climate.Spread) calendar.Planned {
	return calendar.Planned{
		Title: "Repot", Due: climate.NoDate, Done: climate.NoDate,
		Window: calendar.Window{Opens: opens, Closes: closes, Likely: opens.P50, Certainty: 0.8, Chance: 1},
	}
}

func TestOpenOnFollowsTheSpreads(t *testing.T) {
	w := &calendar.Window{Opens: spread(4, 8, 20), Closes: spread(20, 30, 40)}
	for day, want := range map[climate.Date]float64{0: 0, 4: 0.1, 6: 0.3, 8: 0.5, 14: 0.7, 31: 0.5, 41: 0.1, 60: 0} {
		if got := wording.OpenOn(w.Opens, w.Closes, on+day); got < want-0.011 || got > want+0.011 {
			t.Errorf("day %d: %.3f, want %.2f", day, got, want)
		}
	}
	fixed := &calendar.Window{Opens: spread(5, 5, 5), Closes: spread(9, 9, 9)}
	for day, want := range map[climate.Date]float64{4: 0, 5: 1, 9: 1, 10: 0} {
		if got := wording.OpenOn(fixed.Opens, fixed.Closes, on+day); got != want {
			t.Errorf("a fixed window on day %d: %v, want %v", day, got, want)
		}
	}
}

func TestStateInWords(t *testing.T) {
	due := planned(spread(-9, -9, -9), spread(90, 90, 90))
	due.Due = on + 3
	late := due
	late.Due = on - 1
	now := due
	now.Due = on
	first := late // of a round that was never logged, nobody knows that it was missed
	first.Unlogged = true
	done := planned(spread(1, 2, 3), spread(9, 10, 11))
	done.Done = on - 2
	blocked := planned(spread(-3, -2, -1), spread(9, 10, 11))
	blocked.Blocked = []calendar.Block{{Reason: "it rests", Until: on + 70}}
	for want, w := range map[string]calendar.Planned{
		"Opens in about 8 days|8 of 10 cases: 5 Mar to 21 Mar":       planned(spread(4, 8, 20), spread(20, 30, 40)),
		"Open now|very likely (over 95 %)":                           planned(spread(-9, -8, -7), spread(20, 30, 40)),
		"Closing|still open: as likely as not (35 %)":                planned(spread(-50, -40, -30), spread(-10, -5, 5)),
		"Due Thu 4 Mar 2027|right that day: very likely (over 95 %)": due,
		"Due today|right that day: very likely (over 95 %)":          now,
		"Due now|right today: very likely (over 95 %)":               first,
		"Overdue by 1 day|right today: very likely (over 95 %)":      late,
		"Done on 27 February 2027|":                                  done,
		"Not now|":                                                   blocked,
	} {
		words, sure := state(wording.English, &w, on)
		if got := words + "|" + sure; got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
	if got := workOf(wording.English, &blocked, on).Blocked[0]; got != "it rests (until 10 May 2027)." {
		t.Errorf("reason: %q", got)
	}
	blocked.SoFar = "42 parts have come"
	if got := workOf(wording.English, &blocked, on).SoFar; got != "42 parts have come." {
		t.Errorf("so far: %q", got)
	}
}

func TestWhichWorksTouchTheSixWeeks(t *testing.T) {
	rare := planned(spread(4, 8, 20), spread(20, 30, 40))
	rare.Window.Chance = 0.05
	never := planned(climate.Spread{P10: climate.NoDate, P50: climate.NoDate, P90: climate.NoDate}, climate.Spread{})
	repeated := planned(spread(-9, -9, -9), spread(90, 90, 90))
	repeated.Rule = &calendar.Rule{Every: 14}
	for name, row := range map[string]struct {
		w    calendar.Planned
		want bool
	}{
		"inside":                {planned(spread(4, 8, 20), spread(20, 30, 40)), true},
		"may open on the last":  {planned(spread(41, 60, 70), spread(80, 90, 99)), true},
		"opens after":           {planned(spread(42, 60, 70), spread(80, 90, 99)), false},
		"may close today":       {planned(spread(-40, -30, -20), spread(-9, -5, 0)), true},
		"closed":                {planned(spread(-40, -30, -20), spread(-9, -5, -1)), false},
		"hardly ever":           {rare, false},
		"does not come":         {never, false},
		"repeated, not due now": {repeated, false},
	} {
		if got := shows(&row.w, on); got != row.want {
			t.Errorf("%s: %v, want %v", name, got, row.want)
		}
	}
}

func TestBarStaysInsideItsFrame(t *testing.T) {
	w := planned(spread(-4, 8, 20), spread(20, 30, 60))
	b := bar(wording.English, &w, on)
	if b.Mark != 85 || len(b.Ends) != 2 || b.Ends[0] != 80 || b.Ends[1] != 310 || !strings.Contains(b.Words, "9 March 2027") {
		t.Errorf("bar: %+v", b)
	}
	w.Window.Likely = on - 1
	if b := bar(wording.English, &w, on); b.Mark != -1 {
		t.Errorf("a likely day that is past is marked at %d", b.Mark)
	}
}
