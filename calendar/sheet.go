package calendar

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"unicode/utf8"

	"budswell/climate"
)

// MostRows is how many trees a sheet may hold.
const MostRows = 1000

// Sheet is a table of trees, one a row, as programs for tables write it (CSV, RFC 4180): the
// first row names the columns, which are those of [DraftFields] in any order and letter case. Between
// the columns stand commas, semicolons or tabs.
type Sheet struct {
	Rows   []SheetRow
	Faults []SheetFault // with the sheet as a whole; then there are no rows
	header []string
	comma  rune
}

// SheetRow is a row, with the tree that it tells of or what is wrong with it.
type SheetRow struct {
	Line   int // of the file, from 1
	Draft  Draft
	Tree   *Tree // nil where there are faults
	Faults []DraftFault

	fields []string
}

// SheetFault is what is wrong with a sheet as a whole.
type SheetFault struct {
	Line int
	Want string
}

// ReadSheet reads trees that are to stand at a place, beside others that are kept already. A row
// with a fault keeps none of the others from being read.
func ReadSheet(text string, l *Lore, at *Place, others []Kept, today climate.Date) *Sheet {
	s := &Sheet{}
	text = strings.TrimPrefix(text, "\ufeff")
	if !utf8.ValidString(text) || strings.ContainsRune(text, 0) {
		return s.no(1, "want text in UTF-8; programs for tables offer it when a file is saved as CSV")
	}
	first, _, _ := strings.Cut(strings.TrimLeft(text, "\r\n"), "\n")
	s.comma = ','
	for _, c := range ";\t" {
		if strings.Count(first, string(c)) > strings.Count(first, string(s.comma)) {
			s.comma = c
		}
	}
	r := csv.NewReader(strings.NewReader(text))
	r.Comma, r.FieldsPerRecord, r.TrimLeadingSpace = s.comma, -1, s.comma != '\t'
	columns, err := s.columns(r)
	if err != nil {
		return s
	}
	kept := slices.Clone(others)
	for {
		fields, err := r.Read()
		if errors.Is(err, io.EOF) {
			break
		}
		if p, ok := errors.AsType[*csv.ParseError](err); ok {
			return s.no(p.StartLine, "a quotation mark is not closed, or stands within a field; want \"\" for one within quotes")
		}
		if !slices.ContainsFunc(fields, func(f string) bool { return strings.TrimSpace(f) != "" }) {
			continue
		}
		if len(s.Rows) == MostRows {
			return s.no(0, fmt.Sprintf("want %d trees at most; send the rest as another sheet", MostRows))
		}
		line, _ := r.FieldPos(0)
		row := SheetRow{Line: line, fields: fields}
		for i, v := range fields {
			if i < len(columns) {
				*columns[i].Of(&row.Draft) = strings.TrimSpace(v)
			} else if strings.TrimSpace(v) != "" {
				row.Faults = append(row.Faults, DraftFault{"", v, fmt.Sprintf("want %d columns as in the first row; a field that holds the sign between columns stands in quotes", len(columns))})
				break
			}
		}
		var faults []DraftFault
		row.Tree, faults = row.Draft.Tree(l, at, kept, today)
		if row.Faults = append(row.Faults, faults...); len(row.Faults) > 0 {
			row.Tree = nil
		} else {
			kept = append(kept, Kept{Tree: *row.Tree})
		}
		s.Rows = append(s.Rows, row)
	}
	if len(s.Rows) == 0 {
		return s.no(0, "want a row for each tree below the names of the columns")
	}
	return s
}

var errHeader = errors.New("no header")

// columns reads the first row.
func (s *Sheet) columns(r *csv.Reader) ([]DraftField, error) {
	all := DraftFields()
	names := make([]string, len(all))
	for i, f := range all {
		names[i] = f.Name
	}
	header, err := r.Read()
	if err != nil {
		s.no(1, "want a first row that names the columns: "+strings.Join(names, ", "))
		return nil, errHeader
	}
	s.header = header
	var out []DraftField
	for _, h := range header {
		name := strings.ReplaceAll(strings.ReplaceAll(word(h), "-", " "), "_", " ")
		i := slices.Index(names, name)
		switch {
		case i < 0:
			s.no(1, fmt.Sprintf("column %q is not known; want of %s%s", h, strings.Join(names, ", "), meant(nearest(name, names))))
			return nil, errHeader
		case slices.ContainsFunc(out, func(f DraftField) bool { return f.Name == name }):
			s.no(1, fmt.Sprintf("column %q stands there twice", h))
			return nil, errHeader
		}
		out = append(out, all[i])
	}
	for _, name := range []string{"name", "species", "origin"} {
		if !slices.ContainsFunc(out, func(f DraftField) bool { return f.Name == name }) {
			s.no(1, fmt.Sprintf("column %q is missing; want name, species and origin at least", name))
			return nil, errHeader
		}
	}
	return out, nil
}

func (s *Sheet) no(line int, want string) *Sheet {
	s.Rows, s.Faults = nil, append(s.Faults, SheetFault{line, want})
	return s
}

// Trees returns those that nothing is wrong with.
func (s *Sheet) Trees() []Tree {
	var out []Tree
	for i := range s.Rows {
		if t := s.Rows[i].Tree; t != nil {
			out = append(out, *t)
		}
	}
	return out
}

// Bad returns the rows that something is wrong with, as a sheet of their own; empty where all are good.
func (s *Sheet) Bad() string {
	var b strings.Builder
	w := csv.NewWriter(&b)
	w.Comma = s.comma
	for i := range s.Rows {
		if s.Rows[i].Tree != nil {
			continue
		}
		if b.Len() == 0 {
			_ = w.Write(s.header) // to memory
		}
		_ = w.Write(s.Rows[i].fields)
		w.Flush()
	}
	return b.String()
}
