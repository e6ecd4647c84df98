package calendar

import (
	"github.com/goccy/go-yaml/ast"

	"budswell/climate/atlas"
)

// site reads the place where the trees stand, by coordinates or by name.
func (r *fileReader) site(n ast.Node, at string, f *File) {
	s := &f.Site
	nodes := r.fields(n, at, map[string]func(ast.Node, string){
		"name": r.into(&s.Name), "place": r.into(&f.Place), "lat": r.into(&s.Lat), "lon": r.into(&s.Lon),
		"elevation": r.into(&s.Elevation), "tz": r.into(&s.Zone),
	})
	f.NoElevation = nodes["elevation"] == nil
	switch place := nodes["place"]; {
	case nodes == nil:
		return
	case place == nil:
		for _, name := range []string{"lat", "lon"} {
			if nodes[name] == nil {
				r.fault(n, at+"."+name, "", "is missing")
			}
		}
	case nodes["lat"] != nil || nodes["lon"] != nil:
		r.no(place, at+".place", "stands beside lat or lon; want either the name of a place or both of them")
	case f.Place != "":
		where, err := atlas.Find(f.Place)
		if err != nil {
			r.no(place, at+".place", "%v", err)
			return
		}
		s.Lat, s.Lon = where.Lat, where.Lon
		if s.Name == "" {
			s.Name = where.String()
		}
	default:
		r.no(place, at+".place", "want the name of a town")
	}
	check := *s
	if check.Zone == "" {
		check.Zone = "UTC" // found from the place by the caller
	}
	if err := check.Validate(); err != nil {
		r.wrong(nodes, n, at, err, "lat", "lon", "elevation", "tz")
	}
}
