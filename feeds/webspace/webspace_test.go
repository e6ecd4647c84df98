package webspace

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

func put(t *testing.T, dir string, files ...File) (Outcome, error) {
	t.Helper()
	s, err := Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	out, err := s.Put(files)
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	return out, err
}

func file(p, content string) File { return File{Path: p, Bytes: []byte(content)} }

// tree returns all files of a folder.
func tree(t *testing.T, dir string) map[string]string {
	t.Helper()
	out := map[string]string{}
	err := filepath.WalkDir(dir, func(p string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		b, err := os.ReadFile(p)
		rel, _ := filepath.Rel(dir, p)
		out[filepath.ToSlash(rel)] = string(b)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return out
}

func same(t *testing.T, dir string, want map[string]string) {
	t.Helper()
	if got := tree(t, dir); fmt.Sprint(got) != fmt.Sprint(want) {
		t.Errorf("in the folder:\n%v\nwant\n%v", got, want)
	}
}

func TestPutReplacesItsOwnAndNothingElse(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "web")
	if err := os.MkdirAll(filepath.Join(dir, "r"), 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(dir, "r", "mine.txt"), []byte("mine"), 0o644); err != nil {
		t.Fatal(err)
	}
	out, err := put(t, dir, file("static/a.css", "css"), file("r/x/index.html", "one"), file("r/y/index.html", "two"))
	if err != nil || out != (Outcome{New: 3}) {
		t.Fatalf("%+v, %v", out, err)
	}
	out, err = put(t, dir, file("static/a.css", "css"), file("r/x/index.html", "changed"))
	if err != nil || out != (Outcome{Changed: 1, Same: 1, Gone: 1}) {
		t.Fatalf("%+v, %v", out, err)
	}
	same(t, dir, map[string]string{"r/mine.txt": "mine", "r/x/index.html": "changed", "static/a.css": "css"})
	if _, err := os.Stat(filepath.Join(dir, "r", "y")); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("a folder that is empty now stays: %v", err)
	}

	// What somebody changed by hand is replaced where it is in the set, and left where it is not.
	for _, p := range []string{"r/x/index.html", "static/a.css"} {
		if err := os.WriteFile(filepath.Join(dir, filepath.FromSlash(p)), []byte("by hand"), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	if _, err = put(t, dir, file("static/a.css", "css")); err != nil {
		t.Fatal(err)
	}
	same(t, dir, map[string]string{"r/mine.txt": "mine", "r/x/index.html": "by hand", "static/a.css": "css"})
}

func TestPutRefuses(t *testing.T) {
	for name, files := range map[string][]File{
		"a file of somebody": {file("a.txt", "new"), file("mine.txt", "other")},
		"a path out of it":   {file("a.txt", "new"), file("../x", "y")},
		"an absolute path":   {file("a.txt", "new"), file("/x", "y")},
		"a path twice":       {file("a.txt", "new"), file("a.txt", "y")},
		"a hidden file":      {file("a.txt", "new"), file(".htaccess", "y")},
		"a link out of it":   {file("a.txt", "new"), file("out/x", "y")},
		"a link beside it":   {file("a.txt", "new"), file("by/x", "y")},
		"a link deeper down": {file("a.txt", "new"), file("by/far/x", "y")},
	} {
		t.Run(name, func(t *testing.T) {
			around := t.TempDir()
			dir := filepath.Join(around, "web")
			if err := os.MkdirAll(dir, 0o755); err != nil {
				t.Fatal(err)
			}
			if err := os.WriteFile(filepath.Join(dir, "mine.txt"), []byte("mine"), 0o644); err != nil {
				t.Fatal(err)
			}
			if err := os.Symlink(t.TempDir(), filepath.Join(dir, "out")); err != nil {
				t.Fatal(err)
			}
			beside := filepath.Join(around, "beside")
			if err := errors.Join(os.MkdirAll(filepath.Join(beside, "far"), 0o755), os.Symlink(filepath.Join("..", "beside"), filepath.Join(dir, "by"))); err != nil {
				t.Fatal(err)
			}
			if _, err := put(t, dir, files...); err == nil {
				t.Error("taken")
			}
			same(t, beside, map[string]string{})
			if _, err := os.Stat(filepath.Join(dir, "a.txt")); !errors.Is(err, fs.ErrNotExist) {
				t.Errorf("half of it was done: %v", err)
			}
		})
	}
	// A file that is there with the same bytes is taken as its own, as after the folder
	// beside was lost.
	dir := filepath.Join(t.TempDir(), "web")
	if _, err := put(t, dir, file("a.txt", "a")); err != nil {
		t.Fatal(err)
	}
	if err := os.RemoveAll(filepath.Join(filepath.Dir(dir), ".web.budswell")); err != nil {
		t.Fatal(err)
	}
	if out, err := put(t, dir, file("a.txt", "a")); err != nil || out.Same != 1 {
		t.Errorf("%+v, %v", out, err)
	}
}

func TestTwoRunsAtOnce(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "web")
	s, err := Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := Open(dir); !errors.Is(err, ErrBusy) {
		t.Errorf("a second run: %v", err)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	if s, err = Open(dir); err != nil {
		t.Fatalf("after it ended: %v", err)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
}

// Two sets, of which the second lacks a file, has another, and changes two.
var (
	oldSet = []File{file("static/1.css", "old css"), file("r/x.ics", "old feed"), file("r/x/index.html", "old page with 1.css"), file("r/y.ics", "old y")}
	newSet = []File{file("static/2.css", "new css"), file("r/x.ics", "new feed"), file("r/x/index.html", "new page with 2.css"), file("r/z.ics", "new z")}
)

// TestKilledAnywhere kills a process at each of its steps. Each file is then the old one or the new
// one, what a page needs is there, and the next run makes the set whole.
func TestKilledAnywhere(t *testing.T) {
	if dir := os.Getenv("WEBSPACE_KILL_IN"); dir != "" {
		killAt(t, dir, os.Getenv("WEBSPACE_KILL_AT"))
		return
	}
	whole := map[string]string{}
	for _, f := range newSet {
		whole[f.Path] = string(f.Bytes)
	}
	for n := 1; ; n++ {
		dir := filepath.Join(t.TempDir(), "web")
		if _, err := put(t, dir, oldSet...); err != nil {
			t.Fatal(err)
		}
		c := exec.CommandContext(t.Context(), os.Args[0], "-test.run=^TestKilledAnywhere$")
		c.Env = append(os.Environ(), "WEBSPACE_KILL_IN="+dir, fmt.Sprintf("WEBSPACE_KILL_AT=%d", n))
		out, err := c.CombinedOutput()
		if err == nil {
			if n < 10 {
				t.Errorf("only %d steps were gone through\n%s", n-1, out)
			}
			same(t, dir, whole)
			return
		}
		if s := c.ProcessState.String(); !strings.Contains(s, "killed") {
			t.Fatalf("step %d: %s\n%s", n, s, out)
		}
		got := tree(t, dir)
		for p, content := range got {
			if content != of(oldSet, p) && content != of(newSet, p) {
				t.Errorf("killed at step %d: %s holds %q", n, p, content)
			}
		}
		for _, f := range []string{"r/x.ics", "r/x/index.html"} { // in both sets
			if got[f] == "" {
				t.Errorf("killed at step %d: %s is gone", n, f)
			}
		}
		if css := "static/" + got["r/x/index.html"][len("old page with "):]; got[css] == "" {
			t.Errorf("killed at step %d: the page needs %s, which is not there", n, css)
		}
		if _, err := put(t, dir, newSet...); err != nil {
			t.Errorf("after a kill at step %d: %v", n, err)
		}
		same(t, dir, whole)
	}
}

// killAt puts the new set and kills the process at its nth step.
func killAt(t *testing.T, dir, nth string) {
	n := 0
	step = func(string) {
		if n++; fmt.Sprint(n) == nth {
			p, err := os.FindProcess(os.Getpid())
			if err != nil {
				t.Fatal(err)
			}
			if err := p.Kill(); err != nil {
				t.Fatal(err)
			}
			select {} // until it comes
		}
	}
	if _, err := put(t, dir, newSet...); err != nil {
		t.Fatal(err)
	}
}

func of(files []File, p string) string {
	for _, f := range files {
		if f.Path == p {
			return string(f.Bytes)
		}
	}
	return ""
}

func FuzzList(f *testing.F) {
	f.Add([]byte(`{"a":["b"]}`))
	f.Add([]byte(`{"../a":["b"]}`))
	f.Fuzz(func(t *testing.T, text []byte) {
		l, err := readList("list.json", text)
		if err != nil {
			return
		}
		for p := range l {
			if !filepath.IsLocal(p) {
				t.Errorf("%q leads elsewhere", p)
			}
		}
	})
}
