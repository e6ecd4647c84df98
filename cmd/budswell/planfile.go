package main

import (
	"context"
	"errors"
	"fmt"
	"path/filepath"

	"budswell/calendar"
	"budswell/calendar/lore"
	"budswell/climate"
	"budswell/climate/atlas"
)

// readToPlan reads a plan file with all that a plan of one day is made from, and returns
// the day; without a fixed one that is today, where the trees stand. Entries after the day
// are left out of the plan, not refused, so that a plan of an earlier day can be looked at.
func readToPlan(ctx context.Context, p program, path string, fixed *climate.Date) (*calendar.File, *calendar.Lore, *climate.Weather, climate.Date, error) {
	file, known, weather, err := readPlanFile(path, climate.NoDate)
	if err != nil {
		return nil, nil, nil, climate.NoDate, err
	}
	on, err := p.today(fixed, file.Site)
	if err == nil {
		err = file.CheckShows(on)
	}
	if err == nil {
		err = addOffline(ctx, p, path, file, weather)
	}
	return file, known, weather, on, err
}

// readPlanFile reads a plan file with the lore and the weather that it names,
// and completes its site. Entries of logs after today are errors, unless today
// is NoDate.
func readPlanFile(path string, today climate.Date) (*calendar.File, *calendar.Lore, *climate.Weather, error) {
	text, err := readFile(path)
	if err != nil {
		return nil, nil, nil, err
	}
	ground, err := planGround(path, text)
	if err != nil {
		return nil, nil, nil, err
	}
	known := ground.Lore()
	file, err := calendar.ReadFile(path, text, known, today)
	if err != nil {
		return nil, nil, nil, err
	}
	weather := &climate.Weather{Normals: file.Weather.Normals, Frost: file.Weather.Frost}
	if name := file.Weather.Record; name != "" {
		if weather.Record, err = readWeather(beside(path, name)); err != nil {
			return nil, nil, nil, fmt.Errorf("%s: weather: record: %w", path, err)
		}
	}
	where := atlas.Where{Lat: file.Site.Lat, Lon: file.Site.Lon, Elevation: &file.Site.Elevation}
	if file.NoElevation {
		where.Elevation = nil
	}
	if err := assume(weather, &file.Site, where); err != nil {
		return nil, nil, nil, fmt.Errorf("%s: weather: %w", path, err)
	}
	if file.Site, err = completeSite(file.Site); err != nil {
		return nil, nil, nil, fmt.Errorf("%s: %w", path, err)
	}
	if file.Region, err = file.RegionWith(file.Site, *weather, func(name string) (*climate.Record, error) { return readWeather(beside(path, name)) }); err != nil {
		return nil, nil, nil, fmt.Errorf("%s: %w", path, err)
	}
	return file, known, weather, nil
}

// planGround reads the lore that a plan file goes by.
func planGround(path string, text []byte) (*lore.Ground, error) {
	paths := calendar.FileLore(text)
	for i := range paths {
		paths[i] = beside(path, paths[i])
	}
	own, err := loreFiles(paths)
	if err != nil {
		return nil, fmt.Errorf("%s: lore: %w", path, err)
	}
	return lore.NewGround(own...)
}

// beside returns the path of a file that another names.
func beside(path, name string) string {
	if filepath.IsAbs(name) {
		return name
	}
	return filepath.Join(filepath.Dir(path), name)
}

// assume adds to a site's weather what the atlas says of the place, unless something was
// typed, and takes the elevation that goes with it where none was given. It fails where the atlas knows nothing
// and there is nothing else to go by.
func assume(w *climate.Weather, site *climate.Site, where atlas.Where) error {
	if w.Normals != nil || w.Frost != nil {
		return nil
	}
	at, err := atlas.At(where.Lat, where.Lon, where.Elevation)
	if err != nil {
		if w.Record != nil && errors.Is(err, atlas.ErrNoClimate) {
			return nil
		}
		return err
	}
	w.Normals, site.Elevation = &at.Normals, at.Elevation
	return nil
}
