package calendar

import (
	"fmt"
	"slices"
	"time"
)

// Locale is how a grower reads: language, units and dates. What is empty is as the
// language has it; an empty language is the one that the browser asks for, and
// English where nothing asks, as in feeds and messages. All that is kept of places and
// trees stays in Celsius and litres whatever it says.
type Locale struct {
	Language    string       `json:"language,omitempty"`    // BCP 47, such as "de"
	Temperature string       `json:"temperature,omitempty"` // Celsius or Fahrenheit; empty: Celsius
	Volume      string       `json:"volume,omitempty"`      // InLitres or InQuarts; empty: litres
	Dates       string       `json:"dates,omitempty"`       // of DateForms; empty: DatesInWords
	WeekStart   time.Weekday `json:"week_start"`            // Saturday, Sunday or Monday
}

// Units and forms that a locale may name.
const (
	Celsius    = "C"
	Fahrenheit = "F"

	InLitres = "litres"
	InQuarts = "quarts" // US liquid quarts

	DatesInWords    = "words"       // 9 March 2027, as the language has it
	DatesInNumbers  = "numbers"     // 9.3.2027, likewise
	DatesISO        = "iso"         // 2027-03-09
	DatesMonthFirst = "month-first" // March 9, 2027
)

// DateForms lists the forms of dates.
func DateForms() []string {
	return []string{DatesInWords, DatesInNumbers, DatesISO, DatesMonthFirst}
}

// WeekStarts lists the days that a week may begin with.
func WeekStarts() []time.Weekday { return []time.Weekday{time.Monday, time.Sunday, time.Saturday} }

// DefaultLocale is that of a grower who has set none.
func DefaultLocale() Locale { return Locale{WeekStart: time.Monday} }

// longestLanguage is how long the name of a language may be, in bytes.
const longestLanguage = 35 // RFC 5646, 4.4.1

// Validate reports the first thing that cannot be. Which languages there are is not
// known here: one that is not is shown as English.
func (l *Locale) Validate() error {
	letters := func(r rune) bool {
		return r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' || r >= '0' && r <= '9' || r == '-'
	}
	switch {
	case len(l.Language) > longestLanguage || slices.ContainsFunc([]rune(l.Language), func(r rune) bool { return !letters(r) }):
		return fmt.Errorf("language %.40q: want a tag of BCP 47 such as de, or none: %w", l.Language, ErrInvalid)
	case !slices.Contains([]string{"", Celsius, Fahrenheit}, l.Temperature):
		return fmt.Errorf("temperature %.40q: want C or F: %w", l.Temperature, ErrInvalid)
	case !slices.Contains([]string{"", InLitres, InQuarts}, l.Volume):
		return fmt.Errorf("volume %.40q: want litres or quarts: %w", l.Volume, ErrInvalid)
	case l.Dates != "" && !slices.Contains(DateForms(), l.Dates):
		return fmt.Errorf("dates %.40q: want one of %v: %w", l.Dates, DateForms(), ErrInvalid)
	case !slices.Contains(WeekStarts(), l.WeekStart):
		return fmt.Errorf("week_start %d: want 1, 0 or 6, for Monday, Sunday or Saturday: %w", int(l.WeekStart), ErrInvalid)
	}
	return nil
}
