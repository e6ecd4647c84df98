package main

import (
	"io"
	"os"
	"strings"
	"sync"
	"testing"
	"time"
)

// testProgram is a program at a fixed time with secrets that are always the same.
func testProgram(now time.Time) (p program, stdout, stderr *lockedBuffer) {
	stdout, stderr = &lockedBuffer{}, &lockedBuffer{}
	return program{
		stdout: stdout, stderr: stderr,
		now:    func() time.Time { return now },
		random: &sharedReader{r: strings.NewReader(strings.Repeat("0123456789abcdefghijklmnopqrstuvwxyz", 1000))},
	}, stdout, stderr
}

// sharedReader is read by several goroutines, as crypto/rand.Reader may be.
type sharedReader struct {
	mu sync.Mutex
	r  io.Reader
}

func (s *sharedReader) Read(b []byte) (int, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.r.Read(b)
}

func TestExitStatus(t *testing.T) {
	for _, c := range []struct {
		args []string
		want int
	}{
		{[]string{"lore", "check"}, done},
		{[]string{"--help"}, done},
		{[]string{}, wrongUsage},
		{[]string{"prune"}, wrongUsage},
		{[]string{"lore", "show", "Yggdrasil"}, failed},
		{[]string{"phases", "--species", "Fagus sylvatica", "--weather", "../../data-sample/quernthal-invented.csv", "--lat", "47", "--lon", "200"}, wrongUsage},
		{[]string{"serve", "--demo", "--addr", "127.0.0.1:0", "--open"}, wrongUsage},
		{[]string{"serve", "--demo", "--addr", "127.0.0.1:0", "--trust-proxy", "everybody"}, wrongUsage},
		{[]string{"serve", "--demo", "--addr", "127.0.0.1:0", "--smtp-host", "localhost", "--smtp-from", "nobody"}, wrongUsage},
	} {
		p, stdout, stderr := testProgram(time.Date(2026, 4, 12, 8, 0, 0, 0, time.UTC))
		if got := p.run(t.Context(), c.args); got != c.want {
			t.Errorf("budswell %s: status %d, want %d\n%s%s", strings.Join(c.args, " "), got, c.want, stdout, stderr)
		}
		if c.want != done && !strings.HasPrefix(stderr.String(), "budswell: ") {
			t.Errorf("budswell %s: says %q on standard error", strings.Join(c.args, " "), stderr)
		}
	}
}

func writeFile(t *testing.T, path, text string) {
	t.Helper()
	if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
}
