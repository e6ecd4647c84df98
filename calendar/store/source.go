package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"math"
	"slices"
	"time"

	"budswell/calendar"
	"budswell/climate"
)

// WeatherSources implements [calendar.Store].
func (s *Store) WeatherSources(ctx context.Context) (out []calendar.WeatherSource, err error) {
	err = s.read(ctx, "weather sources", func(t tx) (err error) {
		out, err = all(t, weatherSource, weatherSourceColumns+" order by grower, place, kind")
		return err
	})
	return out, err
}

// WeatherSourcesOf implements [calendar.Store].
func (s *Store) WeatherSourcesOf(ctx context.Context, grower string) (out []calendar.WeatherSource, err error) {
	err = s.read(ctx, fmt.Sprintf("weather sources of %q", grower), func(t tx) (err error) {
		out, err = all(t, weatherSource, weatherSourceColumns+" where grower = $1 order by place, kind", grower)
		return err
	})
	return out, err
}

const weatherSourceColumns = `select grower, place, kind, address, elevation, tried, got, not_yet, failed, why, modified, digest
	from weather_sources`

func weatherSource(row scanner) (w calendar.WeatherSource, err error) {
	s := &w.State
	return w, row.Scan(&w.Grower, &w.Place, &w.Kind, &w.At, &w.Elevation, timeOf{&s.Tried}, timeOf{&s.Got}, timeOf{&s.NotYet},
		&s.Failed, &s.Why, &s.Modified, &s.Digest)
}

// PutWeatherSources implements [calendar.Store].
func (s *Store) PutWeatherSources(ctx context.Context, grower, place string, sources []calendar.WeatherSource) error {
	return s.write(ctx, fmt.Sprintf("put weather sources of place %q of %q", place, grower), func(t tx) error {
		was, err := all(t, weatherSource, weatherSourceColumns+" where grower = $1 and place = $2", grower, place)
		if err != nil {
			return err
		}
		if _, err := t.exec("delete from weather_sources where grower = $1 and place = $2", grower, place); err != nil {
			return err
		}
		for i, w := range sources {
			if slices.ContainsFunc(sources[:i], func(o calendar.WeatherSource) bool { return o.Kind == w.Kind }) {
				return fmt.Errorf("two sources of kind %q: want one: %w", w.Kind, calendar.ErrInvalid)
			}
			if err := finite(w.Elevation); err != nil {
				return err
			}
			w.State = calendar.SourceState{}
			for _, o := range was {
				if o.Kind != w.Kind || o.At != w.At {
					continue
				}
				if w.State = o.State; !sameHeight(o.Elevation, w.Elevation) {
					// Its days are to be had anew, for the other elevation.
					w.State.NotYet, w.State.Modified = time.Time{}, ""
				}
			}
			if err := t.putWeatherSource(grower, place, w); err != nil {
				return err
			}
		}
		if err := t.lentChanged(grower, place); err != nil {
			return err
		}
		return t.changed(growerOwner(grower))
	})
}

func sameHeight(a, b *float64) bool { return a == b || a != nil && b != nil && *a == *b }

func (t tx) putWeatherSource(grower, place string, w calendar.WeatherSource) error {
	if err := named(w.Kind); err != nil {
		return err
	}
	s := &w.State
	_, err := t.exec(`insert into weather_sources (grower, place, kind, address, elevation, tried, got, not_yet, failed, why, modified, digest)
		values ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12)`, grower, place, w.Kind, w.At, w.Elevation,
		instant(s.Tried), instant(s.Got), instant(s.NotYet), s.Failed, s.Why, s.Modified, s.Digest)
	return err
}

// Asked implements [calendar.Store].
func (s *Store) Asked(ctx context.Context, w calendar.WeatherSource) error {
	return s.write(ctx, fmt.Sprintf("remember asking %s for place %q of %q", w.Kind, w.Place, w.Grower), func(t tx) error {
		v := &w.State
		return one(t.exec(`update weather_sources set tried = $1, got = $2, not_yet = $3, failed = $4, why = $5, modified = $6, digest = $7
			where grower = $8 and place = $9 and kind = $10 and address = $11`,
			instant(v.Tried), instant(v.Got), instant(v.NotYet), v.Failed, v.Why, v.Modified, v.Digest, w.Grower, w.Place, w.Kind, w.At))
	})
}

// elsewhere is by how many degrees a place must move for weather that services gave
// for it not to be its own any more: about a kilometre.
const elsewhere = 0.01

// leave lets go of what services gave for a place, where p is elsewhere than it was.
func (t tx) leave(site int64, p calendar.Place) error {
	var lat, lon float64
	err := t.QueryRowContext(t.ctx, "select lat, lon from sites where id = $1", site).Scan(&lat, &lon)
	if errors.Is(err, sql.ErrNoRows) {
		return nil // a new place
	}
	if err != nil || math.Abs(lat-p.Site.Lat) <= elsewhere && math.Abs(lon-p.Site.Lon) <= elsewhere {
		return err
	}
	for _, statement := range []string{
		"delete from readings where series in (select id from series where grower = $1 and place = $2 and kind in ($3, $4))",
		"delete from series where grower = $1 and place = $2 and kind in ($3, $4)",
	} {
		if _, err := t.exec(statement, p.Grower, p.ID, climate.Analysis.String(), climate.Foretold.String()); err != nil {
			return err
		}
	}
	_, err = t.exec("update weather_sources set not_yet = null, modified = '', digest = '' where grower = $1 and place = $2", p.Grower, p.ID)
	return err
}

// placed reports a place that is not there.
func (t tx) placed(grower, place string) error {
	id, err := t.siteOf("select site from places where grower = $1 and id = $2", grower, place)
	if err == nil && id == 0 {
		err = sql.ErrNoRows
	}
	return err
}
