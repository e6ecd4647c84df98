package calendar

import (
	"cmp"
	"errors"
	"fmt"
	"regexp"

	"github.com/goccy/go-yaml/ast"

	"budswell/climate"
	"budswell/climate/atlas"
)

// FileBand is a band of a plan file's region.
type FileBand struct {
	ID, Name string
	Site     climate.Site // its Zone may be empty
	Weather  FileWeather  // nothing: what the atlas says of the place at that elevation
}

// regionForm is what the id of a region looks like.
var regionForm = regexp.MustCompile(`^[a-z0-9][a-z0-9-]{0,63}$`)

// longestRegionName is in letters.
const longestRegionName = 100

// region reads what is published of the file.
func (r *fileReader) region(n ast.Node, at string, f *File) {
	f.Region = &Region{}
	g := f.Region
	var bands ast.Node
	nodes := r.fields(n, at, map[string]func(ast.Node, string){
		"id": r.into(&g.ID), "name": r.into(&g.Name),
		"groups":  func(n ast.Node, at string) { r.groups(n, at, &g.Groups) },
		"species": func(n ast.Node, at string) { r.speciesOf(n, at, &g.Species) },
		"bands":   func(n ast.Node, _ string) { bands = n },
	}, "id", "name")
	if id := nodes["id"]; id != nil && !regionForm.MatchString(g.ID) && g.ID != "" {
		r.no(id, at+".id", "want up to 64 lower-case letters a to z, digits and hyphens, as it stands in links")
	}
	if name := nodes["name"]; name != nil && !ValidName(g.Name, longestRegionName) {
		r.no(name, at+".name", "want a name of 1 to %d letters on one line", longestRegionName)
	}
	if bands != nil {
		r.bands(bands, at+".bands", f)
	}
}

// speciesOf reads names of species, and makes them the botanical ones.
func (r *fileReader) speciesOf(n ast.Node, at string, v *[]string) {
	var names []string
	if !r.value(n, at, &names) {
		return
	}
	if len(names) > MostSpecies {
		r.no(n, at, "has %d; want at most %d", len(names), MostSpecies)
	}
	items := r.items(n, at)
	for i, name := range names {
		field := fmt.Sprintf("%s[%d]", at, i+1)
		s, err := r.lore.SpeciesNamed(name)
		switch {
		case err != nil:
			r.no(items[i], field, "no such species is known%s", meant(r.lore.nearestSpecies(name)))
		case contains(*v, fold(s.Name)):
			r.no(items[i], field, "%s is given twice; give it once", s.Name)
		default:
			*v = append(*v, s.Name)
		}
	}
}

// bands reads the bands of the region; what they do not say of where they are is that
// of the file's site.
func (r *fileReader) bands(n ast.Node, at string, f *File) {
	items := r.items(n, at)
	if len(items) == 0 || len(items) > MostBands {
		r.no(n, at, "has %d bands; want 1 to %d, or leave it out", len(items), MostBands)
		return
	}
	var seen []Band
	for i, item := range items {
		in := fmt.Sprintf("%s[%d]", at, i+1)
		b := FileBand{Site: f.Site}
		place := &File{}
		nodes := r.fields(item, in, map[string]func(ast.Node, string){
			"id": r.into(&b.ID), "name": r.into(&b.Name), "elevation": r.into(&place.Site.Elevation),
			"lat": r.into(&place.Site.Lat), "lon": r.into(&place.Site.Lon), "tz": r.into(&place.Site.Zone), "place": r.into(&place.Place),
			"weather": func(n ast.Node, at string) {
				r.weather(n, at, &b.Weather)
				if len(b.Weather.Sources) > 0 {
					r.no(n, at, "weather that keeps coming is for places only; want record, normals or frost, or leave it out for the atlas")
				}
			},
		}, "name", "elevation")
		r.bandSite(nodes, item, in, place, &b)
		b.ID = cmp.Or(b.ID, BandID(b.Name, seen))
		zoned := b.Site
		zoned.Zone = cmp.Or(zoned.Zone, "UTC")
		band := Band{ID: b.ID, Name: b.Name, Site: zoned}
		if err := CheckBands(append(seen, band)); err != nil && len(r.faults) == 0 {
			r.wrong(nodes, item, in, errors.New(bareText(err)), "id", "name", "elevation", "lat")
		}
		seen = append(seen, band)
		f.Bands = append(f.Bands, b)
	}
}

// bandSite puts together where a band is.
func (r *fileReader) bandSite(nodes map[string]ast.Node, n ast.Node, at string, given *File, b *FileBand) {
	place, lat, lon := nodes["place"], nodes["lat"], nodes["lon"]
	switch {
	case place != nil && (lat != nil || lon != nil):
		r.no(place, at+".place", "stands beside lat or lon; want either the name of a place or both of them")
	case place != nil:
		where, err := atlas.Find(given.Place)
		if err != nil {
			r.no(place, at+".place", "%v", err)
			return
		}
		b.Site.Lat, b.Site.Lon, b.Site.Zone = where.Lat, where.Lon, ""
	case lat != nil && lon != nil:
		b.Site.Lat, b.Site.Lon, b.Site.Zone = given.Site.Lat, given.Site.Lon, ""
	case lat != nil || lon != nil:
		r.fault(n, at, "", "has only one of lat and lon; want both, or neither for those of the site")
	}
	if nodes["tz"] != nil {
		b.Site.Zone = given.Site.Zone
	}
	b.Site.Elevation, b.Site.Name = given.Site.Elevation, b.Name
	check := b.Site
	check.Zone = cmp.Or(check.Zone, "UTC")
	if err := check.Validate(); err != nil {
		r.wrong(nodes, n, at, err, "lat", "lon", "elevation", "tz")
	}
}

// bareText is that of an error without what kind it is of.
func bareText(err error) string {
	text, kind := err.Error(), ": "+ErrInvalid.Error()
	for len(text) > len(kind) && text[len(text)-len(kind):] == kind {
		text = text[:len(text)-len(kind)]
	}
	return text
}

// RegionWith returns the file's region with its bands and their weather, nil where there is none.
// Site and weather are those of the file, which are the one band where it names none; read
// reads a file of daily weather by the path that the file has for it.
func (f *File) RegionWith(site climate.Site, w climate.Weather, read func(path string) (*climate.Record, error)) (*Region, error) {
	if f.Region == nil {
		return nil, nil
	}
	out := *f.Region
	if len(f.Bands) == 0 {
		name := cmp.Or(site.Name, out.Name)
		out.Bands = []Band{{ID: BandID(name, nil), Name: name, Site: site, Weather: w}}
		return &out, CheckBands(out.Bands)
	}
	for i := range f.Bands {
		b, err := f.Bands[i].with(read)
		if err != nil {
			return nil, fmt.Errorf("region: band %q: %w", f.Bands[i].Name, err)
		}
		out.Bands = append(out.Bands, b)
	}
	return &out, CheckBands(out.Bands)
}

func (f *FileBand) with(read func(path string) (*climate.Record, error)) (Band, error) {
	b := Band{ID: f.ID, Name: f.Name, Site: f.Site, Weather: climate.Weather{Normals: f.Weather.Normals, Frost: f.Weather.Frost}}
	if f.Weather.Record != "" {
		r, err := read(f.Weather.Record)
		if err != nil {
			return b, fmt.Errorf("weather: record: %w", err)
		}
		b.Measured(r, f.Weather.RecordElevation)
	}
	if b.Site.Zone == "" {
		var err error
		if b.Site.Zone, err = atlas.Zone(b.Site.Lat, b.Site.Lon); err != nil {
			return b, err
		}
	}
	if b.Weather.Normals != nil || b.Weather.Frost != nil {
		return b, nil
	}
	at, err := atlas.At(b.Site.Lat, b.Site.Lon, &b.Site.Elevation)
	switch {
	case err == nil:
		b.Weather.Normals = &at.Normals
	case b.Weather.Record == nil || !errors.Is(err, atlas.ErrNoClimate):
		return b, err
	}
	return b, nil
}
