package source

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"budswell/climate"
)

// Folder reads a file of daily weather, or all such files of a folder, again when
// something about them changes: what a grower's own weather station writes. Of a
// day that several files have, the values of the file changed last are taken.
type Folder struct{ Path string }

const (
	maxFiles  = 1000
	maxFolder = 256 << 20 // bytes of all files
)

// Credit implements [climate.Provider].
func (f *Folder) Credit() (words, address string) {
	return "Own readings, " + filepath.Base(f.Path), ""
}

// Pause implements [climate.Provider].
func (*Folder) Pause() time.Duration { return 0 }

// Back implements [climate.Provider].
func (*Folder) Back() int { return 0 }

// Fetch implements [climate.Provider]. Files that look as they did, and those that were
// written again with what was in them, change nothing.
func (f *Folder) Fetch(ctx context.Context, a climate.Ask) (*climate.Answer, error) {
	files, err := f.files()
	if err != nil {
		return nil, err
	}
	looks := sha256.New()
	size := int64(0)
	for _, file := range files {
		fmt.Fprintf(looks, "%q %d %d\n", file.path, file.info.Size(), file.info.ModTime().UnixNano())
		if size += file.info.Size(); size > maxFolder {
			return nil, &Error{File: f.Path, Want: fmt.Sprintf("files of %d MB together at most", maxFolder>>20)}
		}
	}
	look := hex.EncodeToString(looks.Sum(nil)[:16])
	seen, held, _ := strings.Cut(a.Was.Digest, " ")
	if look == seen {
		return &climate.Answer{Unchanged: true, Whole: true, Memory: a.Was}, nil
	}
	holds := sha256.New()
	days := map[climate.Date]climate.Reading{}
	out := &climate.Answer{Whole: true}
	for _, file := range files {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		record, err := file.read(holds)
		if err != nil {
			return nil, err
		}
		for _, note := range record.Notes {
			out.Notes = append(out.Notes, record.Source+": "+note)
		}
		for _, r := range climate.SeriesOf(record, climate.OwnReading, a.Now).Readings {
			days[r.On] = over(days[r.On], r)
		}
	}
	hold := hex.EncodeToString(holds.Sum(nil)[:16])
	out.Memory.Digest = look + " " + hold
	if out.Unchanged = hold == held; out.Unchanged {
		return out, nil
	}
	s := climate.Series{Source: filepath.Base(f.Path), Kind: climate.OwnReading}
	for _, r := range days {
		if r.Tmin > r.Tmax {
			return nil, &Error{File: f.Path, Field: r.On.String(), Value: fmt.Sprint(r.Tmin), Want: fmt.Sprintf("a minimum that is not above the maximum of another file, %v", r.Tmax)}
		}
		s.Readings = append(s.Readings, r)
	}
	slices.SortFunc(s.Readings, func(a, b climate.Reading) int { return int(a.On - b.On) })
	out.Series = []climate.Series{s}
	return out, nil
}

// over lays what r has over a reading, which may be none.
func over(under, r climate.Reading) climate.Reading {
	if under.Got.IsZero() {
		return r
	}
	for _, v := range []struct{ to, from *float64 }{{&r.Tmin, &under.Tmin}, {&r.Tmax, &under.Tmax}, {&r.Prcp, &under.Prcp}} {
		if math.IsNaN(*v.to) {
			*v.to = *v.from
		}
	}
	return r
}

type folderFile struct {
	path string
	info os.FileInfo
}

// files lists the files to be read, those changed last at the end. Links are not followed
// in a folder, so that it does not lead elsewhere.
func (f *Folder) files() ([]folderFile, error) {
	info, err := os.Stat(f.Path)
	switch {
	case err != nil:
		return nil, err
	case info.Mode().IsRegular():
		return []folderFile{{f.Path, info}}, nil
	case !info.IsDir():
		return nil, &Error{File: f.Path, Want: "a file or a folder"}
	}
	entries, err := os.ReadDir(f.Path)
	if err != nil {
		return nil, err
	}
	var out []folderFile
	for _, e := range entries {
		ext := strings.ToLower(filepath.Ext(e.Name()))
		if strings.HasPrefix(e.Name(), ".") || !e.Type().IsRegular() || !slices.Contains([]string{".csv", ".txt", ".dly"}, ext) {
			continue
		}
		info, err := e.Info()
		if os.IsNotExist(err) {
			continue // gone meanwhile
		}
		if err != nil {
			return nil, err
		}
		out = append(out, folderFile{filepath.Join(f.Path, e.Name()), info})
	}
	if len(out) == 0 || len(out) > maxFiles {
		return nil, &Error{File: f.Path, Want: fmt.Sprintf("1 to %d files of daily weather, .csv, .txt or .dly; there are %d", maxFiles, len(out))}
	}
	slices.SortStableFunc(out, func(a, b folderFile) int { return a.info.ModTime().Compare(b.info.ModTime()) })
	return out, nil
}

// read reads one file, and adds what it holds to a digest.
func (f folderFile) read(digest io.Writer) (*climate.Record, error) {
	file, err := os.Open(f.path)
	if err != nil {
		return nil, err
	}
	defer file.Close()
	fmt.Fprintf(digest, "%q\n", f.path)
	return Read(filepath.Base(f.path), io.TeeReader(file, digest))
}
