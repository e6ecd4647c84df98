// Package wording puts dates, chances and what they rest on into the same words
// wherever people read them: feeds, pages and messages.
package wording

import (
	"strings"
	"unicode"
	"unicode/utf8"

	"budswell/calendar"
	"budswell/climate"
)

// Open returns how likely it is, 0 to 1, that the window of a work comes and is open on a day: the one figure by
// which pages and messages decide what they say of the day, and which they show with it. It is
// the plan's own; where there is none, it is read off the window, see [OpenOn].
func Open(w *calendar.Planned, d climate.Date) float64 {
	if len(w.Open.Chance) > 0 {
		return w.Open.On(d)
	}
	return w.Window.Chance * OpenOn(w.Window.Opens, w.Window.Closes, d)
}

// OpenOn returns about how likely a window that comes at all is open on a day, 0
// to 1, read off the 10, 50 and 90 % days of its ends.
func OpenOn(opens, closes climate.Spread, d climate.Date) float64 {
	return max(0, by(opens, d)-by(closes, d-1))
}

// by returns about how likely the day of s has come by d: a line through its
// three points, and on at the same slope outside.
func by(s climate.Spread, d climate.Date) float64 {
	x := float64(d)
	p10, p50, p90 := float64(s.P10), float64(s.P50), float64(s.P90)
	if !s.P50.Valid() {
		return 0
	}
	line := func(x0, y0, x1, y1 float64) float64 {
		if x1 <= x0 {
			if x < x0 {
				return 0
			}
			return 1
		}
		return min(1, max(0, y0+(y1-y0)*(x-x0)/(x1-x0)))
	}
	if x < p50 {
		return line(p10, 0.1, p50, 0.5)
	}
	return line(p50, 0.5, p90, 0.9)
}

// LookFirst is what stands once wherever dates are shown.
const LookFirst = "Dates are forecasts: look at the tree first."

// First returns the first sentence of s.
func First(s string) string {
	if i := strings.Index(s, ". "); i >= 0 {
		return s[:i+1]
	}
	return s
}

// Sentence makes one trimmed line of s, and gives it a full stop where it has no
// end of its own.
func Sentence(s string) string {
	if !spaced(s) {
		s = strings.Join(strings.Fields(s), " ")
	}
	if s == "" || strings.ContainsRune(".!?…", lastRune(s)) {
		return s
	}
	return s + "."
}

// spaced reports whether words stand apart by one blank each and nothing else, as they
// nearly always do.
func spaced(s string) bool {
	blank := true
	for _, r := range s {
		if unicode.IsSpace(r) && (blank || r != ' ') {
			return false
		}
		blank = r == ' '
	}
	return !blank || s == ""
}

// Capital makes the first letter of s a capital.
func Capital(s string) string {
	r := []rune(s)
	if len(r) == 0 {
		return s
	}
	r[0] = unicode.ToUpper(r[0])
	return string(r)
}

func lastRune(s string) rune {
	r, _ := utf8.DecodeLastRuneInString(s)
	return r
}
