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

// siteFlags say where a weather record was read.
type siteFlags struct {
	Lat       float64 `help:"Latitude, degrees north; south is negative." required:"" placeholder:"DEGREES"`
	Lon       float64 `help:"Longitude, degrees east; west is negative." required:"" placeholder:"DEGREES"`
	Elevation float64 `help:"Elevation in metres." default:"0" placeholder:"METRES"`
	TZ        string  `name:"tz" help:"IANA time zone; found from the coordinates when not given." placeholder:"ZONE"`
}

func (f siteFlags) site(name string) (climate.Site, error) {
	return completeSite(climate.Site{Name: name, Lat: f.Lat, Lon: f.Lon, Elevation: f.Elevation, Zone: f.TZ})
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
