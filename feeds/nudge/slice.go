package nudge

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"hash/fnv"
	"maps"
	"slices"
	"strings"
	"time"

	"budswell/calendar"
)

// Growers are parted into slices, each a job of its own, so that several instances over
// one database share a morning and none does another's growers. Growers of one site
// are in few slices that follow each other: what is forecast for one of them serves
// the next, and no more sites are in a slice than outlooks are kept (500 sites: two in
// one). Which slice a grower is in hangs on nothing but the grower, so that
// instances agree however many come and go.
const (
	sitesApart   = 256
	growersApart = 4 // within a site
)

// slice is growers whose mornings one instance does.
type slice struct {
	job     string             // name of its lease
	growers [][]calendar.Place // of each all places, without their weather
}

// group is what slices of the same sites have in common in the names of their jobs.
func (s *slice) group() string { return s.job[:strings.LastIndexByte(s.job, ' ')] }

// sliceOf names the job of the mornings of a grower by the grower's first place.
func sliceOf(p *calendar.Place) string {
	part := func(of string, parts uint32) uint32 {
		h := fnv.New32a()
		_, _ = h.Write([]byte(of))
		// The lowest bits of the sum move least.
		return (h.Sum32() ^ h.Sum32()>>16) % parts
	}
	return fmt.Sprintf("mornings %03d %d", part(fmt.Sprint(p.Site.Lat, p.Site.Lon, p.Site.Zone), sitesApart), part(p.Grower, growersApart))
}

// slicesOf parts those of all growers for whom an hour has come, in the order of the
// names of jobs, and within one site by site. The places of a grower follow each other.
func (s *Scheduler) slicesOf(places []calendar.Place, ran map[string]time.Time, now time.Time) []*slice {
	byJob := map[string]*slice{}
	for len(places) > 0 {
		n := 1
		for n < len(places) && places[n].Grower == places[0].Grower {
			n++
		}
		of := places[:n:n]
		places = places[n:]
		if !slices.ContainsFunc(of, func(p calendar.Place) bool { return s.come(&p, ran[morningOf(&p)], now) }) {
			continue
		}
		job := sliceOf(&of[0])
		if byJob[job] == nil {
			byJob[job] = &slice{job: job}
		}
		byJob[job].growers = append(byJob[job].growers, of)
	}
	out := slices.SortedFunc(maps.Values(byJob), func(a, b *slice) int { return strings.Compare(a.job, b.job) })
	for _, part := range out {
		slices.SortStableFunc(part.growers, func(a, b []calendar.Place) int {
			return cmp.Or(cmp.Compare(a[0].Site.Lat, b[0].Site.Lat), cmp.Compare(a[0].Site.Lon, b[0].Site.Lon))
		})
	}
	return out
}

// come reports whether an hour of a place has come since it was done last.
func (s *Scheduler) come(p *calendar.Place, last, now time.Time) bool {
	loc := s.zones[p.Site.Zone]
	if loc == nil {
		var err error
		if loc, err = p.Site.Location(); err != nil {
			s.log.Error("morning", "grower", p.Grower, "place", p.ID, "error", err)
			return false
		}
		s.zones[p.Site.Zone] = loc
	}
	return isDue(last, now, loc, s.hours)
}

// share does what it can have of the slices. Where another instance is at those of a site,
// its other slices are left for last.
func (s *Scheduler) share(ctx context.Context, all []*slice) {
	var last []*slice
	taken := ""
	for _, part := range all {
		if ctx.Err() != nil {
			return
		}
		if part.group() == taken {
			last = append(last, part)
		} else if s.slice(ctx, part) {
			taken = part.group()
		}
	}
	for _, part := range last {
		if ctx.Err() != nil {
			return
		}
		s.slice(ctx, part)
	}
}

// slice does the mornings of a slice, and reports whether another instance has it. A grower
// for whom that fails is tried again in an hour and does not keep the others from theirs.
func (s *Scheduler) slice(ctx context.Context, part *slice) (taken bool) {
	h, err := s.locks.take(ctx, part.job)
	if err != nil {
		if !errors.Is(err, calendar.ErrConflict) && ctx.Err() == nil {
			s.log.Error("job cannot be taken", "job", part.job, "error", err)
		}
		return errors.Is(err, calendar.ErrConflict)
	}
	done := false
	defer func() { _ = h.end(ctx, done) }() // it is logged
	for _, places := range part.growers {
		if ctx.Err() != nil {
			return false
		}
		if err := s.morning(ctx, places, h); err != nil {
			if ctx.Err() == nil {
				s.log.Error("morning", "grower", places[0].Grower, "error", err)
			}
			if errors.Is(err, errTaken) {
				return true
			}
		}
	}
	done = ctx.Err() == nil
	return false
}
