package source

import (
	"bytes"
	"errors"
	"strings"
	"testing"

	"budswell/climate"

	"github.com/google/go-cmp/cmp"
)

// check asserts what is true of everything that a reader accepts, and that an
// error names its file.
func check(t *testing.T, r *climate.Record, err error) {
	t.Helper()
	if err != nil {
		if e := (*Error)(nil); !errors.As(err, &e) || e.File != "fuzz" || e.Want == "" {
			t.Fatalf("error %#v does not say where and what is wanted", err)
		}
		return
	}
	temperatures := 0
	for i, d := range r.Days {
		at := r.First + climate.Date(i)
		for _, o := range []climate.Origin{d.TminOrigin, d.TmaxOrigin, d.PrcpOrigin} {
			if o != climate.Measured && o != climate.Missing {
				t.Fatalf("%v: origin %v of a value that was read", at, o)
			}
		}
		if d.TminOrigin == climate.Measured {
			temperatures++
			if !(d.Tmin >= -90 && d.Tmin <= 60) {
				t.Fatalf("%v: minimum %v", at, d.Tmin)
			}
		}
		if d.TmaxOrigin == climate.Measured {
			temperatures++
			if !(d.Tmax >= -90 && d.Tmax <= 60) {
				t.Fatalf("%v: maximum %v", at, d.Tmax)
			}
		}
		if d.TminOrigin == climate.Measured && d.TmaxOrigin == climate.Measured && d.Tmin > d.Tmax {
			t.Fatalf("%v: minimum %v above maximum %v", at, d.Tmin, d.Tmax)
		}
		if d.PrcpOrigin == climate.Measured && !(d.Prcp >= 0 && d.Prcp <= 2000) {
			t.Fatalf("%v: precipitation %v", at, d.Prcp)
		}
	}
	if len(r.Days) == 0 || len(r.Days) > 301*366 {
		t.Fatalf("a record of %d days", len(r.Days))
	}
	again := func() *climate.Record {
		var b bytes.Buffer
		if err := WriteCSV(&b, r); err != nil {
			t.Fatal(err)
		}
		r, err := Read("fuzz", &b)
		if err != nil {
			t.Fatalf("what was written cannot be read: %v", err)
		}
		return r
	}
	if hasMinimum(r) && median(r) {
		if d := cmp.Diff(r.Days, again().Days); d != "" {
			t.Fatal(d)
		}
	}
}

// hasMinimum and median tell of records that a plain CSV would refuse as a
// whole, though their station file was read.
func hasMinimum(r *climate.Record) bool {
	for _, d := range r.Days {
		if d.TminOrigin == climate.Measured {
			return true
		}
	}
	return false
}

func median(r *climate.Record) bool {
	b := newDays("", ghcnNames)
	for i, d := range r.Days {
		if d.TminOrigin == climate.Measured {
			_ = b.add(r.First+climate.Date(i), 1, tmin, d.Tmin, "", "")
		}
		if d.TmaxOrigin == climate.Measured {
			_ = b.add(r.First+climate.Date(i), 1, tmax, d.Tmax, "", "")
		}
	}
	lo, _ := b.median(tmin)
	hi, n := b.median(tmax)
	return lo <= 35 && (n == 0 || hi <= 45)
}

func FuzzPlain(f *testing.F) {
	for name, text := range sameDays {
		if strings.HasSuffix(name, ".csv") {
			f.Add([]byte(text), false)
		}
	}
	f.Add([]byte("date\ttmin\ttmax\n2001-01-01\t1e1\t+12\n"), true)
	f.Fuzz(func(t *testing.T, data []byte, fahrenheit bool) {
		r, err := readPlain("fuzz", data, options{fahrenheit})
		check(t, r, err)
	})
}

func FuzzAccess(f *testing.F) {
	f.Add([]byte(sameDays["access.csv"]))
	f.Fuzz(func(t *testing.T, data []byte) {
		r, err := readAccess("fuzz", data)
		check(t, r, err)
	})
}

func FuzzLong(f *testing.F) {
	f.Add([]byte(sameDays["long.csv"]))
	f.Fuzz(func(t *testing.T, data []byte) {
		r, err := readLong("fuzz", data)
		check(t, r, err)
	})
}

func FuzzDly(f *testing.F) {
	f.Add([]byte(sameDays["station.dly"]))
	f.Fuzz(func(t *testing.T, data []byte) {
		r, err := readDly("fuzz", data)
		check(t, r, err)
	})
}

func FuzzRead(f *testing.F) {
	for _, text := range sameDays {
		f.Add([]byte(text))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		r, err := Read("fuzz", bytes.NewReader(data))
		check(t, r, err)
	})
}
