package feeds

import (
	"context"
	"strings"

	"budswell/calendar"
	"budswell/feeds/pages"
	"budswell/feeds/wording"
)

// addReadings lays what was read at a place, and said of it by the sources that it
// has, over the weather that it began with.
func (s *Server) addReadings(ctx context.Context, p *calendar.Place) error {
	series, err := s.cfg.Store.Readings(ctx, p.Grower, p.ID)
	if err == nil {
		p.Weather = p.Weather.With(p.Site, series)
	}
	return err
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
			b.WriteString("Weather is known up to " + wording.Day(p.known) + ".")
		} else {
			b.WriteString("No weather of the place is known: dates rest on typical years.")
		}
	}
	return b.String()
}

// addSources says on the page whose weather a place has, and which source has not
// answered for some time.
func (s *Server) addSources(ctx context.Context, g *garden, h *pages.Home) error {
	all, err := s.cfg.Store.WeatherSources(ctx)
	if err != nil {
		return err
	}
	for _, w := range all {
		for i := range g.plots {
			p := &g.plots[i]
			if w.Grower != g.grower.ID || w.Place != p.place {
				continue
			}
			line := wording.Name(w.Kind) + "."
			if s.cfg.Credit != nil {
				line = wording.Sentence(s.cfg.Credit(w))
			}
			switch st := w.State; {
			case st.Tried.IsZero():
				line += " It was not asked yet."
			case st.Failed > 0 && st.Got.IsZero():
				line += " It has not answered yet."
			case st.Failed > 0:
				line += " It has not answered since " + st.Got.In(p.zone).Format("2 January 2006, 15:04") + "."
			}
			h.Places[i].Sources = append(h.Places[i].Sources, line)
		}
	}
	return nil
}
