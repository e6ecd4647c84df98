package intake

import (
	"context"
	"testing"
	"time"
)

// TestOneInstanceAsksAtATime: while one has the job another asks nothing; when it
// is dead, or done, the other may.
func TestOneInstanceAsksAtATime(t *testing.T) {
	ctx := context.Background()
	r := newRig(t, "file")
	now := r.Clock.Now()
	l, err := r.Store.TakeLease(ctx, "weather", now, now, now.Add(leaseTime))
	r.must(err)
	r.must(r.alone(ctx, now))
	if s := r.state("file"); !s.Tried.IsZero() {
		t.Fatalf("asked while another was at it: %+v", s)
	}
	now = now.Add(leaseTime)
	r.must(r.alone(ctx, now)) // the other died
	if s := r.state("file"); !s.Tried.Equal(now) {
		t.Fatalf("not asked after the other died: %+v", s)
	}
	if err := r.Store.RenewLease(ctx, l, now.Add(time.Hour)); err == nil {
		t.Error("the dead one holds the job still")
	}
	now = now.Add(24 * time.Hour)
	r.must(r.alone(ctx, now)) // given back at once
	if s := r.state("file"); !s.Tried.Equal(now) {
		t.Fatalf("not asked the next day: %+v", s)
	}
}
