package wording

import (
	"cmp"
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"
	"time"

	"budswell/calendar"
	"budswell/climate"
)

// form is how the reader wants dates.
func (t *Tongue) form() dateForm { return t.Dates[cmp.Or(t.locale.Dates, calendar.DatesInWords)] }

// dated fills a form of dates: {d} day, {dd} day of two digits, {m} and {mm} month in
// digits, {month} and {mon} its name, {y} year, {wd} short weekday.
func (t *Tongue) dated(form string, d climate.Date) string {
	if !d.Valid() {
		return t.Say("no day")
	}
	at := d.Time()
	var b strings.Builder
	for form != "" {
		plain, rest, _ := strings.Cut(form, "{")
		field, after, _ := strings.Cut(rest, "}")
		b.WriteString(plain)
		switch field {
		case "d":
			b.WriteString(strconv.Itoa(at.Day()))
		case "dd":
			fmt.Fprintf(&b, "%02d", at.Day())
		case "m":
			b.WriteString(strconv.Itoa(int(at.Month())))
		case "mm":
			fmt.Fprintf(&b, "%02d", at.Month())
		case "month":
			b.WriteString(t.Months[at.Month()-1])
		case "mon":
			b.WriteString(t.ShortMonths[at.Month()-1])
		case "y":
			fmt.Fprintf(&b, "%04d", at.Year())
		case "wd":
			b.WriteString(t.ShortWeekdays[at.Weekday()])
		}
		form = after
	}
	return b.String()
}

// Day writes a date with its year: "9 March 2027".
func (t *Tongue) Day(d climate.Date) string { return t.dated(t.form().Day, d) }

// ShortDay writes a date without its year: "9 Mar".
func (t *Tongue) ShortDay(d climate.Date) string { return t.dated(t.form().Short, d) }

// WeekDay writes a date with its day of the week: "Tue 9 Mar 2027".
func (t *Tongue) WeekDay(d climate.Date) string { return t.dated(t.form().Week, d) }

// WeekDayShort writes a date with its day of the week and without its year: "Tue 9 Mar".
func (t *Tongue) WeekDayShort(d climate.Date) string {
	if !d.Valid() {
		return t.Say("no day")
	}
	return t.ShortWeekdays[d.Time().Weekday()] + " " + t.ShortDay(d)
}

// Within writes two days of about one year: "3–20 Mar", "18 Mar – 6 Apr".
func (t *Tongue) Within(from, to climate.Date) string {
	a, b := t.ShortDay(from), t.ShortDay(to)
	before, after, parted := strings.Cut(a, " ")
	first, last, _ := strings.Cut(b, " ")
	switch {
	case !from.Valid() || !to.Valid() || to <= from:
		return a
	case parted && after == last && from.Year() == to.Year():
		return before + "–" + b
	case parted && before == first && from.Year() == to.Year():
		return a + "–" + last
	}
	return a + " – " + b
}

// Told makes a sentence, as [Sentence] does, of what a plan says: in English, its days as
// the reader wants days.
func (t *Tongue) Told(s string) string {
	s = Sentence(s)
	var b strings.Builder
	english := t.AsEnglish()
	for {
		at := isoDay.FindStringIndex(s)
		if at == nil {
			break
		}
		if d, err := climate.ParseDate(s[at[0]:at[1]]); err == nil {
			b.WriteString(s[:at[0]] + english.Day(d))
		} else {
			b.WriteString(s[:at[1]])
		}
		s = s[at[1]:]
	}
	return b.String() + s
}

// AllTold is [Tongue.Told] of each.
func (t *Tongue) AllTold(all []string) []string {
	out := make([]string, len(all))
	for i, s := range all {
		out[i] = t.Told(s)
	}
	return out
}

// isoDay is how calendar writes a day.
var isoDay = regexp.MustCompile(`\b[0-9]{4}-[0-9]{2}-[0-9]{2}\b`)

// DayOf writes the day of an instant, in UTC.
func (t *Tongue) DayOf(at time.Time) string { return t.Day(climate.DateOf(at.UTC())) }

// MonthDay writes a day of no year: "25 April".
func (t *Tongue) MonthDay(d climate.MonthDay) string {
	return t.Say("{1} {2}", strconv.Itoa(d.Day), t.Months[d.Month-1])
}

// Month names a month.
func (t *Tongue) Month(m time.Month) string { return t.Months[m-1] }

// Weekday names a day of the week.
func (t *Tongue) Weekday(d time.Weekday) string { return t.Weekdays[d] }

// Week lists the days of the week from the one with which the reader's begins.
func (t *Tongue) Week() []time.Weekday {
	var out []time.Weekday
	for i := range 7 {
		out = append(out, (t.locale.WeekStart+time.Weekday(i))%7)
	}
	return out
}

// tropic is the latitude within which the year has no four seasons.
const tropic = 23.44

// Season names the season of the year of a day at a latitude, by whole months: "spring
// 2029", which in the south is from September to November; "winter 2028/29". Within the
// tropics it is its months: "Mar–May 2029", "Dec–Feb 2028/29".
func (t *Tongue) Season(d climate.Date, lat float64) string {
	if math.Abs(lat) < tropic {
		_, year, _ := strings.Cut(calendar.SeasonOfYear(d, false), " ")
		first := int(d.Time().Month()) / 3 * 3 % 12 // December is 0
		bare := func(m int) string { return strings.TrimSuffix(t.ShortMonths[m], ".") }
		return bare((first+11)%12) + "–" + bare((first+1)%12) + " " + year
	}
	english := calendar.SeasonOfYear(d, lat < 0)
	name, year, _ := strings.Cut(english, " ")
	for i, s := range languages[0].Seasons {
		if s == name {
			name = t.Seasons[i]
		}
	}
	return name + " " + year
}

// Spread writes a distribution of a day by its 10, 50 and 90 % days.
func (t *Tongue) Spread(s climate.Spread) string {
	switch {
	case !s.P50.Valid():
		return t.Say("no day")
	case s.P10 == s.P90:
		return t.Say("{1} (10, 50 and 90 % on the same day)", t.Day(s.P50))
	}
	return fmt.Sprintf("%s (10 %%), %s (50 %%), %s (90 %%)", t.Day(s.P10), t.Day(s.P50), t.Day(s.P90))
}

// HowSure writes a probability, 0 to 1, in words and as a number rounded to
// 5 %: a forecast of some dozen draws knows no better, and a finer number would
// move from one morning to the next without meaning anything.
func (t *Tongue) HowSure(p float64) string { return t.Likelihood(p) + " (" + t.Percent(p) + ")" }

// Likelihood writes a probability in words. The bounds are those of the
// likelihood scale that climate assessments use (Mastrandrea et al. 2010, IPCC
// guidance note on uncertainties, table 1; from memory); the middle is ours.
func (t *Tongue) Likelihood(p float64) string {
	switch {
	case p >= 0.9:
		return t.Say("very likely")
	case p >= 0.66:
		return t.Say("likely")
	case p > 0.33:
		return t.Say("as likely as not")
	case p > 0.1:
		return t.Say("unlikely")
	}
	return t.Say("very unlikely")
}

// Percent writes a probability rounded to 5 %.
func (t *Tongue) Percent(p float64) string {
	switch n := 5 * int(math.Round(p*20)); {
	case n >= 100:
		return t.Say("over 95 %")
	case n <= 0:
		return t.Say("under 5 %")
	default:
		return fmt.Sprintf("%d %%", n)
	}
}

// Share writes a share of something that is measured, 0 to 1, to a tenth of a percent.
func (t *Tongue) Share(x float64) string {
	return strings.Replace(fmt.Sprintf("%.1f %%", 100*max(x, 0.001)), ".", t.Decimal, 1)
}

// Count writes a number of things: "1 day", "3 days".
func (t *Tongue) Count(n int, thing string) string { return t.amount(n, thing, "") }

// Effort writes a number of minutes.
func (t *Tongue) Effort(minutes int) string {
	switch {
	case minutes < 90:
		return t.Count(minutes, "minute")
	case minutes%60 == 0:
		return t.Count(minutes/60, "hour")
	}
	return fmt.Sprintf("%d h %d min", minutes/60, minutes%60)
}
