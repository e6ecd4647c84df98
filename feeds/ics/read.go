package ics

import (
	"bytes"
	"errors"
	"fmt"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"

	ical "github.com/arran4/golang-ical"

	"budswell/climate"
)

// LongestObject is the longest object, in octets, that is read of a program; one
// of ours has some 2,000.
const LongestObject = 64 << 10

// deepest is how deep components may lie in one another: an alarm in a task in a
// calendar.
const deepest = 3

// Edit is a task as a program wrote it back.
type Edit struct {
	UID        string
	Summary    string
	Start, Due climate.Date // NoDate: none
	Cancelled  bool

	// Completed: by status, by percentage or by a time, since not every program
	// writes all three.
	Completed bool
	At        time.Time    // when; zero where no time of UTC is told
	On        climate.Date // the day, where only that is told, or NoDate
}

// ReadTask reads a calendar with the one task that a program wrote. The library
// that parses it takes much that is broken, so that is refused beforehand; errors
// say what would be right.
func ReadTask(text []byte) (*Edit, error) {
	if err := sound(text); err != nil {
		return nil, err
	}
	cal, err := ical.ParseCalendar(bytes.NewReader(text))
	if err != nil {
		return nil, fmt.Errorf("ics: %w", err)
	}
	todos := cal.Todos()
	if len(todos) != 1 {
		return nil, fmt.Errorf("ics: %d tasks (VTODO): want one", len(todos))
	}
	values := map[string]string{}
	for _, p := range todos[0].Properties {
		name := strings.ToUpper(p.IANAToken)
		switch name {
		case "UID", "SUMMARY", "STATUS", "COMPLETED", "PERCENT-COMPLETE", "DTSTART", "DUE":
			if _, twice := values[name]; twice {
				return nil, fmt.Errorf("ics: %s: want it once", name)
			}
			values[name] = p.Value
		case "RECURRENCE-ID", "RRULE", "RDATE":
			return nil, fmt.Errorf("ics: %s: want a task that does not recur", name)
		}
	}
	e := &Edit{UID: values["UID"], Summary: values["SUMMARY"], On: climate.NoDate}
	if e.UID == "" {
		return nil, errors.New("ics: UID: want one")
	}
	for name, d := range map[string]*climate.Date{"DTSTART": &e.Start, "DUE": &e.Due} {
		if *d, err = dayOf(name, values[name]); err != nil {
			return nil, err
		}
	}
	if err := e.status(values); err != nil {
		return nil, err
	}
	return e, nil
}

// status reads whether, and when, a task was done.
func (e *Edit) status(values map[string]string) error {
	switch s := strings.ToUpper(values["STATUS"]); s {
	case "COMPLETED":
		e.Completed = true
	case "CANCELLED":
		e.Cancelled = true
	case "", "NEEDS-ACTION", "IN-PROCESS":
	default:
		return fmt.Errorf("ics: STATUS %q: want NEEDS-ACTION, IN-PROCESS, COMPLETED or CANCELLED", s)
	}
	if v, ok := values["PERCENT-COMPLETE"]; ok {
		n, err := strconv.Atoi(v)
		if err != nil || n < 0 || n > 100 {
			return fmt.Errorf("ics: PERCENT-COMPLETE %q: want 0 to 100", v)
		}
		e.Completed = e.Completed || n == 100
	}
	v, ok := values["COMPLETED"]
	if !ok {
		return nil
	}
	e.Completed = true
	if at, err := time.Parse(stamp, v); err == nil {
		e.At = at
		return nil
	}
	var err error
	e.On, err = dayOf("COMPLETED", v)
	return err
}

// dayOf reads the day of a DATE or DATE-TIME; NoDate where there is none.
func dayOf(name, v string) (climate.Date, error) {
	if v == "" {
		return climate.NoDate, nil
	}
	for _, layout := range []string{day, "20060102T150405", stamp} {
		if t, err := time.Parse(layout, v); err == nil && t.Year() > 0 {
			return climate.DateOf(t), nil
		}
	}
	return climate.NoDate, fmt.Errorf("ics: %s %q: want a day that exists, such as 20270309", name, v)
}

// sound reports text that is no calendar of one task, whatever its properties say.
func sound(text []byte) error {
	switch {
	case len(text) == 0 || len(text) > LongestObject:
		return fmt.Errorf("ics: %d octets: want 1 to %d", len(text), LongestObject)
	case !utf8.Valid(text):
		return errors.New("ics: want UTF-8")
	}
	if i := bytes.IndexFunc(text, func(r rune) bool { return r < ' ' && r != '\t' && r != '\r' && r != '\n' || r == 0x7F || r == '\uFEFF' }); i >= 0 {
		return fmt.Errorf("ics: control character at octet %d: want text", i+1)
	}
	unfolded := strings.NewReplacer("\r\n ", "", "\r\n\t", "", "\n ", "", "\n\t", "").Replace(string(text))
	var open []string
	tasks, ended := 0, false
	for i, l := range strings.Split(strings.TrimRight(unfolded, "\r\n"), "\n") {
		l = strings.TrimSuffix(l, "\r")
		end := strings.IndexAny(l, ":;")
		if ended || end < 1 || strings.ContainsFunc(l[:end], notOfName) || !strings.Contains(l, ":") || strings.Contains(l, "\r") {
			return fmt.Errorf("ics: line %d: want NAME:VALUE within one VCALENDAR", i+1)
		}
		name, value := strings.ToUpper(l[:end]), strings.ToUpper(l[end+1:])
		switch {
		case name == "BEGIN":
			if len(open) == deepest || (len(open) == 0) != (value == "VCALENDAR") {
				return fmt.Errorf("ics: line %d: BEGIN:%s: want one VCALENDAR with one VTODO", i+1, value)
			}
			open = append(open, value)
			if value == "VTODO" {
				tasks++
			}
			if len(open) == 2 && value != "VTODO" && value != "VTIMEZONE" {
				return fmt.Errorf("ics: line %d: BEGIN:%s: want VTODO and nothing else", i+1, value)
			}
		case len(open) == 0:
			return fmt.Errorf("ics: line %d: want BEGIN:VCALENDAR", i+1)
		case name == "END":
			if open[len(open)-1] != value {
				return fmt.Errorf("ics: line %d: END:%s: want END:%s", i+1, value, open[len(open)-1])
			}
			open = open[:len(open)-1]
			ended = len(open) == 0
		}
	}
	if !ended || tasks != 1 {
		return fmt.Errorf("ics: %d tasks (VTODO), or no END:VCALENDAR: want one task and the end", tasks)
	}
	return nil
}

func notOfName(r rune) bool {
	return (r < 'A' || r > 'Z') && (r < 'a' || r > 'z') && (r < '0' || r > '9') && r != '-'
}
