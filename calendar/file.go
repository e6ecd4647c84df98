package calendar

import (
	"fmt"
	"strings"

	"github.com/goccy/go-yaml/ast"

	"budswell/climate"
	"budswell/climate/phenology"
)

// File is a plan file: a site, its weather, and the trees that stand there with
// what was done to them. It is a public format, in YAML, version 1:
//
//	version: 1
//	site: {name: north bench, lat: 50.1, lon: 8.7, elevation: 120, tz: Europe/Berlin}
//	weather: {record: station.csv}
//	trees:
//	  - name: ridge maple
//	    species: Acer campestre
//	    origin: collected
//	    log:
//	      - {on: 2025-03-20, did: collected}
//	      - {on: 2025-04-12, saw: bud-swell}
//
// The site has lat and lon in degrees north and east, elevation in metres (0
// where it is left out), and tz, an IANA time zone, which is found from the place
// where it is left out. In place of lat and lon may stand place, the name of a town
// as GeoNames has it, with a region or a country's two letters after a comma where there are
// several; then an elevation that is left out is that of the stations around.
//
// The weather may be left out: then it is what the atlas of the world's climate says of the
// place. Else it is one of
//
//	record: PATH        a file of daily weather; a relative path is taken from the plan file
//	normals: {tmin: [12 numbers], tmax: [12 numbers]}
//	                    monthly means, January first, C; with tmin_sd and tmax_sd, where
//	                    known, the standard deviations of single days
//	frost: {last: MM-DD, first: MM-DD, mean: C, range: C}
//	                    average last and first frost, mean of the year, warmest
//	                    less coldest month
//
// and normals or frost may stand beside a record that is too short; where they do not,
// the atlas does. Weather that keeps coming may stand beside all of them:
//
//	folder: PATH        a file of daily weather, or a folder of such files, that is read
//	                    again when it changes, such as a weather station's own
//	provider: NAME      open-meteo or met-norway, for the service to ask
//	station: ADDRESS    a station's file on the web, such as one of GHCN-Daily, for the
//	                    service to ask; with station_elevation, in metres, where it is known
//
// Optional are benches, a list of {name, exposure}, where exposure is open, sheltered, cold
// frame or heated; a bench may have an id (made from the name where it is left out),
// shift_tmin and shift_tmax, in C, by which it is known to differ beside that,
// and floor, in C, which a heater keeps up.
//
// A tree has a name (the only one of this name), a species (any name that the
// lore finds), an origin (collected, field-grown, nursery, cutting, layered,
// grafted, seedling), and may have an id (made from the name where it is left
// out), field_soil (0 to 1), container: {kind: box, training pot or final pot,
// litres: 0.05 to 500}, a bench on which it stood when the log begins, a note, and a log. Each entry of the log has a day, on,
// and exactly one of
//
//	did: WORK           with field_soil_left: 0 to 1 where it was work on the roots
//	saw: PHASE          the tree showed it
//	not_yet: PHASE      the tree was looked at and did not show it yet
//	judged: {stage: STAGE, strength: weak, recovering or strong}
//	moved: BENCH        the tree was put there
//
// and may have a note. Optional are hours, the time that there is for the trees:
//
//	hours:
//	  saturday: 4         hours of the grower's own, 0 to 24; any weekday; left out: none
//	  sunday: 2.5
//	  away: [{from: 2027-07-03, to: 2027-07-18}, {from: 2027-09-04}]
//	  extra: [{on: 2027-04-02, hours: 5}]
//	                      besides those of the weekday
//	  helpers: [{on: 2027-04-10, hours: 6, hard: true}, {weekday: sunday, hours: 2}]
//	                      of those who come on a day, or on every such weekday on which
//	                      the grower is not away; hard: they may do hard work
//	  minutes: {repot: 75}
//	                      for one tree, 1 to 960, where it takes others than the rule says
//	  set_up: {repot: 30} once a day for all trees that get it then, 1 to 480 minutes
//
// Optional are also grower: {name, email}; variants, a list
// of the ways of doing things that the grower chose where growers disagree; lore,
// a list of paths of further lore; feeds, a list of {name, trees, groups,
// classes, works, years}, where years: true is a feed of the stages to come in place of work; region,
// what a club publishes, without any of the trees:
//
//	region:
//	  id: hill-club         as it stands in links: a to z, digits, hyphens
//	  name: Hill club
//	  groups: [deciduous]   growth groups; with no species either: all
//	  species: [Larix decidua]
//	                        each planned by itself, at most 24; any name that the lore finds
//	  bands:                1 to 8 elevation bands or sites; left out: the site is the one band
//	    - {name: valley floor, elevation: 420, weather: {record: station.csv}}
//	    - {name: upper slopes, elevation: 980}
//
// A band has a name and an elevation, in metres, and may have an id (made from the name where it is
// left out), lat and lon, or place, and tz (left out: those of the site), and weather, which is record,
// normals or frost as above (left out: the atlas at its elevation); station_elevation, in metres, beside record says
// that it was read at another elevation, and is adjusted. Optional are also shows, the shows that trees are entered for:
//
//	shows:
//	  - {name: winter show, on: 2028-02-12, look: winter-silhouette, trees: [ridge-maple]}
//
// A show has a name (the only one of this name), its first day, on, from the day of
// the plan to fifteen years ahead, the ids of its trees (made from their names where they
// have none of their own), and the look in which they are shown, which their species must give: in-leaf,
// winter-silhouette or autumn-colour (trees that shed their leaves or needles), evergreen
// (all others, as they are), or flowering.
type File struct {
	Version int
	Site    climate.Site // its Zone may be empty
	Place   string       // the name that the site was given by; empty where lat and lon were

	// NoElevation says that none was given: Site's is nought, and not known.
	NoElevation bool
	Weather     FileWeather
	Benches     []Bench
	Trees       []Tree
	Grower      Grower // name and email only
	Hours       *Hours // nil: not given
	Variants    []string
	Lore        []string   // paths
	Feeds       []Feed     // name and filter only
	Shows       []Show     // their days checked by CheckShows only
	Region      *Region    // without its bands
	Bands       []FileBand // of the region; empty: the site is its one band

	showDays []FileFault // where the day of each of Shows stands
}

// FileWeather is where the weather of a plan file comes from.
type FileWeather struct {
	Record  string // a path; empty: none
	Normals *climate.Normals
	Frost   *climate.FrostNormal

	// RecordElevation is that for which the record of a band holds, m; nil: the band's.
	RecordElevation *float64

	// Sources are where weather keeps coming from: kind, address or path as written, elevation.
	Sources []WeatherSource
}

// fileVersion is the version of the format that this program reads.
const fileVersion = 1

// ReadFile reads a plan file; name is what errors call it. Entries of logs that
// lie after today are errors, unless today is NoDate. All that is wrong is
// returned at once as [FileFaults], an [ErrInvalid], and then no file.
func ReadFile(name string, text []byte, l *Lore, today climate.Date) (*File, error) {
	r := &fileReader{name: name, lore: l, today: today}
	root := r.parse(text)
	f := &File{}
	if root == nil {
		return nil, r.err()
	}
	var trees []ast.Node
	var shows, region ast.Node
	r.fields(root, "file", map[string]func(ast.Node, string){
		"version": func(n ast.Node, at string) {
			if r.value(n, at, &f.Version) && f.Version != fileVersion {
				r.no(n, at, "want %d, the version that this program reads", fileVersion)
			}
		},
		"site":    func(n ast.Node, at string) { r.site(n, at, f) },
		"weather": func(n ast.Node, at string) { r.weather(n, at, &f.Weather) },
		"benches": func(n ast.Node, at string) { r.readBenches(n, at); f.Benches = r.benches },
		"grower": func(n ast.Node, at string) {
			r.fields(n, at, map[string]func(ast.Node, string){
				"name": r.into(&f.Grower.Name), "email": r.into(&f.Grower.Email),
			}, "name")
		},
		"hours":    func(n ast.Node, at string) { f.Hours = &Hours{}; r.hours(n, at, f.Hours) },
		"variants": func(n ast.Node, at string) { r.variants(n, at, &f.Variants) },
		"lore":     r.into(&f.Lore),
		"feeds":    func(n ast.Node, at string) { r.feeds(n, at, &f.Feeds) },
		"region":   func(n ast.Node, _ string) { region = n },
		"trees":    func(n ast.Node, at string) { trees = r.items(n, at) },
		"shows":    func(n ast.Node, _ string) { shows = n },
	}, "version", "site", "trees")
	for i, n := range trees {
		f.Trees = append(f.Trees, r.tree(n, fmt.Sprintf("trees[%d]", i+1), f.Site))
	}
	r.unique(f.Trees, trees)
	if shows != nil {
		r.shows(shows, "shows", f)
	}
	if region != nil {
		r.region(region, "region", f) // after the site, which its bands may be at
	}
	if err := r.err(); err != nil {
		return nil, err
	}
	return f, nil
}

func (r *fileReader) weather(n ast.Node, at string, w *FileWeather) {
	nodes := r.fields(n, at, map[string]func(ast.Node, string){
		"folder":            func(n ast.Node, at string) { r.source(n, at, w, SourceFolder) },
		"provider":          func(n ast.Node, at string) { r.source(n, at, w, "") },
		"station":           func(n ast.Node, at string) { r.source(n, at, w, SourceStation) },
		"station_elevation": func(ast.Node, string) {}, // read below, whichever stands first
		"record": func(n ast.Node, at string) {
			if r.value(n, at, &w.Record) && strings.TrimSpace(w.Record) == "" {
				r.no(n, at, "want the path of a file of daily weather")
			}
		},
		"normals": func(n ast.Node, at string) {
			w.Normals = &climate.Normals{}
			var lo, hi *[12]float64
			nodes := r.fields(n, at, map[string]func(ast.Node, string){
				"tmin":    func(n ast.Node, at string) { r.months(n, at, &w.Normals.Tmin) },
				"tmax":    func(n ast.Node, at string) { r.months(n, at, &w.Normals.Tmax) },
				"tmin_sd": func(n ast.Node, at string) { lo = &[12]float64{}; r.months(n, at, lo) },
				"tmax_sd": func(n ast.Node, at string) { hi = &[12]float64{}; r.months(n, at, hi) },
			}, "tmin", "tmax")
			w.Normals.TminSD, w.Normals.TmaxSD = lo, hi
			if len(r.faults) == 0 {
				if err := w.Normals.Validate(); err != nil {
					r.wrong(nodes, n, at, err, "tmin_sd", "tmax_sd", "tmin", "tmax")
				}
			}
		},
		"frost": func(n ast.Node, at string) {
			w.Frost = &climate.FrostNormal{}
			nodes := r.fields(n, at, map[string]func(ast.Node, string){
				"last": r.into(&w.Frost.Last), "first": r.into(&w.Frost.First),
				"mean": r.into(&w.Frost.Mean), "range": r.into(&w.Frost.Range),
			}, "last", "first", "mean", "range")
			if len(r.faults) == 0 {
				if err := w.Frost.Validate(); err != nil {
					r.wrong(nodes, n, at, err, "last", "first", "mean", "range")
				}
			}
		},
	})
	r.stationElevation(nodes["station_elevation"], at, w)
	if w.Record == "" && w.Normals == nil && w.Frost == nil && len(w.Sources) == 0 {
		r.no(n, at, "want one of record, normals, frost, folder, provider and station")
	}
}

func (r *fileReader) months(n ast.Node, at string, v *[12]float64) {
	var list []float64
	if !r.value(n, at, &list) {
		return
	}
	if len(list) != 12 {
		r.no(n, at, "has %d numbers; want 12, January first", len(list))
		return
	}
	copy(v[:], list)
}

func (r *fileReader) groups(n ast.Node, at string, v *[]string) {
	if !r.value(n, at, v) {
		return
	}
	for _, g := range *v {
		if phenology.Group(g).Phases() == nil {
			r.no(n, at, "there is no group %q; want of %v", g, phenology.Groups())
		}
	}
}

func (r *fileReader) variants(n ast.Node, at string, v *[]string) {
	if !r.value(n, at, v) {
		return
	}
	for _, name := range *v {
		var known []string
		for i := range r.lore.Rules {
			known = append(known, r.lore.Rules[i].Variant)
		}
		if name == "" || !contains(known, strings.ToLower(name)) {
			r.no(n, at, "no rule has the variant %q%s", name, meant(nearest(name, known)))
		}
	}
}

func (r *fileReader) feeds(n ast.Node, at string, v *[]Feed) {
	for i, item := range r.items(n, at) {
		var f Feed
		r.fields(item, fmt.Sprintf("%s[%d]", at, i+1), map[string]func(ast.Node, string){
			"name": r.into(&f.Name), "trees": r.into(&f.Filter.Trees),
			"groups":  func(n ast.Node, at string) { r.groups(n, at, &f.Filter.Groups) },
			"classes": r.into(&f.Filter.Classes), "works": r.into(&f.Filter.Works),
			"years": r.into(&f.Filter.Years),
		}, "name")
		*v = append(*v, f)
	}
}
