// Package webspace puts a set of files into a folder that any web server may serve, so
// that whoever reads it meanwhile finds each file as it was or as it is, and never half of one.
//
// Beside the folder, not in it, stands another, .NAME.budswell, with what is needed for
// that: a lock, which keeps a second run out and ends with the process that holds it; the files
// about to be put; and a list of those that were, by which nothing else is ever
// changed or deleted.
package webspace

import (
	"cmp"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strings"
)

// File is one file of a set.
type File struct {
	Path  string // below the folder, with slashes
	Bytes []byte
}

// Outcome says what was done.
type Outcome struct{ New, Changed, Same, Gone int }

// Errors that [Open] and [Space.Put] wrap.
var (
	ErrBusy    = errors.New("another run is putting files there")
	ErrForeign = errors.New("was not put there by this program")
)

// Space is a folder that is held for putting files into it.
type Space struct {
	dir, beside string // both below root
	root        *os.Root
	lock        *os.File
}

const (
	listName = "list.json"
	lockName = "lock"
	newName  = "new"
)

// step is told what comes next; tests end the process there.
var step = func(string) {}

// Open holds a folder, which is made where it is not there. It is [ErrBusy] while
// another process does.
func Open(dir string) (*Space, error) {
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return nil, fmt.Errorf("publish: %w", err)
	}
	dir, err := filepath.Abs(dir)
	if err == nil {
		dir, err = filepath.EvalSymlinks(dir)
	}
	if err != nil {
		return nil, fmt.Errorf("publish: %w", err)
	}
	name := filepath.Base(dir)
	if filepath.Dir(dir) == dir {
		return nil, fmt.Errorf("publish: %s: want a folder that has another around it", dir)
	}
	root, err := os.OpenRoot(filepath.Dir(dir))
	if err != nil {
		return nil, fmt.Errorf("publish: %w", err)
	}
	s := &Space{dir: name, beside: "." + name + ".budswell", root: root}
	if err = root.MkdirAll(s.beside, 0o700); err == nil {
		s.lock, err = lock(filepath.Join(filepath.Dir(dir), s.beside, lockName))
	}
	if err != nil {
		return nil, errors.Join(fmt.Errorf("publish: %s: %w", dir, err), root.Close())
	}
	return s, nil
}

// Beside returns the path of a file in the folder beside, where what is to be remembered
// from run to run may be kept.
func (s *Space) Beside(name string) string { return filepath.Join(s.root.Name(), s.beside, name) }

// Close lets the folder go.
func (s *Space) Close() error { return errors.Join(s.lock.Close(), s.root.Close()) }

// list is what was put: by path, the digests of what may stand there. There are two while
// a run is under way, or after one was cut off.
type list map[string][]string

// Put makes the set of files that this program put into the folder the given ones: those
// that differ are replaced one by one, each at once; then those that are no more in the set go. Files that
// others name, such as style sheets, are to come first. Where a file of that name is there that
// this program did not put, nothing is done at all, and the error is [ErrForeign]; one to
// be deleted that was changed by somebody meanwhile is left.
func (s *Space) Put(files []File) (Outcome, error) {
	var out Outcome
	was, err := s.read()
	if err != nil {
		return out, err
	}
	if err := s.check(files, was); err != nil {
		return out, err
	}
	step("stage")
	changed, err := s.stage(files)
	if err != nil {
		return out, err
	}
	// Before the first is put: should this run be cut off, the next knows its files.
	both := list{}
	maps.Copy(both, was)
	now := list{}
	for _, f := range files {
		d := digest(f.Bytes)
		now[f.Path] = []string{d}
		if !slices.Contains(both[f.Path], d) {
			both[f.Path] = append(slices.Clone(both[f.Path]), d)
		}
	}
	if err := s.write(both); err != nil {
		return out, err
	}
	for _, f := range files {
		if !changed[f.Path] {
			out.Same++
			continue
		}
		step("put " + f.Path)
		if err := s.put(f.Path); err != nil {
			return out, err
		}
		if len(was[f.Path]) > 0 {
			out.Changed++
		} else {
			out.New++
		}
	}
	for _, p := range slices.Sorted(maps.Keys(was)) {
		if len(now[p]) > 0 {
			continue
		}
		step("delete " + p)
		if err := s.delete(p, was[p]); err != nil {
			return out, err
		}
		out.Gone++
	}
	step("list")
	return out, errors.Join(s.write(now), s.root.RemoveAll(path.Join(s.beside, newName)))
}

// check refuses what would touch what is not this program's, before anything is done.
func (s *Space) check(files []File, was list) error {
	seen := map[string]bool{}
	for _, f := range files {
		if !filepath.IsLocal(filepath.FromSlash(f.Path)) || path.Clean(f.Path) != f.Path || strings.HasPrefix(path.Base(f.Path), ".") {
			return fmt.Errorf("publish: %q: want a path below the folder", f.Path)
		}
		if seen[f.Path] {
			return fmt.Errorf("publish: %s: is there twice", f.Path)
		}
		seen[f.Path] = true
		if err := s.noLinks(f.Path); err != nil {
			return err
		}
		if len(was[f.Path]) > 0 {
			continue
		}
		have, err := s.root.ReadFile(s.in(f.Path))
		switch {
		case errors.Is(err, fs.ErrNotExist):
		case err != nil:
			return fmt.Errorf("publish: %w", err)
		case digest(have) != digest(f.Bytes):
			return fmt.Errorf("publish: %s: %w: move it away, or name another folder; nothing was changed", filepath.Join(s.root.Name(), s.dir, filepath.FromSlash(f.Path)), ErrForeign)
		}
	}
	return nil
}

// noLinks refuses a path on which a folder is a link: it may lead to what others serve from
// beside the folder.
func (s *Space) noLinks(p string) error {
	for d := path.Dir(p); d != "."; d = path.Dir(d) {
		if i, err := s.root.Lstat(s.in(d)); err == nil && i.Mode()&fs.ModeSymlink != 0 {
			return fmt.Errorf("publish: %s: is a link, and %w: want a folder, or none; nothing was changed", filepath.Join(s.root.Name(), s.dir, filepath.FromSlash(d)), ErrForeign)
		}
	}
	return nil
}

// stage writes the files that differ from those there into the folder beside.
func (s *Space) stage(files []File) (changed map[string]bool, err error) {
	fresh := path.Join(s.beside, newName)
	if err := s.root.RemoveAll(fresh); err != nil {
		return nil, fmt.Errorf("publish: %w", err)
	}
	changed = map[string]bool{}
	for _, f := range files {
		if have, err := s.root.ReadFile(s.in(f.Path)); err == nil && digest(have) == digest(f.Bytes) {
			continue
		}
		changed[f.Path] = true
		at := path.Join(fresh, f.Path)
		if err := s.root.MkdirAll(path.Dir(at), 0o755); err != nil {
			return nil, fmt.Errorf("publish: %w", err)
		}
		if err := s.save(at, f.Bytes, 0o644); err != nil {
			return nil, err
		}
	}
	return changed, nil
}

// save writes a file, and waits until it is on the disk.
func (s *Space) save(at string, content []byte, mode fs.FileMode) error {
	f, err := s.root.OpenFile(at, os.O_CREATE|os.O_EXCL|os.O_WRONLY, mode)
	if err != nil {
		return fmt.Errorf("publish: %w", err)
	}
	_, err = f.Write(content)
	if err = errors.Join(err, f.Sync(), f.Close()); err != nil {
		return fmt.Errorf("publish: %w", err)
	}
	return nil
}

// put moves a staged file to where it is served from.
func (s *Space) put(p string) error {
	if err := s.root.MkdirAll(path.Dir(s.in(p)), 0o755); err != nil {
		return fmt.Errorf("publish: %w", err)
	}
	if err := s.root.Rename(path.Join(s.beside, newName, p), s.in(p)); err != nil {
		return fmt.Errorf("publish: %w (is the folder a file system of its own? Name one below it)", err)
	}
	return nil
}

// delete takes a file away, if it is what was put, and folders that are then empty.
func (s *Space) delete(p string, digests []string) error {
	have, err := s.root.ReadFile(s.in(p))
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if err != nil {
		return fmt.Errorf("publish: %w", err)
	}
	if !slices.Contains(digests, digest(have)) {
		return nil // somebody's own by now
	}
	if err := s.root.Remove(s.in(p)); err != nil {
		return fmt.Errorf("publish: %w", err)
	}
	for d := path.Dir(p); d != "." && s.root.Remove(s.in(d)) == nil; d = path.Dir(d) {
		// until there is something in one
	}
	return nil
}

func (s *Space) in(p string) string { return path.Join(s.dir, p) }

// read returns the list of what was put.
func (s *Space) read() (list, error) {
	text, err := s.root.ReadFile(path.Join(s.beside, listName))
	if errors.Is(err, fs.ErrNotExist) {
		return list{}, nil
	}
	if err != nil {
		return nil, fmt.Errorf("publish: %w", err)
	}
	return readList(s.Beside(listName), text)
}

// readList reads a list; name is what errors call it. A path that leads elsewhere makes it none.
func readList(name string, text []byte) (list, error) {
	var out list
	err := json.Unmarshal(text, &out)
	if err != nil {
		return nil, fmt.Errorf("publish: %s: %w: it lists the files that were put; delete it and them to begin anew", name, err)
	}
	for p, digests := range out {
		if !filepath.IsLocal(filepath.FromSlash(p)) || path.Clean(p) != p || len(digests) == 0 {
			return nil, fmt.Errorf("publish: %s: %q: want paths below the folder; delete the list and the files that were put to begin anew", name, p)
		}
	}
	return out, nil
}

// write replaces the list at once.
func (s *Space) write(l list) error {
	text, err := json.MarshalIndent(l, "", " ")
	if err != nil {
		return fmt.Errorf("publish: %w", err)
	}
	next := path.Join(s.beside, listName+".new")
	err = s.root.Remove(next)
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return fmt.Errorf("publish: %w", err)
	}
	if err := s.save(next, append(text, '\n'), 0o600); err != nil {
		return err
	}
	step("rename list")
	if err := s.root.Rename(next, path.Join(s.beside, listName)); err != nil {
		return fmt.Errorf("publish: %w", err)
	}
	return nil
}

func digest(b []byte) string {
	h := sha256.Sum256(b)
	return hex.EncodeToString(h[:])
}

// Sort puts files into the order in which they are to be put: what others need first.
func Sort(files []File) {
	first := func(f File) int {
		if strings.HasPrefix(f.Path, "static/") {
			return 0
		}
		return 1
	}
	slices.SortFunc(files, func(a, b File) int { return cmp.Or(cmp.Compare(first(a), first(b)), cmp.Compare(a.Path, b.Path)) })
}
