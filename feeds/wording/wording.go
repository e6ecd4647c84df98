// Package wording puts dates, chances and what they rest on into the same words
// wherever people read them: feeds, pages and messages.
package wording

import (
	"fmt"
	"math"
	"strings"
	"unicode"
	"unicode/utf8"

	"budswell/calendar"
	"budswell/climate"
)

// Day writes a date with its year: "9 March 2027".
func Day(d climate.Date) string {
	if !d.Valid() {
		return "no day"
	}
	return d.Time().Format("2 January 2006")
}

// ShortDay writes a date without its year: "9 Mar".
func ShortDay(d climate.Date) string {
	if !d.Valid() {
		return "no day"
	}
	return d.Time().Format("2 Jan")
}

// WeekDay writes a date with its day of the week: "Tue 9 Mar 2027".
func WeekDay(d climate.Date) string {
	if !d.Valid() {
		return "no day"
	}
	return d.Time().Format("Mon 2 Jan 2006")
}

// Spread writes a distribution of a day by its 10, 50 and 90 % days.
func Spread(s climate.Spread) string {
	switch {
	case !s.P50.Valid():
		return "no day"
	case s.P10 == s.P90:
		return Day(s.P50) + " (10, 50 and 90 % on the same day)"
	}
	return fmt.Sprintf("%s (10 %%), %s (50 %%), %s (90 %%)", Day(s.P10), Day(s.P50), Day(s.P90))
}

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

// HowSure writes a probability, 0 to 1, in words and as a number rounded to
// 5 %: a forecast of some dozen draws knows no better, and a finer number would
// move from one morning to the next without meaning anything.
func HowSure(p float64) string { return Likelihood(p) + " (" + Percent(p) + ")" }

// Likelihood writes a probability in words. The bounds are those of the
// likelihood scale that climate assessments use (Mastrandrea et al. 2010, IPCC
// guidance note on uncertainties, table 1; from memory); the middle is ours.
func Likelihood(p float64) string {
	switch {
	case p >= 0.9:
		return "very likely"
	case p >= 0.66:
		return "likely"
	case p > 0.33:
		return "as likely as not"
	case p > 0.1:
		return "unlikely"
	}
	return "very unlikely"
}

// Percent writes a probability rounded to 5 %.
func Percent(p float64) string {
	switch n := 5 * int(math.Round(p*20)); {
	case n >= 100:
		return "over 95 %"
	case n <= 0:
		return "under 5 %"
	default:
		return fmt.Sprintf("%d %%", n)
	}
}

// Share writes a share of something that is measured, 0 to 1, to a tenth of a percent.
func Share(x float64) string { return fmt.Sprintf("%.1f %%", 100*max(x, 0.001)) }

// Rests says what a plan's dates rest on, in terms that change from season to
// season and not from day to day.
func Rests(b climate.Basis) string {
	var parts []string
	if b.Years > 0 {
		parts = append(parts, Count(b.Years, "season")+" of measured weather")
	}
	if b.Generated > 0 {
		parts = append(parts, Count(b.Generated, "generated season"))
	}
	out := Sentence(b.Source)
	if out != "" {
		out = strings.TrimSuffix(out, ".") + ": "
	}
	out += strings.Join(parts, " and ")
	if len(parts) == 0 {
		out += "no seasons to compare with"
	}
	if b.Normals != "" && b.Normals != b.Source {
		out += ", with the " + b.Normals + " for the usual year until the record is longer"
	}
	switch known := b.Measured + b.Predicted + b.Interpolated + b.Typical; {
	case known == 0 || b.Measured == 0:
		out += "; nothing was measured this year"
	case b.Typical*10 > known:
		out += "; parts of the past year were not measured, and typical values stand in"
	}
	return out + "."
}

// LookFirst is what stands once wherever dates are shown.
const LookFirst = "Dates are forecasts: look at the tree first."

// Cautions returns the sentences of cautions, without one that says no more than
// [LookFirst].
func Cautions(texts []string) []string {
	var out []string
	for _, t := range texts {
		if t = Sentence(t); t != "" && !strings.Contains(strings.ToLower(t), "look at the tree first") {
			out = append(out, t)
		}
	}
	return out
}

// First returns the first sentence of s.
func First(s string) string {
	if i := strings.Index(s, ". "); i >= 0 {
		return s[:i+1]
	}
	return s
}

// Count writes a number of things: "1 day", "3 days".
func Count(n int, thing string) string {
	if n == 1 {
		return "1 " + thing
	}
	return fmt.Sprintf("%d %ss", n, thing)
}

// Effort writes a number of minutes.
func Effort(minutes int) string {
	switch {
	case minutes < 90:
		return Count(minutes, "minute")
	case minutes%60 == 0:
		return Count(minutes/60, "hour")
	}
	return fmt.Sprintf("%d h %d min", minutes/60, minutes%60)
}

// Sentence makes one trimmed line of s, and gives it a full stop where it has no
// end of its own.
func Sentence(s string) string {
	s = strings.Join(strings.Fields(s), " ")
	if s == "" || strings.ContainsRune(".!?…", lastRune(s)) {
		return s
	}
	return s + "."
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

// Name makes a heading of an id: "bud-swell" becomes "Bud swell".
func Name(id string) string { return Capital(Lower(id)) }

// Lower makes words of an id: "bud-swell" becomes "bud swell".
func Lower(id string) string { return strings.ReplaceAll(id, "-", " ") }

// Group names the trees of a growth group: "Deciduous trees", "Single flush pines".
func Group(id string) string {
	switch n := Name(id); {
	case strings.HasSuffix(id, "pine"), strings.HasSuffix(id, "conifer"), strings.HasSuffix(id, "evergreen"):
		return n + "s"
	case id == "spruce-fir":
		return "Spruces, firs, hemlocks, yews and cedars"
	case id == "juniper-cypress":
		return "Junipers and cypresses"
	default:
		return n + " trees"
	}
}

// Subject names a growth group by its id or, where a species is named, that with what people
// call it: "Field maple (Acer campestre)".
func Subject(group, species string, common []string) string {
	switch {
	case species == "":
		return Group(group)
	case len(common) > 0:
		return Capital(common[0]) + " (" + species + ")"
	}
	return species
}

func lastRune(s string) rune {
	r, _ := utf8.DecodeLastRuneInString(s)
	return r
}
