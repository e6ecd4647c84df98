package store

import (
	"context"
	"fmt"
	"time"

	"budswell/calendar"
)

// Revise implements [calendar.Store]. A revision is never dated before the one
// it follows, even where the clock was set back.
func (s *Store) Revise(ctx context.Context, owner string, digests []calendar.Revision, at time.Time) (out []calendar.Revision, err error) {
	doing := fmt.Sprintf("revise events of %q", owner)
	changed := false
	// Most of the time nothing changed; a look is enough, and does not wait for writers.
	err = s.read(ctx, doing, func(t tx) (err error) {
		out, err = t.revise(owner, digests, at, func(calendar.Revision) error {
			changed = true
			return nil
		})
		return err
	})
	if err != nil || !changed {
		return out, err
	}
	err = s.write(ctx, doing, func(t tx) error {
		return t.repeat(`insert into revisions (owner, uid, digest, sequence, modified) values ($1, $2, $3, $4, $5)
			on conflict (owner, uid) do update set digest = excluded.digest, sequence = excluded.sequence, modified = excluded.modified`, func(put func(args ...any) error) (err error) {
			out, err = t.revise(owner, digests, at, func(r calendar.Revision) error {
				return put(owner, r.UID, r.Digest, r.Sequence, instant(r.Modified))
			})
			return err
		})
	})
	return out, err
}

// revise returns the revisions of digests and calls change with those that are
// new or not as they were.
func (t tx) revise(owner string, digests []calendar.Revision, at time.Time, change func(calendar.Revision) error) ([]calendar.Revision, error) {
	kept, err := all(t, revision, "select uid, digest, sequence, modified from revisions where owner = $1", owner)
	if err != nil {
		return nil, err
	}
	was := make(map[string]calendar.Revision, len(kept))
	for _, r := range kept {
		was[r.UID] = r
	}
	out := make([]calendar.Revision, 0, len(digests))
	seen := make(map[string]bool, len(digests))
	for _, d := range digests {
		if d.UID == "" || seen[d.UID] {
			return nil, fmt.Errorf("uid %q: want each event once, with a uid: %w", d.UID, calendar.ErrInvalid)
		}
		seen[d.UID] = true
		r, known := was[d.UID]
		if !known || r.Digest != d.Digest {
			if known {
				r.Sequence++
			}
			r.UID, r.Digest = d.UID, d.Digest
			if at.After(r.Modified) {
				r.Modified = at.UTC()
			}
			if err := change(r); err != nil {
				return nil, err
			}
		}
		out = append(out, r)
	}
	return out, nil
}

func revision(row scanner) (r calendar.Revision, err error) {
	return r, row.Scan(&r.UID, &r.Digest, &r.Sequence, timeOf{&r.Modified})
}
