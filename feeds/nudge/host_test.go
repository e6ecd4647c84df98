package nudge

import (
	"fmt"
	"net/http"
	"sync"
	"testing"
	"time"

	"budswell/calendar"
	"budswell/calendar/store"
)

// hosts returns an outbox with nudges for webhooks on several receivers, so many for
// each, the first receiver's decided first.
func hosts(t *testing.T, each int, receivers ...*receiver) *store.Store {
	t.Helper()
	s, _ := outbox(t, 0)
	for k, r := range receivers {
		id := fmt.Sprint("h", k)
		if err := s.AddWebhook(t.Context(), calendar.Webhook{ID: id, Grower: "a", URL: r.URL, Secret: hookSecret, Created: noon}); err != nil {
			t.Fatal(err)
		}
		for i := range each {
			n := nudge(100*k + i)
			n.Decided = noon.Add(-time.Hour + time.Duration(k)*time.Minute)
			n.Deliveries = []calendar.Delivery{{ID: fmt.Sprintf("%s_%d", id, i), Channel: calendar.ByWebhook, To: id}}
			decide(t, s, n)
		}
	}
	return s
}

// While one receiver takes its time, those on other hosts get all that is theirs; to
// each host there is one post at a time.
func TestOneHostDoesNotHoldUpOthers(t *testing.T) {
	slow, quick := newReceiver(t), newReceiver(t)
	release, inside := make(chan struct{}), make(chan int, 100)
	var mu sync.Mutex
	at, most := 0, 0
	slow.become(func(w http.ResponseWriter, _ *http.Request) {
		mu.Lock()
		at++
		most = max(most, at)
		mu.Unlock()
		inside <- 1
		<-release
		mu.Lock()
		at--
		mu.Unlock()
		w.WriteHeader(http.StatusNoContent)
	})
	s := hosts(t, 3, slow, quick) // no more than there are other workers
	now := noon
	sender := hookSender(t, s, &now)
	done := make(chan error, 1)
	go func() { _, err := sender.Send(t.Context()); done <- err }()
	<-inside
	for deadline := time.Now().Add(10 * time.Second); len(quick.messages()) < 3; time.Sleep(time.Millisecond) {
		if time.Now().After(deadline) {
			t.Fatalf("%d of 3 came to the quick host while the other is waited for", len(quick.messages()))
		}
	}
	close(release)
	if err := <-done; err != nil {
		t.Fatal(err)
	}
	if n := unsent(kept(t, s)); n != 0 || most != 1 || len(slow.messages()) != 3 {
		t.Errorf("%d undone, %d came to the slow host, %d at once", n, len(slow.messages()), most)
	}
}

// A host that does not answer is asked once in a round; what else is for it waits
// for the next, and that does not count as an attempt.
func TestHostThatDoesNotAnswerIsAskedOnce(t *testing.T) {
	dead, quick := newReceiver(t), newReceiver(t)
	dead.become(func(http.ResponseWriter, *http.Request) { panic(http.ErrAbortHandler) })
	s := hosts(t, 6, dead, quick)
	now := noon
	sender := hookSender(t, s, &now)
	send(t, sender, 6)
	if n := len(dead.messages()); n != 1 {
		t.Errorf("the dead host was asked %d times, want 1", n)
	}
	attempts := 0
	for _, n := range kept(t, s) {
		d := n.Deliveries[0]
		attempts += d.Attempts
		if d.Sent.IsZero() && !d.Retry.Equal(noon.Add(firstRetry)) {
			t.Errorf("%s is to be tried at %v", d.ID, d.Retry)
		}
	}
	if attempts != 7 {
		t.Errorf("%d attempts counted, want 7", attempts)
	}
	dead.become(nil)
	now = noon.Add(firstRetry)
	send(t, sender, 6)
}

// So is one that answers, but slowly.
func TestSlowHostIsAskedOnce(t *testing.T) {
	slow := newReceiver(t)
	s := hosts(t, 3, slow)
	var mu sync.Mutex
	now := noon
	slow.become(func(w http.ResponseWriter, _ *http.Request) {
		mu.Lock()
		now = now.Add(slowPost + time.Second)
		mu.Unlock()
		w.WriteHeader(http.StatusNoContent)
	})
	sender, err := NewSender(s, Channels{Webhooks: &http.Client{}}, func() time.Time { mu.Lock(); defer mu.Unlock(); return now }, silent)
	if err != nil {
		t.Fatal(err)
	}
	send(t, sender, 1)
	if n := len(slow.messages()); n != 1 {
		t.Errorf("asked %d times, want 1", n)
	}
}
