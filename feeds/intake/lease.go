package intake

import (
	"context"
	"errors"
	"time"

	"budswell/calendar"
)

// leaseTime is how long an instance that gives no sign keeps others from asking:
// longer than one question may take.
const leaseTime = askTime + 2*time.Minute

// alone refreshes unless another instance over the same database is at it. What
// that one has asked is remembered, and is not asked again.
func (in *Intake) alone(ctx context.Context, now time.Time) (err error) {
	l, err := in.Store.TakeLease(ctx, "weather", now, now, now.Add(leaseTime))
	if errors.Is(err, calendar.ErrConflict) {
		return nil
	}
	if err != nil {
		return err
	}
	in.lease = &l
	defer func() {
		in.lease = nil
		err = errors.Join(err, in.Store.EndLease(context.WithoutCancel(ctx), l, false))
	}()
	return in.Refresh(ctx, now)
}

// hold keeps others from asking for as long as one more question may take.
func (in *Intake) hold(ctx context.Context) error {
	if in.lease == nil {
		return nil
	}
	return in.Store.RenewLease(ctx, *in.lease, in.Clock.Now().Add(leaseTime))
}
