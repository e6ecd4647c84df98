package main

import (
	"encoding/json"
	"fmt"
	"io"
	"os"
	"reflect"

	"github.com/alecthomas/kong"

	"budswell/calendar"
	"budswell/calendar/lore"
	"budswell/climate"
	"budswell/climate/atlas"
	"budswell/climate/source"
)

var dateType = reflect.TypeFor[climate.Date]()

// decodeDate reads a flag that is a day.
func decodeDate(ctx *kong.DecodeContext, target reflect.Value) error {
	var text string
	if err := ctx.Scan.PopValueInto("date", &text); err != nil {
		return err
	}
	d, err := climate.ParseDate(text)
	if err != nil {
		return err
	}
	target.Set(reflect.ValueOf(d))
	return nil
}

// siteFlags say where a place is: by name, or by numbers.
type siteFlags struct {
	Place     string   `help:"Name of a town, or LAT,LON[,ELEVATION]; in place of --lat and --lon." placeholder:"NAME"`
	Lat       *float64 `help:"Latitude, degrees north; south is negative." placeholder:"DEGREES"`
	Lon       *float64 `help:"Longitude, degrees east; west is negative." placeholder:"DEGREES"`
	Elevation *float64 `help:"Elevation in metres; that of the stations around when not given." placeholder:"METRES"`
	TZ        string   `name:"tz" help:"IANA time zone; found from the coordinates when not given." placeholder:"ZONE"`
}

// where returns the place that the flags name.
func (f siteFlags) where() (atlas.Where, error) {
	byNumbers := f.Lat != nil && f.Lon != nil
	switch {
	case (f.Place != "") == (f.Lat != nil || f.Lon != nil), f.Place == "" && !byNumbers:
		return atlas.Where{}, fmt.Errorf("%w: want either --place or both --lat and --lon", errUsage)
	case byNumbers:
		return atlas.Where{Lat: *f.Lat, Lon: *f.Lon, Elevation: f.Elevation}, nil
	}
	w, err := atlas.ParseWhere(f.Place)
	if f.Elevation != nil {
		w.Elevation = f.Elevation
	}
	return w, err
}

// completeSite finds the time zone where none is given, and checks the rest.
func completeSite(s climate.Site) (climate.Site, error) {
	if s.Zone == "" {
		zone, err := atlas.Zone(s.Lat, s.Lon)
		if err != nil {
			return s, err
		}
		s.Zone = zone
	}
	return s, s.Validate()
}

// readWeather reads a weather file, whatever its form.
func readWeather(path string) (*climate.Record, error) { return source.ReadFile(path) }

func writeJSON(w io.Writer, v any) error {
	e := json.NewEncoder(w)
	e.SetIndent("", "  ")
	e.SetEscapeHTML(false)
	return e.Encode(v)
}

// findSpecies finds a species of the embedded lore by any of its names.
func findSpecies(name string) (*calendar.Lore, *calendar.Species, error) {
	known, err := lore.Load()
	if err != nil {
		return nil, nil, err
	}
	species, err := known.SpeciesNamed(name)
	if err != nil {
		return nil, nil, err
	}
	return known, species, nil
}

// readStation reads a weather file that is open already.
func readStation(name string, r io.Reader) (*climate.Record, error) { return source.Read(name, r) }

// longestFile is how large a file of YAML may be, far above what trees or lore
// need; their readers have bounds of their own.
const longestFile = 16 << 20

// readFile reads a file of bounded size, and nothing that is not a file.
func readFile(path string) ([]byte, error) {
	file, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer file.Close()
	info, err := file.Stat()
	switch {
	case err != nil:
		return nil, err
	case !info.Mode().IsRegular():
		return nil, fmt.Errorf("%s: want a file", path)
	case info.Size() > longestFile:
		return nil, fmt.Errorf("%s: has %d bytes; want at most %d", path, info.Size(), longestFile)
	}
	return io.ReadAll(io.LimitReader(file, longestFile))
}
