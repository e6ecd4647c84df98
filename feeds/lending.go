package feeds

import (
	"context"
	"errors"
	"slices"
	"strings"
	"time"

	"budswell/calendar"
	"budswell/climate"
	"budswell/feeds/pages"
	"budswell/feeds/wording"
)

// lentHow is how it stands with the weather that a band takes from a place.
type lentHow int

const (
	lentNone  lentHow = iota // it takes none
	lentSound                // it does
	lentGone                 // nobody lends it any more
	lentFar                  // the place is too far off now
	lentEmpty                // nothing was measured there
)

// lending is what the bands of a region take from places, by the bands' ids.
type lending struct {
	stands  map[string]lentHow
	credits map[string][]pages.Source // whose weather that is, where it is to be told
}

// all are the credits of all bands, each once.
func (l *lending) all(r *calendar.Region) (out []pages.Source) {
	for i := range r.Bands {
		for _, v := range l.credits[r.Bands[i].ID] {
			if !slices.Contains(out, v) {
				out = append(out, v)
			}
		}
	}
	return out
}

// about says whose weather it is, to stand in the descriptions of feeds.
func (l *lending) about(r *calendar.Region) string {
	var b strings.Builder
	for _, c := range l.all(r) {
		b.WriteString(" " + c.Credit + ": " + c.Terms)
	}
	return b.String()
}

// until is how long what was planned of a region holds, at most the day: where weather is lent to a
// band, what was made in the night gives way once the morning's has come. What comes
// in all day long waits for the next day; dates hardly move by it.
func (l *lending) until(now time.Time, on climate.Date, zone *time.Location) time.Time {
	morning := midnight(on, zone).Add(morningTime)
	for _, how := range l.stands {
		if how != lentNone && now.Before(morning) {
			return morning
		}
	}
	return midnight(on+1, zone)
}

// lend lets the bands of a region have the weather of the places that are lent to them, as
// it is known now, and forgets whose they are: what is made of the region then cannot tell. A band
// whose place cannot be had keeps to its own weather.
func (s *Server) lend(ctx context.Context, r *calendar.Region) (*lending, error) {
	out := &lending{stands: map[string]lentHow{}, credits: map[string][]pages.Source{}}
	r.Bands = slices.Clone(r.Bands)
	for i := range r.Bands {
		b := &r.Bands[i]
		p, how, err := s.lentTo(ctx, r.Club, b)
		if err != nil {
			return nil, err
		}
		if how == lentSound {
			b.Weather = p.lent
			sources, err := s.sourcesOf(ctx, p.Grower, p.ID)
			if err != nil {
				return nil, err
			}
			out.credits[b.ID] = s.lentCredits(p, sources)
		}
		out.stands[b.ID], b.Lent = how, nil
	}
	return out, nil
}

// lentPlace is a place as its grower's plans have it.
type lentPlace struct {
	calendar.Place
	series []climate.Series
	began  *climate.Record // the station's file that it began with, or nil
	lent   climate.Weather // of the band that borrows it
}

// lentTo returns the place that a band takes its weather from, and how that stands: its grower
// must be one who edits the regions of the club, now.
func (s *Server) lentTo(ctx context.Context, club string, b *calendar.Band) (*lentPlace, lentHow, error) {
	l := b.Lent
	if l == nil {
		return nil, lentNone, nil
	}
	if l.Gone() {
		return nil, lentGone, nil
	}
	of, err := s.cfg.Store.Memberships(ctx, l.Grower)
	if err != nil {
		return nil, lentNone, err
	}
	if !slices.ContainsFunc(of, func(m calendar.Member) bool { return m.Club == club && m.Role.May(calendar.Editor) }) {
		return nil, lentGone, nil
	}
	p := &lentPlace{}
	p.Place, err = s.cfg.Store.Place(ctx, l.Grower, l.Place)
	switch {
	case errors.Is(err, calendar.ErrNotFound):
		return nil, lentGone, nil
	case err != nil:
		return nil, lentNone, err
	case b.Site.Kilometres(p.Site) > calendar.LentWithin:
		return p, lentFar, nil
	}
	if p.series, err = s.cfg.Store.Readings(ctx, l.Grower, l.Place); err != nil {
		return nil, lentNone, err
	}
	p.began = p.Weather.Record
	p.Read(p.series)
	tried := *b
	if !tried.Borrow(&p.Place) {
		return p, lentEmpty, nil
	}
	p.lent = tried.Weather
	return p, lentSound, nil
}

// ghcnCredit is what GHCN-Daily wants to be cited as, whichever way a file of it came here.
var ghcnCredit = pages.Source{
	Credit: "Station weather of GHCN-Daily: NOAA NCEI, Menne et al. 2012, doi:10.7289/V5D21VHZ, made into dates here", Terms: "https://doi.org/10.7289/V5D21VHZ",
}

// lentCredits says to everyone whose weather that of a place is, by the services that are
// asked for it and those that were: by nothing that the grower typed, such as the address of a
// station or the name of a file.
func (s *Server) lentCredits(p *lentPlace, sources []calendar.WeatherSource) (out []pages.Source) {
	var names []string
	if p.began != nil {
		names = append(names, p.began.Source)
	}
	for _, w := range sources {
		names = append(names, serviceName(wording.English, w.Kind))
	}
	for _, v := range p.series {
		if len(v.Readings) > 0 {
			names = append(names, v.Source)
		}
	}
	credit := func(name string, v pages.Source) {
		if v.Terms != "" && !slices.Contains(out, v) && slices.ContainsFunc(names, func(n string) bool { return strings.HasPrefix(n, name) }) {
			out = append(out, v)
		}
	}
	for _, kind := range []string{calendar.SourceOpenMeteo, calendar.SourceMETNorway} {
		words, terms := s.credit(calendar.WeatherSource{Kind: kind})
		credit(serviceName(wording.English, kind), pages.Source{Credit: words, Terms: terms})
	}
	credit("GHCN-Daily", ghcnCredit)
	return out
}

// lentWords says to an editor how it stands with the weather that a band takes from a place; the
// place is named to its own grower alone.
func (s *Server) lentWords(ctx context.Context, in *wording.Tongue, g calendar.Grower, club string, b *calendar.Band) (string, error) {
	p, how, err := s.lentTo(ctx, club, b)
	if err != nil {
		return "", err
	}
	whose := in.Say("a place of an editor")
	if how != lentNone && how != lentGone && b.Lent.Grower == g.ID {
		whose = in.Say("your place {1}", p.Site.Name)
	}
	switch how {
	case lentSound:
		return in.Say("Over it, each morning, the weather of {1}.", whose), nil
	case lentGone:
		return in.Say("It took its weather from a place of an editor, which is gone, or whose owner left or edits no more: it goes by its own weather alone. Pick another place, or none."), nil
	case lentFar:
		return in.Say("It goes by its own weather alone: {1}, from which it is to take its weather, is more than {2} away by now. Pick another place, or none.", whose, lentReach), nil
	case lentEmpty:
		return in.Say("It goes by its own weather alone until any is measured, or foretold, at {1}.", whose), nil
	}
	return "", nil
}
