package calendar

import (
	"cmp"
	"fmt"
	"net/url"
	"slices"
	"strings"

	"github.com/goccy/go-yaml/ast"
)

// readBenches reads the benches of a place.
func (r *fileReader) readBenches(n ast.Node, at string) {
	for i, item := range r.items(n, at) {
		at := fmt.Sprintf("%s[%d]", at, i+1)
		var b Bench
		before := len(r.faults)
		r.fields(item, at, map[string]func(ast.Node, string){
			"id": r.into(&b.ID), "name": r.into(&b.Name), "exposure": r.into(&b.Exposure),
			"shift_tmin": r.into(&b.ShiftTmin), "shift_tmax": r.into(&b.ShiftTmax),
			"floor": func(n ast.Node, at string) { b.Floor = new(float64); r.value(n, at, b.Floor) },
		}, "name")
		b.ID = cmp.Or(b.ID, Slug(b.Name))
		r.benches = append(r.benches, b)
		if len(r.faults) > before {
			continue
		}
		if err := CheckBenches(r.benches[:i+1]); err != nil {
			r.no(item, at, "%s", strings.TrimSuffix(err.Error(), ": "+ErrInvalid.Error()))
			r.benches = r.benches[:i]
			return
		}
	}
}

// bench reads a bench by its id or name.
func (r *fileReader) bench(n ast.Node, at string, id *string) {
	if !r.value(n, at, id) {
		return
	}
	name := *id
	ids := make([]string, len(r.benches))
	for i, b := range r.benches {
		if ids[i] = b.ID; b.Name == name {
			*id = b.ID
		}
	}
	if !slices.Contains(ids, *id) {
		r.no(n, at, "there is no bench %q; want the name or id of one of benches%s", name, meant(nearest(name, ids)))
	}
}

// source reads where weather keeps coming from; an empty kind is read as well.
func (r *fileReader) source(n ast.Node, at string, w *FileWeather, kind string) {
	s := WeatherSource{Kind: kind}
	switch kind {
	case SourceFolder:
		if r.value(n, at, &s.At) && strings.TrimSpace(s.At) == "" {
			r.no(n, at, "want the path of a file or folder")
		}
	case SourceStation:
		if !r.value(n, at, &s.At) {
			return
		}
		if u, err := url.Parse(s.At); err != nil || u.Scheme != "https" && u.Scheme != "http" || u.Host == "" || u.User != nil {
			r.no(n, at, "want an address that begins with https://")
		}
	default:
		services := []string{SourceOpenMeteo, SourceMETNorway}
		if r.value(n, at, &s.Kind) && !slices.Contains(services, s.Kind) {
			r.no(n, at, "want one of %s%s", strings.Join(services, ", "), meant(nearest(s.Kind, services)))
		}
	}
	w.Sources = append(w.Sources, s)
}

// stationElevation reads the elevation of the station, where there is one.
func (r *fileReader) stationElevation(n ast.Node, at string, w *FileWeather) {
	if n == nil {
		return
	}
	at += ".station_elevation"
	var metres float64
	if !r.value(n, at, &metres) {
		return
	}
	if !(metres >= -430 && metres <= 6000) {
		r.no(n, at, "want metres from -430 to 6000")
	}
	i := slices.IndexFunc(w.Sources, func(s WeatherSource) bool { return s.Kind == SourceStation })
	switch {
	case i >= 0:
		w.Sources[i].Elevation = &metres
	case w.Record != "" && strings.HasPrefix(at, "region.bands["):
		w.RecordElevation = &metres
	default:
		r.no(n, at, "stands without station")
	}
}
