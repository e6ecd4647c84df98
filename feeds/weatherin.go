package feeds

import (
	"context"
	"slices"
	"strings"

	"budswell/calendar"
	"budswell/climate"
	"budswell/feeds/pages"
	"budswell/feeds/wording"
)

// addReadings lays what was read at a place, and said of it by the sources that it
// has, over the weather that it began with.
func (s *Server) addReadings(ctx context.Context, g *garden, p *calendar.Place) error {
	series, err := s.cfg.Store.Readings(ctx, p.Grower, p.ID)
	if err != nil {
		return err
	}
	p.Read(series)
	sources, err := s.sourcesOf(ctx, p.Grower, p.ID)
	for _, w := range sources {
		words, terms := s.credit(w)
		if v := (pages.Source{Credit: words, Terms: terms}); terms != "" && !slices.Contains(g.credits, v) {
			g.credits = append(g.credits, v)
		}
	}
	return err
}

// sourcesOf returns where the weather of a place keeps coming from.
func (s *Server) sourcesOf(ctx context.Context, grower, place string) ([]calendar.WeatherSource, error) {
	all, err := s.cfg.Store.WeatherSourcesOf(ctx, grower)
	return slices.DeleteFunc(all, func(w calendar.WeatherSource) bool { return w.Place != place }), err
}

// credit says whose weather a source gives, and where the terms stand.
func (s *Server) credit(w calendar.WeatherSource) (words, terms string) {
	if s.cfg.Credit == nil {
		return wording.Name(w.Kind), ""
	}
	return s.cfg.Credit(w)
}

// weatherAge says up to which day the weather behind the feeds of a grower is
// known, to stand in their descriptions. It names the day and not its distance, so
// that a feed whose weather stands still does too.
func (g *garden) weatherAge() string {
	var b strings.Builder
	for i := range g.plots {
		p := &g.plots[i]
		b.WriteString(" ")
		if len(g.plots) > 1 {
			b.WriteString(p.plan.Site.Name + ": ")
		}
		if p.known.Valid() {
			b.WriteString(g.in.Say("Weather is known up to {1}.", g.in.Day(p.known)))
		} else {
			b.WriteString(g.in.Say("No weather of the place is known: dates rest on typical years."))
		}
	}
	for _, c := range g.credits {
		b.WriteString(" " + c.Credit + ": " + c.Terms)
	}
	return b.String()
}

// sourceLines says whose weather a place has, and which source has not answered for
// some time.
func (s *Server) sourceLines(ctx context.Context, grower string, p *plot) ([]pages.Source, error) {
	sources, err := s.sourcesOf(ctx, grower, p.place)
	in := tongueOf(ctx)
	var out []pages.Source
	for _, w := range sources {
		var line pages.Source
		line.Credit, line.Terms = s.credit(w)
		switch st := w.State; {
		case st.Tried.IsZero():
			line.State = in.Say("It was not asked yet.")
		case st.Failed > 0 && st.Got.IsZero():
			line.State = in.Say("It has not answered yet.")
		case st.Failed > 0:
			line.State = in.Say("It has not answered since {1}.", in.Day(climate.DateOf(st.Got.In(p.zone)))+", "+st.Got.In(p.zone).Format("15:04"))
		}
		out = append(out, line)
	}
	return out, err
}
