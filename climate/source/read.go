// Package source reads daily weather from files into [climate.Record]: plain CSV
// and the three forms in which NOAA publishes GHCN-Daily. What is out of range,
// contradictory or cut off is an error that names file, line, field and value;
// what a station's own quality control has refused is left out and counted in
// the record's notes.
//
// Its [climate.Provider] are [OpenMeteo], [METNorway], a [Station] on the web, and a
// [Folder].
package source

import (
	"bytes"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"budswell/climate"
)

// MaxSize is the size of the largest file that is read, in bytes. The longest
// station files of GHCN-Daily have some 20 million.
const MaxSize = 64 << 20

// Error says what is wrong with one value of a file.
type Error struct {
	File  string
	Line  int    // from 1; 0 for the file as a whole
	Field string // as the file calls it; empty for the whole line
	Value string // as it stands in the file
	Want  string // what would be right
}

func (e *Error) Error() string {
	var b strings.Builder
	b.WriteString(e.File)
	if e.Line > 0 {
		fmt.Fprintf(&b, ":%d", e.Line)
	}
	if e.Field != "" {
		fmt.Fprintf(&b, ": %s", e.Field)
	}
	if e.Value != "" {
		const most = 60
		v := e.Value
		if len(v) > most {
			v = v[:most] + "..."
		}
		fmt.Fprintf(&b, " %q", v)
	}
	return b.String() + ": want " + e.Want
}

// Option changes how a file is read.
type Option func(*options)

type options struct{ fahrenheit bool }

// InFahrenheit reads the temperatures of a plain CSV whose header does not
// state their unit as degrees Fahrenheit instead of Celsius.
func InFahrenheit() Option { return func(o *options) { o.fahrenheit = true } }

// ReadFile reads the file at path; see [Read].
func ReadFile(path string, opts ...Option) (*climate.Record, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	return Read(filepath.Base(path), f, opts...)
}

// Read reads weather in whichever of the known forms it is: a GHCN-Daily .dly
// file, GHCN-Daily station CSV with one line a day or one line a value, or a
// plain CSV with a header. name stands in errors and becomes the record's source.
func Read(name string, r io.Reader, opts ...Option) (*climate.Record, error) {
	data, err := io.ReadAll(io.LimitReader(r, MaxSize+1))
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	if len(data) > MaxSize {
		return nil, &Error{File: name, Want: fmt.Sprintf("a station file of %d MB at most", MaxSize>>20)}
	}
	if i := bytes.IndexByte(data, 0); i >= 0 {
		return nil, &Error{File: name, Line: 1 + bytes.Count(data[:i], []byte{'\n'}), Value: "\x00", Want: "a text file without NUL bytes"}
	}
	data = bytes.TrimPrefix(data, []byte("\ufeff"))
	var o options
	for _, opt := range opts {
		opt(&o)
	}
	first, _, _ := bytes.Cut(data, []byte{'\n'})
	line := strings.TrimRight(string(first), "\r")
	switch {
	case strings.TrimSpace(line) == "":
		return nil, &Error{File: name, Line: 1, Want: "a header such as date,tmin,tmax,prcp, or a GHCN-Daily station file"}
	case isDly(line):
		return readDly(name, data)
	case isLong(line):
		return readLong(name, data)
	case isAccess(line):
		return readAccess(name, data)
	}
	return readPlain(name, data, o)
}
