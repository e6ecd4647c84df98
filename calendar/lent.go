package calendar

import (
	"math"
	"slices"
	"time"

	"budswell/climate"
	"budswell/climate/atlas"
)

// Lent is a place whose grower lends its weather to a band. Both are empty where the grower
// has left or edits the club's regions no more, or has no such place: the band then has its own
// weather alone, and its editors are told.
type Lent struct {
	Grower string // id
	Place  string // id
}

// Gone reports that there is no such place any more, or that nobody lends it.
func (l Lent) Gone() bool { return l.Grower == "" }

// LentWithin is how far a place may be from a band that takes its weather, km. Judged, no published
// source: days and nights of a valley go together over some tens of kilometres, and height
// is reckoned with.
const LentWithin = 50

// LentWeather is what pages call the weather of a place that is lent: it tells nothing of it.
const LentWeather = "a member's place"

// lentNote says, to everyone, how weather that is lent was made that of a band.
const lentNote = "over it lies the weather of a member's place nearby, with temperatures taken to the elevation of the band by how they fall with height there"

// Read lays what was read at a place, and said of it by the sources that it has, over the
// weather that it began with.
func (p *Place) Read(series []climate.Series) {
	if slices.ContainsFunc(series, func(v climate.Series) bool { return v.Elevation != nil }) {
		p.Weather.Lapse = lapseAt(p.Site, p.Weather.Lapse)
	}
	p.Weather = p.Weather.With(p.Site, series)
}

// lapseAt is how temperatures fall with height about a site; known where the atlas knows nothing, in
// which case the mean of the atmosphere, nil, is as good as any.
func lapseAt(site climate.Site, known *climate.Lapse) *climate.Lapse {
	if lapse, err := atlas.Lapse(site.Lat, site.Lon, site.Elevation); err == nil {
		return lapse
	}
	return known
}

// Borrow lays the weather of a place, as [Place.Read] made it, over the band's own, as that
// of a station at the place's elevation; what is the band's own stays where both know a day. It
// returns false, and changes nothing, where no temperature was measured or foretold there. What was read
// by hand counts as of a station: it was not read in the band. Nothing in the band's weather
// then tells which place it was, and no source of it is named.
func (b *Band) Borrow(p *Place) bool {
	series := lentSeries(&p.Weather, p.Site.Elevation)
	if !slices.ContainsFunc(series, func(s climate.Series) bool {
		return slices.ContainsFunc(s.Readings, func(r climate.Reading) bool { return !math.IsNaN(r.Tmin) || !math.IsNaN(r.Tmax) })
	}) {
		return false
	}
	w := b.Weather
	w.Lapse = lapseAt(b.Site, w.Lapse)
	w = w.With(b.Site, series)
	note := func(r, own *climate.Record) {
		if r == nil {
			return
		}
		r.Notes = nil // they say how high the place is
		if own != nil {
			r.Notes = slices.Clone(own.Notes)
		}
	}
	note(w.Record, b.Weather.Record)
	if w.Forecast != b.Weather.Forecast {
		note(w.Forecast, nil)
	}
	if r := w.Record; r != nil {
		r.Notes = append(r.Notes, lentNote)
	} else {
		w.Forecast.Notes = append(w.Forecast.Notes, lentNote)
	}
	b.Weather = w
	return true
}

// lentSeries parts the weather of a place into what was measured, what a service's model says,
// and what was foretold; none where there is nothing.
func lentSeries(w *climate.Weather, elevation float64) []climate.Series {
	all := [...]climate.Series{{Kind: climate.FromStation}, {Kind: climate.Analysis}, {Kind: climate.Foretold}}
	for _, r := range []*climate.Record{w.Record, w.Forecast} {
		if r == nil {
			continue
		}
		spans := r.Spans
		for i := range r.Days {
			on := r.First + climate.Date(i)
			for len(spans) > 0 && spans[0].Last < on {
				spans = spans[1:]
			}
			measured := 0
			if len(spans) > 0 && spans[0].First <= on && spans[0].Kind == climate.Analysis {
				measured = 1
			}
			for k := range all {
				v := lentDay(&r.Days[i], func(o climate.Origin) bool {
					return o == climate.Measured && k == measured || o == climate.Predicted && all[k].Kind == climate.Foretold
				})
				if v.On = on; !math.IsNaN(v.Tmin) || !math.IsNaN(v.Tmax) || !math.IsNaN(v.Prcp) {
					all[k].Readings = append(all[k].Readings, v)
				}
			}
		}
	}
	var out []climate.Series
	for _, s := range all {
		if len(s.Readings) > 0 {
			s.Source, s.Elevation = LentWeather, &elevation
			out = append(out, s)
		}
	}
	return out
}

// lentDay is a day with the values of some origins alone.
func lentDay(d *climate.Day, of func(climate.Origin) bool) climate.Reading {
	out := climate.Reading{Tmin: math.NaN(), Tmax: math.NaN(), Prcp: math.NaN(), Got: time.Time{}}
	for _, v := range []struct {
		to, from *float64
		origin   climate.Origin
	}{{&out.Tmin, &d.Tmin, d.TminOrigin}, {&out.Tmax, &d.Tmax, d.TmaxOrigin}, {&out.Prcp, &d.Prcp, d.PrcpOrigin}} {
		if of(v.origin) {
			*v.to = *v.from
		}
	}
	return out
}
