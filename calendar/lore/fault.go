package lore

import (
	"fmt"
	"slices"
	"sort"
	"strings"

	"budswell/calendar"
)

// Fault is one thing that is wrong in a file of lore.
type Fault struct {
	File         string
	Line, Column int    // counted from 1
	Field        string // such as "rule repot-maple: opens.at"; empty for the file as a whole
	Value        string // as written; empty where there is none
	Wrong        string // what is wrong, and what would be right
}

// Error returns file:line:column: field: value: what is wrong.
func (f Fault) Error() string {
	var b strings.Builder
	fmt.Fprintf(&b, "%s:%d:%d: ", f.File, f.Line, f.Column)
	if f.Field != "" {
		b.WriteString(f.Field + ": ")
	}
	if f.Value != "" {
		fmt.Fprintf(&b, "%q: ", f.Value)
	}
	b.WriteString(f.Wrong)
	return b.String()
}

// Faults are all things that are wrong in the files that were read, in their
// order; as an error it is a [calendar.ErrInvalid].
type Faults []Fault

// Error returns one fault a line.
func (f Faults) Error() string {
	lines := make([]string, len(f))
	for i := range f {
		lines[i] = f[i].Error()
	}
	return strings.Join(lines, "\n")
}

// Unwrap makes faults an ErrInvalid.
func (f Faults) Unwrap() error { return calendar.ErrInvalid }

// spot is where a value stands in a file. The spot of a field that is not given
// is that of the value around it.
type spot struct {
	file         string
	line, column int
	field        string
	value        string // of scalars, as written
	wrong        bool   // the value is not of the kind that it must be, and was told so

	fields map[string]*spot
	items  []*spot
}

// at returns the spot of a field of s.
func (s *spot) at(field string) *spot {
	if f, ok := s.fields[field]; ok {
		return f
	}
	return &spot{file: s.file, line: s.line, column: s.column, field: join(s.field, field)}
}

// item returns the spot of the i-th item of s.
func (s *spot) item(i int) *spot {
	if i < len(s.items) {
		return s.items[i]
	}
	return s
}

// broken reports whether s or a value in it is wrong.
func (s *spot) broken() bool {
	if s.wrong || slices.ContainsFunc(s.items, (*spot).broken) {
		return true
	}
	for _, f := range s.fields {
		if f.broken() {
			return true
		}
	}
	return false
}

// has reports whether a field of s is given.
func (s *spot) has(field string) bool {
	_, ok := s.fields[field]
	return ok
}

func (s *spot) String() string { return fmt.Sprintf("%s:%d:%d", s.file, s.line, s.column) }

// join appends a field to the name of the value around it.
func join(outer, field string) string {
	switch {
	case outer == "":
		return field
	case strings.HasSuffix(outer, ":"):
		return outer + " " + field
	}
	return outer + "." + field
}

// faultList collects faults.
type faultList struct{ all Faults }

// add notes a fault, unless one of the value's kind was told there already.
func (l *faultList) add(s *spot, format string, args ...any) {
	if s.wrong {
		return
	}
	l.all = append(l.all, Fault{
		File: s.file, Line: s.line, Column: s.column, Field: strings.TrimSuffix(s.field, ":"), Value: s.value,
		Wrong: fmt.Sprintf(format, args...),
	})
}

// err returns the faults sorted by the order of files, then by position, or nil
// where there are none.
func (l *faultList) err(files []string) error {
	if len(l.all) == 0 {
		return nil
	}
	order := map[string]int{}
	for i, f := range files {
		order[f] = i
	}
	sort.SliceStable(l.all, func(i, j int) bool {
		a, b := l.all[i], l.all[j]
		switch {
		case a.File != b.File:
			return order[a.File] < order[b.File]
		case a.Line != b.Line:
			return a.Line < b.Line
		}
		return a.Column < b.Column
	})
	return l.all
}
