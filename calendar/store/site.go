package store

import (
	"database/sql"
	"fmt"

	"budswell/calendar"
	"budswell/climate"
)

const siteColumns = `s.id, s.name, s.lat, s.lon, s.elevation, s.zone, s.normals, s.frost, s.seed,
	s.record_source, s.record_first, s.record_notes, s.forecast_source, s.forecast_first, s.forecast_notes`

// siteRow is a row of the sites table. Its weather lacks the daily series.
type siteRow struct {
	id               int64
	site             climate.Site
	weather          climate.Weather
	record, forecast seriesRow
}

// seriesRow is what the sites table says of a daily series.
type seriesRow struct {
	source, first sql.NullString
	notes         []string
}

func (r *siteRow) dest(more ...any) []any {
	return append(more, &r.id, &r.site.Name, &r.site.Lat, &r.site.Lon, &r.site.Elevation, &r.site.Zone,
		jsonOf{&r.weather.Normals}, jsonOf{&r.weather.Frost}, bitsOf{&r.weather.Seed},
		&r.record.source, &r.record.first, jsonOf{&r.record.notes}, &r.forecast.source, &r.forecast.first, jsonOf{&r.forecast.notes})
}

// bitsOf reads an unsigned number kept by its bits in a signed column.
type bitsOf struct{ v *uint64 }

func (b bitsOf) Scan(src any) error {
	var n sql.NullInt64
	err := n.Scan(src)
	*b.v = uint64(n.Int64)
	return err
}

// load returns the weather of r with its daily series.
func (t tx) load(r *siteRow) (w climate.Weather, err error) {
	w = r.weather
	if w.Record, err = t.series(r.id, ofRecord, r.record); err != nil {
		return w, err
	}
	w.Forecast, err = t.series(r.id, ofForecast, r.forecast)
	return w, err
}

func (t tx) series(site int64, kind string, r seriesRow) (*climate.Record, error) {
	if !r.source.Valid {
		return nil, nil
	}
	out := &climate.Record{Source: r.source.String, First: climate.NoDate, Notes: r.notes}
	if !r.first.Valid {
		return out, nil
	}
	var err error
	if out.First, err = climate.ParseDate(r.first.String); err != nil {
		return nil, err
	}
	out.Days, err = t.days(site, kind, out.First)
	return out, err
}

// putSite keeps a site and its weather under the number id, or under a new one
// where id is 0, and returns the number.
func (t tx) putSite(id int64, site climate.Site, w climate.Weather) (int64, error) {
	if err := checkSite(site, w); err != nil {
		return 0, fmt.Errorf("%w: %w", err, calendar.ErrInvalid)
	}
	var normals, frost any
	var err error
	if w.Normals != nil {
		if normals, err = asJSON(w.Normals); err != nil {
			return 0, err
		}
	}
	if w.Frost != nil {
		if frost, err = asJSON(w.Frost); err != nil {
			return 0, err
		}
	}
	if id == 0 {
		row := t.QueryRowContext(t.ctx, "insert into sites (name, lat, lon, elevation, zone, seed) values ('', 0, 0, 0, '', 0) returning id")
		if err := row.Scan(&id); err != nil {
			return 0, err
		}
	}
	var recordNotes, forecastNotes any
	if recordNotes, err = notes(w.Record); err != nil {
		return 0, err
	}
	if forecastNotes, err = notes(w.Forecast); err != nil {
		return 0, err
	}
	recordSource, recordFirst := head(w.Record)
	forecastSource, forecastFirst := head(w.Forecast)
	if _, err := t.exec(`update sites set name = $1, lat = $2, lon = $3, elevation = $4, zone = $5, normals = $6, frost = $7,
		seed = $8, record_source = $9, record_first = $10, forecast_source = $11, forecast_first = $12,
		record_notes = $13, forecast_notes = $14 where id = $15`,
		site.Name, site.Lat, site.Lon, site.Elevation, site.Zone, normals, frost,
		int64(w.Seed), recordSource, recordFirst, forecastSource, forecastFirst, recordNotes, forecastNotes, id); err != nil {
		return 0, err
	}
	if err := t.putDays(id, ofRecord, w.Record); err != nil {
		return 0, err
	}
	return id, t.putDays(id, ofForecast, w.Forecast)
}

// head returns the columns of a series that may be nil.
func head(r *climate.Record) (source, first any) {
	if r == nil {
		return nil, nil
	}
	if !r.First.Valid() {
		return r.Source, nil
	}
	return r.Source, r.First.String()
}

// notes returns those of a series that may be nil, as JSON.
func notes(r *climate.Record) (any, error) {
	if r == nil || len(r.Notes) == 0 {
		return nil, nil
	}
	return asJSON(r.Notes)
}

// checkSite reports what of a site could not be given back as it is.
func checkSite(site climate.Site, w climate.Weather) error {
	if err := site.Validate(); err != nil {
		return err
	}
	if w.Normals != nil {
		if err := w.Normals.Validate(); err != nil {
			return err
		}
	}
	if w.Frost != nil {
		if err := w.Frost.Validate(); err != nil {
			return err
		}
	}
	for _, r := range []*climate.Record{w.Record, w.Forecast} {
		if r == nil || !r.First.Valid() && len(r.Days) == 0 {
			continue
		}
		for _, d := range []climate.Date{r.First, max(r.First, r.Last())} {
			if _, err := climate.ParseDate(d.String()); err != nil {
				return fmt.Errorf("weather: %w", err)
			}
		}
		for i, d := range r.Days {
			if max(d.TminOrigin, d.TmaxOrigin, d.PrcpOrigin) > climate.Measured {
				return fmt.Errorf("weather: %s: origin %d: want 0 to %d", r.First+climate.Date(i),
					max(d.TminOrigin, d.TmaxOrigin, d.PrcpOrigin), climate.Measured)
			}
		}
	}
	return nil
}
