package wording

import (
	"testing"

	"budswell/calendar"
)

// What a plan says keeps its words; its days are written as the reader writes days.
func TestTold(t *testing.T) {
	for in, want := range map[string]string{
		"":                       "",
		"nothing of days":        "nothing of days.",
		"until about 2027-03-09": "until about 9 March 2027.",
		"(10-90 %: 2027-03-09 to 2027-04-01); seen on 2026-02-28": "(10-90 %: 9 March 2027 to 1 April 2027); seen on 28 February 2026.",
		"no day 2027-02-30":  "no day 2027-02-30.",
		"part 12027-03-09-7": "part 12027-03-09-7.",
	} {
		if got := English.Told(in); got != want {
			t.Errorf("Told(%q) = %q, want %q", in, got, want)
		}
	}
	const seen = "seen on 2026-02-28"
	for want, reader := range map[string]*Tongue{
		"seen on 28 February 2026.": german(), // calendar speaks English
		"seen on 2026-02-28.":       german(func(l *calendar.Locale) { l.Dates = calendar.DatesISO }),
		"seen on February 28, 2026.": german(func(l *calendar.Locale) {
			l.Dates = calendar.DatesMonthFirst
		}),
	} {
		if got := reader.Told(seen); got != want {
			t.Errorf("Told(%q) = %q, want %q", seen, got, want)
		}
	}
}
