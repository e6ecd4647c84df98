package calendar

import (
	"context"
	"time"
)

// Lease is the right to do a job for the time for which it was scheduled, held by
// one process over a database until it ends, or is renewed.
type Lease struct {
	Job  string
	Slot time.Time // for which the job was scheduled

	// Fence rises whenever the job is taken: who holds a lower one holds it no more.
	Fence int64
}

// Leases is the part of a [Store] by which several processes do each job once.
type Leases interface {
	// TakeLease takes a job for a slot, until a time. It is ErrConflict where the
	// slot, or a later one, was done, or another holds the job at now. A slot more
	// than a day after now is of a clock that was wrong, and does not count.
	TakeLease(ctx context.Context, job string, slot, now, until time.Time) (Lease, error)
	// RenewLease holds a job until a later time. It is ErrGone where another has
	// taken it meanwhile, or it was ended.
	RenewLease(ctx context.Context, l Lease, until time.Time) error
	// EndLease gives a job back, done for its slot or not. It is ErrGone as
	// RenewLease is.
	EndLease(ctx context.Context, l Lease, done bool) error
}
