package nudge

import (
	"bytes"
	"crypto/hmac"
	"crypto/sha256"
	"encoding/base64"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"os/exec"
	"strings"
	"sync"
	"testing"
	"time"

	"budswell/calendar"
	"budswell/calendar/store"
	"budswell/feeds/outward"
)

// receiver is a real web server that keeps what was posted to it.
type receiver struct {
	*httptest.Server
	mu   sync.Mutex
	got  []posted
	will func(http.ResponseWriter, *http.Request) // nil: 204
}

type posted struct {
	header http.Header
	body   []byte
}

func newReceiver(t *testing.T) *receiver {
	t.Helper()
	r := &receiver{}
	r.Server = httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, req *http.Request) {
		body, err := io.ReadAll(req.Body)
		if err != nil {
			return
		}
		r.mu.Lock()
		r.got = append(r.got, posted{req.Header.Clone(), body})
		will := r.will
		r.mu.Unlock()
		if will != nil {
			will(w, req)
			return
		}
		w.WriteHeader(http.StatusNoContent)
	}))
	t.Cleanup(r.Close)
	return r
}

func (r *receiver) become(will func(http.ResponseWriter, *http.Request)) {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.will = will
}

func (r *receiver) messages() []posted {
	r.mu.Lock()
	defer r.mu.Unlock()
	return append([]posted(nil), r.got...)
}

const hookSecret = "whsec_MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw"

// hooked returns an outbox whose nudges go to a webhook.
func hooked(t *testing.T, url string, nudges int) (*store.Store, string) {
	t.Helper()
	s, path := outbox(t, 0)
	if err := s.AddWebhook(t.Context(), calendar.Webhook{ID: "h", Grower: "a", URL: url, Secret: hookSecret, Created: noon}); err != nil {
		t.Fatal(err)
	}
	for i := range nudges {
		n := nudge(i)
		n.Deliveries = []calendar.Delivery{{ID: n.ID + "_h", Channel: calendar.ByWebhook, To: "h"}}
		decide(t, s, n)
	}
	return s, path
}

func hookSender(t *testing.T, s calendar.Store, now *time.Time) *Sender {
	t.Helper()
	out, err := NewSender(s, Channels{Webhooks: &http.Client{}, Base: "https://trees.example"}, func() time.Time { return *now }, silent)
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// verify does what a receiver does to believe a message.
func (p posted) verify(t *testing.T) {
	t.Helper()
	key, err := base64.StdEncoding.DecodeString(strings.TrimPrefix(hookSecret, "whsec_"))
	if err != nil {
		t.Fatal(err)
	}
	mac := hmac.New(sha256.New, key)
	mac.Write([]byte(p.header.Get("webhook-id") + "." + p.header.Get("webhook-timestamp") + "."))
	mac.Write(p.body)
	if want := "v1," + base64.StdEncoding.EncodeToString(mac.Sum(nil)); p.header.Get("webhook-signature") != want {
		t.Errorf("signed %q, want %q", p.header.Get("webhook-signature"), want)
	}
}

// The example of the Standard Webhooks specification's libraries; see
// testdata/SOURCES.md.
func TestSignature(t *testing.T) {
	got, err := signature(hookSecret, "msg_p5jXN8AQM9LWM0D4loKWxJek", time.Unix(1614265330, 0), []byte(`{"test": 2432232314}`))
	if want := "v1,g0hM9SsE+OTPJTGt/tmIKtSyZlE3uFJELVlNIOLJ1OE="; err != nil || got != want {
		t.Errorf("%q, %v; want %q", got, err, want)
	}
	secret, err := NewWebhookSecret(bytes.NewReader(make([]byte, 64)))
	if err != nil || secret != "whsec_"+base64.StdEncoding.EncodeToString(make([]byte, secretSize)) {
		t.Errorf("%q, %v", secret, err)
	}
	if _, err := NewWebhookSecret(bytes.NewReader(nil)); err == nil {
		t.Error("a secret without randomness")
	}
	if _, err := signature("whsec_*", "a", noon, nil); err == nil {
		t.Error("a secret that is none")
	}
}

func TestPost(t *testing.T) {
	r := newReceiver(t)
	s, _ := hooked(t, r.URL+"/in?key=k", 1)
	now := noon.Add(time.Minute)
	send(t, hookSender(t, s, &now), 1)
	send(t, hookSender(t, s, &now), 0)
	got := r.messages()
	if len(got) != 1 {
		t.Fatalf("%d messages", len(got))
	}
	got[0].verify(t)
	n := kept(t, s)[0]
	if id := got[0].header.Get("webhook-id"); id != n.ID+"_h" || got[0].header.Get("webhook-timestamp") != fmt.Sprint(now.Unix()) ||
		got[0].header.Get("Content-Type") != "application/json" {
		t.Errorf("headers %v", got[0].header)
	}
	var pretty bytes.Buffer
	if err := json.Indent(&pretty, got[0].body, "", "  "); err != nil {
		t.Fatal(err)
	}
	golden(t, "message.json.golden", pretty.String()+"\n")
	if n.Deliveries[0].Sent.IsZero() {
		t.Errorf("kept as %+v", n)
	}
}

func TestAnswersOfWebhooks(t *testing.T) {
	code := func(c int) func(http.ResponseWriter, *http.Request) {
		return func(w http.ResponseWriter, _ *http.Request) { w.WriteHeader(c) }
	}
	elsewhere := newReceiver(t)
	for _, c := range []struct {
		name           string
		will           func(http.ResponseWriter, *http.Request)
		sent           int
		givenUp, ended bool
		says           string
	}{
		{"200", code(200), 1, false, false, ""},
		{"202", code(202), 1, false, false, ""},
		{"a long answer", func(w http.ResponseWriter, _ *http.Request) { _, _ = w.Write(make([]byte, 1<<20)) }, 1, false, false, ""},
		{"410", code(410), 0, true, true, "410"},
		{"404", code(404), 0, false, false, "404"},
		{"429", code(429), 0, false, false, "429"},
		{"500", code(500), 0, false, false, "500"},
		{"a redirect", func(w http.ResponseWriter, r *http.Request) {
			http.Redirect(w, r, elsewhere.URL, http.StatusTemporaryRedirect)
		}, 0, false, false, "307"},
		{"hangs up", func(http.ResponseWriter, *http.Request) { panic(http.ErrAbortHandler) }, 0, false, false, "EOF"},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := newReceiver(t)
			r.become(c.will)
			s, _ := hooked(t, r.URL+"/?key=secret-of-the-receiver", 1)
			now := noon
			sender := hookSender(t, s, &now)
			send(t, sender, c.sent)
			d := kept(t, s)[0].Deliveries[0]
			if d.GivenUp != c.givenUp || !strings.Contains(d.Error, c.says) || strings.Contains(d.Error, "secret-of") {
				t.Errorf("kept as %+v", d)
			}
			hook, err := s.Webhook(t.Context(), "a", "h")
			if err != nil || hook.Ended.IsZero() == c.ended {
				t.Errorf("the webhook is %+v, %v", hook, err)
			}
			if c.sent == 0 && !c.givenUp {
				if !d.Retry.Equal(noon.Add(time.Minute)) {
					t.Errorf("to be tried again at %v", d.Retry)
				}
				r.become(nil)
				now = noon.Add(time.Minute)
				send(t, sender, 1)
				got := r.messages()
				a, b := got[0], got[1]
				b.verify(t)
				if a.header.Get("webhook-id") != b.header.Get("webhook-id") || !bytes.Equal(a.body, b.body) || a.header.Get("webhook-timestamp") == b.header.Get("webhook-timestamp") {
					t.Errorf("the second attempt is %v %s, the first was %v %s", b.header, b.body, a.header, a.body)
				}
			}
		})
	}
	if len(elsewhere.messages()) != 0 {
		t.Error("a redirect was followed")
	}
}

// What leads into the service's own network is not asked, and not tried again.
func TestWebhookInOwnNetwork(t *testing.T) {
	r := newReceiver(t)
	s, _ := hooked(t, r.URL, 1)
	now := noon
	sender, err := NewSender(s, Channels{Webhooks: outward.Client(outward.Options{})}, func() time.Time { return now }, silent)
	if err != nil {
		t.Fatal(err)
	}
	send(t, sender, 0)
	if d := kept(t, s)[0].Deliveries[0]; !d.GivenUp || !strings.Contains(d.Error, "not a public address") || len(r.messages()) != 0 {
		t.Errorf("kept as %+v, %d messages", d, len(r.messages()))
	}
}

func TestWebhookThatIsNotThere(t *testing.T) {
	r := newReceiver(t)
	s, _ := hooked(t, r.URL, 2)
	if err := s.EndWebhook(t.Context(), "a", "h", "the grower ended it", noon); err != nil {
		t.Fatal(err)
	}
	n := nudge(7)
	n.Deliveries = []calendar.Delivery{{ID: "x", Channel: calendar.ByWebhook, To: "unknown"}}
	decide(t, s, n)
	now := noon
	send(t, hookSender(t, s, &now), 0)
	for _, n := range kept(t, s) {
		if !n.Deliveries[0].GivenUp {
			t.Errorf("kept as %+v", n)
		}
	}
	if len(r.messages()) != 0 {
		t.Error("posted to a webhook that was ended")
	}
}

// One channel's trouble is not the other's: a nudge with two deliveries.
func TestTwoChannels(t *testing.T) {
	r := newReceiver(t)
	srv := newServer(t, NoTLS)
	s, _ := hooked(t, r.URL, 0)
	n := nudge(0)
	n.Deliveries = append(n.Deliveries, calendar.Delivery{ID: n.ID + "_h", Channel: calendar.ByWebhook, To: "h"})
	decide(t, s, n)
	now := noon
	down := srv.smtp(NoTLS)
	down.Port = unused(t)
	sender, err := NewSender(s, Channels{SMTP: down, Webhooks: &http.Client{}, Base: "https://trees.example"}, func() time.Time { return now }, silent)
	if err != nil {
		t.Fatal(err)
	}
	send(t, sender, 1)
	sender.smtp = srv.smtp(NoTLS)
	now = noon.Add(time.Minute)
	send(t, sender, 1)
	now = noon.Add(24 * time.Hour)
	send(t, sender, 0)
	if len(r.messages()) != 1 || len(srv.got()) != 1 {
		t.Errorf("%d posted, %d mailed", len(r.messages()), len(srv.got()))
	}
	if !strings.Contains(string(r.messages()[0].body), "act/secret0") || !strings.Contains(string(srv.got()[0].raw), "act/secret0") {
		t.Error("a delivery came without its links")
	}
}

// TestKilledBetweenAnyTwoStepsOfAWebhook is TestKilledBetweenAnyTwoSteps for
// webhooks: what comes twice has the same webhook-id and the same body.
func TestKilledBetweenAnyTwoStepsOfAWebhook(t *testing.T) {
	if testing.Short() {
		t.Skip("starts some twenty processes")
	}
	const nudges = 2
	for _, step := range []struct {
		dies          string
		held, repeats int
	}{
		{"begin", 0, 0},
		{"claimed", 1, 0},
		{"taken", 1, 1}, // the receiver has it, and the child was not told
		{"accepted", 1, 1},
		{"marked", 0, 0},
	} {
		for nth := 1; nth <= nudges; nth++ {
			dies := fmt.Sprintf("%s:%d", step.dies, nth)
			t.Run(dies, func(t *testing.T) {
				t.Parallel()
				r := newReceiver(t)
				s, path := hooked(t, r.URL, nudges)
				victim := make(chan *exec.Cmd, 1)
				if step.dies == "taken" {
					seen := 0
					r.become(func(w http.ResponseWriter, _ *http.Request) {
						if seen++; seen == nth {
							cmd := <-victim
							cmd.Process.Kill() // SIGKILL
							victim <- cmd
							time.Sleep(20 * time.Millisecond)
						}
					})
				}
				cmd := spawn(t, path, 1, noon, dies, childHooks+"=1")
				victim <- cmd
				killed(t, cmd)
				r.become(nil)
				finished(t, spawn(t, path, 1, noon.Add(hookLease-time.Second), "", childHooks+"=1"))
				if n := unsent(kept(t, s)); n != step.held {
					t.Errorf("%d are undone while the claim holds, want %d", n, step.held)
				}
				finished(t, spawn(t, path, 1, noon.Add(hookLease), "", childHooks+"=1"))
				bodies := map[string]string{}
				got := r.messages()
				for _, p := range got {
					p.verify(t)
					id := p.header.Get("webhook-id")
					if b, ok := bodies[id]; ok && b != string(p.body) {
						t.Errorf("the repeat of %s is another message", id)
					}
					bodies[id] = string(p.body)
				}
				if len(bodies) != nudges || len(got)-len(bodies) != step.repeats {
					t.Errorf("%d arrived, %d repeats; want %d and %d", len(bodies), len(got)-len(bodies), nudges, step.repeats)
				}
				if n := unsent(kept(t, s)); n != 0 {
					t.Errorf("%d are undone", n)
				}
			})
		}
	}
}
