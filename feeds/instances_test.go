package feeds

import (
	"crypto/rand"
	"sync"
	"testing"
	"time"

	"budswell/calendar"
)

// Several instances over one database may plan the same morning at the same instant:
// each thing is told once, no more messages come than the grower wants, and feeds
// show one edition, with sequences that rise once.
func TestMorningsOfSeveralInstances(t *testing.T) {
	told := func(instances int) (nudges []calendar.Nudge, e calendar.Edition) {
		b := newBed(t)
		b.set(time.Date(2027, time.March, 12, 9, 0, 0, 0, time.UTC)) // the repots' windows are open
		b.addFeed("ada", "f", calendar.Filter{})
		cfg := b.server.cfg
		cfg.Random = rand.Reader
		var wait sync.WaitGroup
		for range instances {
			s, err := New(cfg)
			b.must(err)
			s.planner = b.server.planner
			wait.Go(func() {
				if err := s.Morning(b.ctx(), "ada", nil, b.now()); err != nil {
					t.Error(err)
				}
			})
		}
		wait.Wait()
		nudges, err := b.store.Nudges(b.ctx(), "ada", 0)
		b.must(err)
		e, err = b.store.Edition(b.ctx(), "grower ada")
		b.must(err)
		return nudges, e
	}
	one, first := told(1)
	many, last := told(4)
	if len(one) == 0 || len(many) != len(one) {
		t.Fatalf("one instance tells %d messages, four %d", len(one), len(many))
	}
	for i := range one {
		if one[i].ID != many[i].ID || one[i].Body != many[i].Body {
			t.Errorf("told %q, want %q", many[i].Title, one[i].Title)
		}
	}
	if len(last.Shown) != len(first.Shown) {
		t.Errorf("%d events, want %d", len(last.Shown), len(first.Shown))
	}
	for _, v := range last.Shown {
		if v.Sequence != 0 {
			t.Errorf("%s was revised %d times on its first morning", v.UID, v.Sequence)
		}
	}
}
