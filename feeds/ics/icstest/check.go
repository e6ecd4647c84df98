// Package icstest checks feeds in tests with independent readers.
package icstest

import (
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// Check runs the feeds through ics-check, a strict checker that reads them with
// three independent libraries, and fails t where it finds anything. The checker
// is found by the variable BUDSWELL_ICS_CHECK, or at ../shared/tools/ics-check
// from the repository; where it, or a reader it needs, is not there, the check
// is skipped and says so.
func Check(t *testing.T, feeds map[string][]byte) {
	t.Helper()
	tool := checker()
	if tool == "" {
		t.Skip("skipped: no ics-check; name one in BUDSWELL_ICS_CHECK")
	}
	dir := t.TempDir()
	var files []string
	for name, body := range feeds {
		f := filepath.Join(dir, strings.ReplaceAll(name, "/", "-")+".ics")
		if err := os.WriteFile(f, body, 0o600); err != nil {
			t.Fatal(err)
		}
		files = append(files, f)
	}
	if len(files) == 0 {
		t.Fatal("no feeds to check")
	}
	out, err := exec.Command(tool, files...).CombinedOutput()
	var exit *exec.ExitError
	if errors.As(err, &exit) && exit.ExitCode() == 2 {
		t.Skipf("skipped: ics-check lacks a reader:\n%s", out)
	}
	if err != nil {
		t.Errorf("ics-check: %v\n%s", err, out)
	}
}

func checker() string {
	if v := os.Getenv("BUDSWELL_ICS_CHECK"); v != "" {
		return v
	}
	dir, err := os.Getwd()
	for err == nil && dir != filepath.Dir(dir) {
		if _, e := os.Stat(filepath.Join(dir, "go.mod")); e == nil {
			f := filepath.Join(dir, "..", "shared", "tools", "ics-check")
			if _, e := os.Stat(f); e == nil {
				return f
			}
			return ""
		}
		dir = filepath.Dir(dir)
	}
	return ""
}
