package climate

import (
	"fmt"
	"math"
	"time"
)

// Date is a calendar day without a time of day or a zone, counted in days from
// 1970-01-01 in the proleptic Gregorian calendar. Days are added and subtracted
// with + and -. The zero value is 1970-01-01; "no day" is [NoDate].
type Date int32

// NoDate stands where there is no day: a frost that never comes, a phase that
// falls outside the season.
const NoDate Date = math.MinInt32

// Earliest and latest year that ParseDate accepts.
const (
	minYear = 1700
	maxYear = 2300
)

// NewDate returns the given day; out-of-range months and days are carried over
// as time.Date does.
func NewDate(year int, month time.Month, day int) Date {
	return DateOf(time.Date(year, month, day, 0, 0, 0, 0, time.UTC))
}

// DateOf returns the day that a clock in t's own location shows.
func DateOf(t time.Time) Date {
	y, m, d := t.Date()
	const secondsPerDay = 24 * 60 * 60
	s := time.Date(y, m, d, 0, 0, 0, 0, time.UTC).Unix()
	return Date(math.Floor(float64(s) / secondsPerDay))
}

// ParseDate reads an ISO 8601 calendar date, YYYY-MM-DD, of the years 1700 to 2300.
func ParseDate(s string) (Date, error) {
	t, err := time.Parse(time.DateOnly, s)
	if err != nil {
		return NoDate, fmt.Errorf("date %q: want a day that exists, written YYYY-MM-DD", s)
	}
	if y := t.Year(); y < minYear || y > maxYear {
		return NoDate, fmt.Errorf("date %q: want a year from %d to %d", s, minYear, maxYear)
	}
	return DateOf(t), nil
}

// Valid reports whether d is a day, that is, not [NoDate].
func (d Date) Valid() bool { return d != NoDate }

// Time returns midnight UTC of d.
func (d Date) Time() time.Time { return time.Unix(int64(d)*24*60*60, 0).UTC() }

// Year returns the calendar year of d.
func (d Date) Year() int { return d.Time().Year() }

// Month returns the month of d.
func (d Date) Month() time.Month { return d.Time().Month() }

// Day returns the day of the month, 1 to 31.
func (d Date) Day() int { return d.Time().Day() }

// YearDay returns the day of the year, 1 to 366.
func (d Date) YearDay() int { return d.Time().YearDay() }

// Weekday returns the day of the week.
func (d Date) Weekday() time.Weekday { return d.Time().Weekday() }

// String returns d as YYYY-MM-DD, or "none".
func (d Date) String() string {
	if !d.Valid() {
		return "none"
	}
	return d.Time().Format(time.DateOnly)
}

// MarshalText writes d as YYYY-MM-DD, and NoDate as nothing.
func (d Date) MarshalText() ([]byte, error) {
	if !d.Valid() {
		return nil, nil
	}
	return []byte(d.String()), nil
}

// UnmarshalText reads what MarshalText writes.
func (d *Date) UnmarshalText(b []byte) error {
	if len(b) == 0 {
		*d = NoDate
		return nil
	}
	v, err := ParseDate(string(b))
	if err != nil {
		return err
	}
	*d = v
	return nil
}

// MonthDay is a day that recurs every year, such as an average last frost.
// 29 February falls on 1 March in years without it.
type MonthDay struct {
	Month time.Month
	Day   int
}

// ParseMonthDay reads MM-DD.
func ParseMonthDay(s string) (MonthDay, error) {
	t, err := time.Parse("2006-01-02", "2000-"+s)
	if err != nil {
		return MonthDay{}, fmt.Errorf("day %q: want a day of the year, written MM-DD", s)
	}
	return MonthDay{t.Month(), t.Day()}, nil
}

// In returns the day in the given year.
func (m MonthDay) In(year int) Date { return NewDate(year, m.Month, m.Day) }

// String returns m as MM-DD.
func (m MonthDay) String() string { return fmt.Sprintf("%02d-%02d", m.Month, m.Day) }

// MarshalText writes m as MM-DD.
func (m MonthDay) MarshalText() ([]byte, error) { return []byte(m.String()), nil }

// UnmarshalText reads MM-DD.
func (m *MonthDay) UnmarshalText(b []byte) error {
	v, err := ParseMonthDay(string(b))
	if err != nil {
		return err
	}
	*m = v
	return nil
}
