package feeds

import (
	"context"
	"errors"
	"net/http"
	"strings"
	"testing"
	"testing/synctest"

	"budswell/calendar"
)

// TestLooksTakeTurns: one at a time looks, who asks too often is told to wait, and who gives
// up holds up nobody.
func TestLooksTakeTurns(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		looks := newTurns()
		done, err := looks.take(t.Context(), "ada")
		if err != nil {
			t.Fatal(err)
		}
		impatient, giveUp := context.WithCancel(t.Context())
		got := make(chan error, mostAhead)
		for range mostAhead - 1 {
			go func() {
				_, err := looks.take(impatient, "ada")
				got <- err
			}()
		}
		synctest.Wait()
		if _, err := looks.take(t.Context(), "ada"); !errors.Is(err, errWait) {
			t.Errorf("one too many: %v", err)
		}
		theirs := make(chan func(), 1)
		go func() {
			done, err := looks.take(t.Context(), "bea")
			if err != nil {
				t.Error(err)
			}
			theirs <- done
		}()
		synctest.Wait()
		select {
		case <-theirs:
			t.Fatal("two at a time")
		default:
		}
		giveUp()
		for range mostAhead - 1 {
			if err := <-got; !errors.Is(err, context.Canceled) {
				t.Errorf("gave up: %v", err)
			}
		}
		done()
		(<-theirs)()
		if len(looks.waiting) > 0 || len(looks.turn) > 0 {
			t.Errorf("still held: %v", looks.waiting)
		}
	})
}

// TestTooManyLooks: a refusal says when to try again, and the next look is as any other.
func TestTooManyLooks(t *testing.T) {
	b := newBed(t)
	b.open()
	b.newClub("ridge", calendar.Editor)
	waiting := b.server.looks.waiting
	waiting["ada"] = mostAhead
	a := b.post("/clubs/ridge/regions/new", with(aBand))
	if a.StatusCode != http.StatusTooManyRequests || a.Header.Get("Retry-After") != "10" || !strings.Contains(a.text, "what you typed still stands") {
		t.Errorf("%s\n%s", a.Status, a.text)
	}
	delete(waiting, "ada")
	if a := b.post("/clubs/ridge/regions/new", with(aBand)); a.StatusCode != http.StatusOK {
		t.Errorf("%s\n%s", a.Status, a.text)
	}
}
