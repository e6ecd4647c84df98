package nudge

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"net/http"
	"os"
	"os/exec"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"budswell/calendar"
	"budswell/calendar/store"
)

// The variables by which a test tells its child process, which is this same
// binary, to send what is in an outbox and where to die.
const (
	childDB    = "NUDGE_TEST_DB"
	childPort  = "NUDGE_TEST_PORT"
	childNow   = "NUDGE_TEST_NOW"
	childHooks = "NUDGE_TEST_HOOKS" // deliver to webhooks, and not by mail
	childDies  = "NUDGE_TEST_DIES"  // a step and which time it is done, as in claimed:2
)

func TestMain(m *testing.M) {
	if path := os.Getenv(childDB); path != "" {
		if err := child(path); err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
		return
	}
	os.Exit(m.Run())
}

// child sends what there is, and kills itself, as nothing else can be told to
// just there, when it has done a step.
func child(path string) error {
	s, err := store.Open(context.Background(), "sqlite:"+path)
	if err != nil {
		return err
	}
	port, err := strconv.Atoi(os.Getenv(childPort)) // of the mail server
	if err != nil {
		return err
	}
	now, err := time.Parse(time.RFC3339, os.Getenv(childNow))
	if err != nil {
		return err
	}
	config := SMTP{Host: "localhost", Port: port, From: "nudge@budswell.example", TLS: NoTLS}
	channels := Channels{SMTP: config, Base: "https://trees.example"}
	if os.Getenv(childHooks) != "" {
		channels = Channels{Webhooks: &http.Client{}, Base: "https://trees.example"}
	}
	sender, err := NewSender(s, channels, func() time.Time { return now }, silent)
	if err != nil {
		return err
	}
	sender.posts = 1 // so that steps come in one order
	step, times, _ := strings.Cut(os.Getenv(childDies), ":")
	left, _ := strconv.Atoi(times)
	sender.step = func(done string) {
		if done != step {
			return
		}
		if left--; left == 0 {
			syscall.Kill(os.Getpid(), syscall.SIGKILL)
			select {}
		}
	}
	if _, err := sender.Send(context.Background()); err != nil {
		return err
	}
	return s.Close()
}

// spawn starts a child that sends at a time, and returns it.
func spawn(t *testing.T, path string, port int, now time.Time, dies string, more ...string) *exec.Cmd {
	t.Helper()
	exe, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(exe)
	cmd.Env = append(os.Environ(), childDB+"="+path, childPort+"="+strconv.Itoa(port),
		childNow+"="+now.Format(time.RFC3339), childDies+"="+dies)
	cmd.Env = append(cmd.Env, more...)
	cmd.Stderr = new(bytes.Buffer)
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	return cmd
}

// killed waits for a child that was to die by SIGKILL, and for nothing else.
func killed(t *testing.T, cmd *exec.Cmd) {
	t.Helper()
	cmd.Wait()
	status, ok := cmd.ProcessState.Sys().(syscall.WaitStatus)
	if !ok || !status.Signaled() || status.Signal() != syscall.SIGKILL {
		t.Fatalf("the child ended by itself: %v %s", cmd.ProcessState, cmd.Stderr)
	}
}

func finished(t *testing.T, cmd *exec.Cmd) {
	t.Helper()
	if err := cmd.Wait(); err != nil {
		t.Fatalf("%v: %s", err, cmd.Stderr)
	}
}

// TestKilledBetweenAnyTwoSteps kills the sending process with SIGKILL after
// each step of each nudge, and starts it again. No nudge may be lost; only what
// the server took and the outbox does not know of may come twice, and then as
// the same message.
func TestKilledBetweenAnyTwoSteps(t *testing.T) {
	if testing.Short() {
		t.Skip("starts some thirty processes")
	}
	const nudges = 3
	steps := []struct {
		dies    string
		held    int // nudges that stay claimed by the dead
		repeats int
	}{
		{"begin", 0, 0}, // before a claim
		{"claimed", 1, 0},
		{"connected", 1, 0},
		{"data", 1, 0},     // the server has read the message and not yet taken it
		{"taken", 1, 1},    // the server has taken it, and the child was not told
		{"accepted", 1, 1}, // the child was told, and has not yet marked it
		{"marked", 0, 0},
	}
	for _, step := range steps {
		for nth := 1; nth <= nudges; nth++ {
			dies := fmt.Sprintf("%s:%d", step.dies, nth)
			t.Run(dies, func(t *testing.T) {
				t.Parallel()
				s, path := outbox(t, nudges)
				srv := newServer(t, NoTLS)
				victim := make(chan *exec.Cmd, 1)
				seen := 0
				kill := func() {
					if seen++; seen == nth {
						cmd := <-victim
						cmd.Process.Kill() // SIGKILL
						victim <- cmd
						time.Sleep(20 * time.Millisecond) // let it be dead before the answer goes out
					}
				}
				switch step.dies {
				case "data":
					srv.become(manners{data: func() error {
						if kill(); seen == nth {
							return errors.New("nobody is there")
						}
						return nil
					}})
				case "taken":
					srv.become(manners{taken: kill})
				}
				cmd := spawn(t, path, srv.port, noon, dies)
				victim <- cmd
				killed(t, cmd)

				srv.become(manners{})
				// What the dead process had claimed is nobody else's until the claim ends.
				finished(t, spawn(t, path, srv.port, noon.Add(lease-time.Second), ""))
				if n := unsent(kept(t, s)); n != step.held {
					t.Errorf("%d nudges are unsent while the claim holds, want %d", n, step.held)
				}
				finished(t, spawn(t, path, srv.port, noon.Add(lease), ""))
				finished(t, spawn(t, path, srv.port, noon.Add(24*time.Hour), ""))

				times := map[string]int{}
				bodies := map[string]string{}
				got := srv.got()
				for _, m := range got {
					id := m.parse(t).Header.Get("Message-Id")
					if times[id]++; times[id] > 1 && bodies[id] != string(m.raw) {
						t.Errorf("the repeat of %s is another message:\n%s\n%s", id, bodies[id], m.raw)
					}
					bodies[id] = string(m.raw)
				}
				if len(times) != nudges {
					t.Errorf("%d nudges arrived, want %d", len(times), nudges)
				}
				if repeats := len(got) - len(times); repeats != step.repeats {
					t.Errorf("%d repeats, want %d", repeats, step.repeats)
				}
				for _, n := range kept(t, s) {
					if d := n.Deliveries[0]; d.Sent.IsZero() || d.GivenUp {
						t.Errorf("kept as %+v", n)
					}
				}
			})
		}
	}
}

func unsent(nudges []calendar.Nudge) (n int) {
	for _, v := range nudges {
		if v.Deliveries[0].Sent.IsZero() {
			n++
		}
	}
	return n
}
