// Package intake fetches the weather of all places from where it keeps coming,
// and keeps it: each source no oftener than it wants to be asked, and at times that
// chance spreads.
package intake

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"runtime/debug"
	"slices"
	"time"

	"github.com/jonboulle/clockwork"

	"budswell/calendar"
	"budswell/climate"
)

// Intake fetches weather.
type Intake struct {
	Store calendar.Store

	// Provider returns what a source is asked through.
	Provider func(w calendar.WeatherSource) (climate.Provider, error)

	// Changed is told, after sources were asked, of each grower whose weather is not
	// what it was; nil: nobody is. An error is logged.
	Changed func(ctx context.Context, grower string) error

	Clock  clockwork.Clock
	Chance func() float64 // 0 to 1, at random
	Log    *slog.Logger

	lease *calendar.Lease // while Run asks
}

const (
	// tick is how often it is looked which sources are to be asked.
	tick = 10 * time.Minute

	// askTime bounds one question with all its requests.
	askTime = 3 * time.Minute

	// spread is how much later than it might a source is asked at most, by chance.
	spread = 10 * time.Minute

	// piece is how many past days are asked for at once, and nextPiece when more are.
	piece     = 366
	nextPiece = time.Hour

	// revised is how many of the last days past are asked for again: an analysis
	// is made better for some time.
	revised = 10

	// Waits after an answer that did not come, doubled each time, and after one
	// that says that asking is wrong.
	firstRetry   = 10 * time.Minute
	longestRetry = 6 * time.Hour
	refusedRetry = 24 * time.Hour

	// A time not to ask before that lies farther ahead is that of a clock that was wrong.
	longestWait = 8 * 24 * time.Hour
)

// Run fetches until ctx ends.
func (in *Intake) Run(ctx context.Context) {
	for {
		if err := in.alone(ctx, in.Clock.Now()); err != nil && ctx.Err() == nil {
			in.Log.ErrorContext(ctx, "weather", "error", err)
		}
		select {
		case <-ctx.Done():
			return
		case <-in.Clock.After(tick + in.by(time.Minute)):
		}
	}
}

// by returns a time up to most, at random.
func (in *Intake) by(most time.Duration) time.Duration {
	return time.Duration(in.Chance() * float64(most))
}

// Refresh asks the sources whose time has come. One that fails is remembered to
// have, and keeps no other from being asked; what it gave before stays.
func (in *Intake) Refresh(ctx context.Context, now time.Time) error {
	sources, err := in.Store.WeatherSources(ctx)
	if err != nil || len(sources) == 0 {
		return err
	}
	places, err := in.Store.Sites(ctx)
	if err != nil {
		return err
	}
	sites := make(map[[2]string]climate.Site, len(places))
	for _, p := range places {
		sites[[2]string{p.Grower, p.ID}] = p.Site
	}
	var errs []error
	var changed []string
	for _, w := range sources {
		site, ok := sites[[2]string{w.Grower, w.Place}]
		if !ok || !due(w.State, now) {
			continue
		}
		if ctx.Err() != nil {
			return ctx.Err()
		}
		if err := in.hold(ctx); err != nil {
			return err
		}
		n, err := in.refresh(ctx, &w, site, now)
		if ctx.Err() != nil {
			return ctx.Err() // that says nothing of the source
		}
		if n > 0 && !slices.Contains(changed, w.Grower) {
			changed = append(changed, w.Grower)
		}
		in.remember(&w.State, err, now)
		log := in.Log.With("grower", w.Grower, "place", w.Place, "source", w.Kind)
		if err != nil {
			log.Warn("no weather", "error", err, "failed", w.State.Failed, "not_before", w.State.NotYet)
		} else {
			log.Info("weather", "days_changed", n, "not_before", w.State.NotYet)
		}
		// A source that was taken away meanwhile has nothing to remember.
		if err := in.Store.Asked(ctx, w); err != nil && !errors.Is(err, calendar.ErrNotFound) {
			errs = append(errs, err)
		}
	}
	for _, grower := range changed {
		if err := in.tell(ctx, grower); err != nil && ctx.Err() == nil {
			in.Log.Error("new weather, but nothing was made of it", "grower", grower, "error", err)
		}
	}
	return errors.Join(errs...)
}

func (in *Intake) tell(ctx context.Context, grower string) (err error) {
	if in.Changed == nil {
		return nil
	}
	defer func() {
		if v := recover(); v != nil {
			err = fmt.Errorf("panic: %v\n%s", v, debug.Stack())
		}
	}()
	return in.Changed(ctx, grower)
}

func due(s calendar.SourceState, now time.Time) bool {
	return !s.NotYet.After(now) || s.NotYet.Sub(now) > longestWait
}

// remember notes how asking went. On success NotYet is set already.
func (in *Intake) remember(s *calendar.SourceState, err error, now time.Time) {
	s.Tried = now
	if err == nil {
		s.Got, s.Failed, s.Why = now, 0, ""
		return
	}
	s.Failed++
	s.Why = fmt.Sprintf("%.500s", err.Error())
	wait := firstRetry << min(s.Failed-1, 10)
	if wait > longestRetry {
		wait = longestRetry
	}
	var refused *climate.Refused
	var later *climate.Later
	switch {
	case errors.As(err, &later):
		wait = later.Until.Sub(now)
	case errors.As(err, &refused):
		wait = refusedRetry
	}
	s.NotYet = now.Add(wait + in.by(spread))
}

// refresh asks one source and keeps what it says; n is how many days changed.
func (in *Intake) refresh(ctx context.Context, w *calendar.WeatherSource, site climate.Site, now time.Time) (n int, err error) {
	defer func() {
		if v := recover(); v != nil {
			err = fmt.Errorf("panic: %v\n%s", v, debug.Stack())
		}
	}()
	ctx, cancel := context.WithTimeout(ctx, askTime)
	defer cancel()
	p, err := in.Provider(*w)
	if err != nil {
		return 0, err
	}
	loc, err := site.Location()
	if err != nil {
		return 0, err
	}
	ask := climate.Ask{Site: site, Ahead: true, Now: now, Was: climate.Memory{Modified: w.State.Modified, Digest: w.State.Digest}}
	back := backlog{}
	if p.Back() > 0 {
		if back, err = in.backlog(ctx, w, climate.DateOf(now.In(loc)), p.Back()); err != nil {
			return 0, err
		}
		ask.First, ask.Last, ask.Was = back.first, back.last, climate.Memory{}
	}
	a, err := p.Fetch(ctx, ask)
	if err != nil {
		if p.Back() == 0 {
			return 0, err
		}
		// An archive that does not answer is no reason to miss the frost of tonight.
		ahead, e := p.Fetch(ctx, climate.Ask{Site: site, First: climate.NoDate, Last: climate.NoDate, Ahead: true, Now: now})
		if e != nil {
			return 0, err
		}
		n, e = in.keep(ctx, w, ahead)
		return n, errors.Join(err, e)
	}
	if n, err = in.keep(ctx, w, a); err != nil {
		return n, err
	}
	next := p.Pause()
	if p.Back() > 0 {
		if back.older.Valid() {
			older, err := p.Fetch(ctx, climate.Ask{Site: site, First: back.older, Last: back.asked - 1, Now: now})
			if err != nil {
				return n, err
			}
			more, err := in.keep(ctx, w, older)
			if n += more; err != nil {
				return n, err
			}
			back.asked = back.older
		}
		a.Memory.Digest = back.asked.String()
		if back.asked > back.oldest {
			next = min(next, nextPiece)
		}
	}
	w.State.Modified, w.State.Digest = a.Memory.Modified, a.Memory.Digest
	w.State.NotYet = now.Add(next)
	if a.Expires.After(w.State.NotYet) {
		w.State.NotYet = a.Expires
	}
	if next > 0 {
		w.State.NotYet = w.State.NotYet.Add(in.by(spread))
	}
	return n, nil
}

// keep puts an answer into the store.
func (in *Intake) keep(ctx context.Context, w *calendar.WeatherSource, a *climate.Answer) (n int, err error) {
	for _, note := range a.Notes {
		in.Log.InfoContext(ctx, "weather", "grower", w.Grower, "place", w.Place, "source", w.Kind, "note", note)
	}
	for _, s := range a.Series {
		changed, err := in.Store.PutReadings(ctx, w.Grower, w.Place, s, a.Whole)
		if n += changed; err != nil {
			return n, err
		}
	}
	return n, nil
}

// backlog is which past days are to be asked for: the last ones, first to last,
// and, where all back to asked were asked for already, a piece before them that begins
// on older; NoDate where they reach back to oldest.
type backlog struct {
	first, last, asked, older, oldest climate.Date
}

// backlog finds which past days to ask for. How far back they were asked for is
// remembered as the source's digest, since an archive need not have them all.
func (in *Intake) backlog(ctx context.Context, w *calendar.WeatherSource, today climate.Date, years int) (backlog, error) {
	t := today.Time()
	b := backlog{first: today - piece, last: today - 1, older: climate.NoDate, oldest: climate.NewDate(t.Year()-years, t.Month(), t.Day())}
	series, err := in.Store.Readings(ctx, w.Grower, w.Place)
	if err != nil {
		return b, err
	}
	newest := climate.NoDate
	for _, s := range series {
		if n := len(s.Readings); n > 0 && s.Kind == climate.Analysis {
			newest = max(newest, s.Readings[n-1].On)
		}
	}
	b.asked = askedBack(w)
	if !b.asked.Valid() || !newest.Valid() || newest < today-piece {
		b.asked = b.first // from the beginning, or after so long a break that a hole would be left
		return b, nil
	}
	b.first = min(newest+1-revised, b.last)
	if b.asked > b.oldest {
		b.older = max(b.oldest, b.asked-piece)
	}
	return b, nil
}

// askedBack returns how far back a source was asked for, NoDate where nothing is
// remembered of it.
func askedBack(w *calendar.WeatherSource) climate.Date {
	if d, err := climate.ParseDate(w.State.Digest); err == nil {
		return d
	}
	return climate.NoDate
}
