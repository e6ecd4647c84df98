package store

import (
	"database/sql"
	"encoding/json"
	"fmt"
	"time"

	"budswell/calendar"
	"budswell/climate"
)

// layout is RFC 3339 with all nine digits, so that text sorts as time does.
const layout = "2006-01-02T15:04:05.000000000Z07:00"

// instant writes a time; the zero time is null.
func instant(t time.Time) any {
	if t.IsZero() {
		return nil
	}
	return t.UTC().Format(layout)
}

// timeOf reads what instant wrote.
type timeOf struct{ t *time.Time }

func (v timeOf) Scan(src any) error {
	var s sql.NullString
	if err := s.Scan(src); err != nil || !s.Valid {
		*v.t = time.Time{}
		return err
	}
	t, err := time.Parse(layout, s.String)
	*v.t = t
	return err
}

// day writes a date that must be one.
func day(d climate.Date) (string, error) {
	s := d.String()
	if _, err := climate.ParseDate(s); err != nil {
		return "", fmt.Errorf("%w: %w", err, calendar.ErrInvalid)
	}
	return s, nil
}

// dayOf reads what day wrote.
type dayOf struct{ d *climate.Date }

func (v dayOf) Scan(src any) (err error) {
	var s sql.NullString
	if err := s.Scan(src); err != nil {
		return err
	}
	*v.d, err = climate.ParseDate(s.String)
	return err
}

// optional writes an empty text as null, for columns that must be unique where
// they are given.
func optional(s string) any {
	if s == "" {
		return nil
	}
	return s
}

// textOf reads a text that may be null.
type textOf struct{ s *string }

func (v textOf) Scan(src any) error {
	var s sql.NullString
	err := s.Scan(src)
	*v.s = s.String
	return err
}

// asJSON writes a value as JSON text.
func asJSON(v any) (string, error) {
	b, err := json.Marshal(v)
	if err != nil {
		return "", fmt.Errorf("%w: %w", err, calendar.ErrInvalid)
	}
	return string(b), nil
}

// jsonOf reads JSON text; null leaves the value alone.
type jsonOf struct{ v any }

func (v jsonOf) Scan(src any) error {
	var s sql.NullString
	if err := s.Scan(src); err != nil || !s.Valid {
		return err
	}
	return json.Unmarshal([]byte(s.String), v.v)
}
