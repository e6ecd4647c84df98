package calendar

import (
	"fmt"
	"math"
	"strings"
	"time"

	"budswell/climate"
)

// SeasonOfYear names the season of the year that a day falls in at a place in the
// north or in the south, by whole months: "spring 2029" from March to May in the north and
// from September to November in the south, "winter 2028/29" from December to
// February, "winter 2029" from June to August.
func SeasonOfYear(d climate.Date, southern bool) string {
	t := d.Time()
	year, quarter := t.Year(), int(t.Month())%12/3 // winter, spring, summer, autumn in the north
	across := t.Month() == time.December || t.Month() < time.March
	if southern {
		quarter = (quarter + 2) % 4
	}
	name := [...]string{"winter", "spring", "summer", "autumn"}[quarter]
	if !across {
		return fmt.Sprintf("%s %d", name, year)
	}
	if t.Month() < time.March {
		year--
	}
	return fmt.Sprintf("%s %d/%02d", name, year, (year+1)%100)
}

// seasonsBefore says how many seasons of the same name a day lies before a later one:
// "two springs before".
func seasonsBefore(day, later climate.Date, southern bool) string {
	name, _, _ := strings.Cut(SeasonOfYear(day, southern), " ")
	n := 0
	for d := day; d < later && SeasonOfYear(d, southern) != SeasonOfYear(later, southern); d += 365 {
		n++
	}
	switch n {
	case 0:
		return "in the same season"
	case 1:
		return "the last " + name + " before"
	}
	words := []string{"two", "three", "four", "five", "six", "seven", "eight", "nine", "ten"}
	if n-2 < len(words) {
		return words[n-2] + " " + name + "s before"
	}
	return fmt.Sprintf("%d %ss before", n, name)
}

// nextQuarter returns the first day after d on which a season of the year begins.
func nextQuarter(d climate.Date) climate.Date {
	t := d.Time()
	month := (int(t.Month())/3 + 1) * 3 // 3, 6, 9, 12 or 15
	return climate.NewDate(t.Year(), time.Month(month), 1)
}

// chanceWords says how likely something is.
func chanceWords(p float64) string {
	switch {
	case p >= 0.95:
		return "all but sure"
	case p >= 0.8:
		return "very likely"
	case p >= 0.6:
		return "likely"
	case p > 0.4:
		return "about even"
	case p > 0.2:
		return "unlikely"
	case p > 0.05:
		return "very unlikely"
	}
	return "all but impossible"
}

// roundHalf rounds to halves.
func roundHalf(x float64) float64 { return math.Round(2*x) / 2 }
