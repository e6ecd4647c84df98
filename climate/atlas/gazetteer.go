package atlas

import (
	"bytes"
	"cmp"
	"compress/flate"
	_ "embed"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"sync"
)

// Attribution is what the licence of the names of places wants shown.
const Attribution = "Names of places: GeoNames (geonames.org), CC BY 4.0."

// placesFile holds the names of places, see TestPlacesFit. It begins with a line
// that names its source.
//
//go:embed places.bin
var placesFile []byte

const placesSource = "budswell places 1, from GeoNames (geonames.org), CC BY 4.0\n"

// Named is a place that has a name.
type Named struct {
	Name    string  // as GeoNames writes it: English or local, with its diacritics
	Region  string  // state, province or the like; may be empty
	Country string  // ISO 3166-1, two letters
	Lat     float64 // degrees north, to a hundredth
	Lon     float64 // degrees east, to a hundredth

	people uint8 // how many live there, in steps of half a doubling from 500; 0 where not known
}

// String returns the name with what tells it from others.
func (n Named) String() string {
	s := n.Name
	if n.Region != "" && n.Region != n.Name {
		s += ", " + n.Region
	}
	return s + ", " + n.Country
}

// gazetteer holds places by their folded names.
type gazetteer struct {
	places []Named
	keys   []string
}

var theGazetteer = sync.OnceValue(func() *gazetteer {
	g, err := readPlaces(placesFile)
	if err != nil {
		panic("atlas: " + err.Error())
	}
	return g
})

// MostNames is how many places [Search] returns at most.
const MostNames = 50

// Search returns the places whose names begin with name, the best first: those that
// are called just so, then the larger before the smaller. Case and diacritics do not matter. After a
// comma may stand a country's two letters or the beginning of a region: "Springfield,
// Illinois" or "springfield, us".
func Search(name string, most int) []Named {
	return theGazetteer().search(name, min(most, MostNames))
}

// ErrNoPlace is wrapped by what [Find] returns where no place has the name.
var ErrNoPlace = errors.New("no such place")

// Find returns the one place that a name means: the largest that is called just so, or
// else the only one that begins with it.
func Find(name string) (Named, error) {
	found := Search(name, 4)
	exact, _, _ := strings.Cut(name, ",")
	switch {
	case len(found) == 0:
		return Named{}, fmt.Errorf("place %q: %w known: want the name of a town as GeoNames has it, or LAT,LON", name, ErrNoPlace)
	case len(found) > 1 && folded(found[0].Name) != folded(exact):
		var names []string
		for _, f := range found {
			names = append(names, f.String())
		}
		return Named{}, fmt.Errorf("place %q: %w of just this name; did you mean one of: %s", name, ErrNoPlace, strings.Join(names, "; "))
	}
	return found[0], nil
}

// longestName is how many bytes of a name are worth looking at: the longest that
// there is has half as many.
const longestName = 200

func (g *gazetteer) search(name string, most int) []Named {
	if len(name) > longestName {
		return nil
	}
	name, where, _ := strings.Cut(name, ",")
	key := folded(name)
	if key == "" || most <= 0 {
		return nil
	}
	where = folded(where)
	first, _ := slices.BinarySearch(g.keys, key)
	var best []int
	worse := func(a, b int) int {
		return cmp.Or(
			cmp.Compare(btoi(g.keys[b] == key), btoi(g.keys[a] == key)),
			cmp.Compare(g.places[b].people, g.places[a].people),
			cmp.Compare(a, b),
		)
	}
	for i := first; i < len(g.keys) && strings.HasPrefix(g.keys[i], key); i++ {
		if where != "" && !g.places[i].in(where) {
			continue
		}
		if len(best) == most && worse(i, best[most-1]) > 0 {
			continue
		}
		at, _ := slices.BinarySearchFunc(best, i, worse)
		best = slices.Insert(best, at, i)
		best = best[:min(len(best), most)]
	}
	out := make([]Named, len(best))
	for k, i := range best {
		out[k] = g.places[i]
	}
	return out
}

func btoi(b bool) int {
	if b {
		return 1
	}
	return 0
}

// in reports whether a place lies in a country or region, given folded; several
// parts must all hold.
func (n *Named) in(where string) bool {
	country, region := strings.ToLower(n.Country), folded(n.Region)
	if where == country || strings.HasPrefix(region, where) {
		return true
	}
	rest, ok := strings.CutSuffix(where, " "+country)
	return ok && strings.HasPrefix(region, rest)
}

// hundredths are the units in which the file keeps coordinates.
const hundredths = 100

// writePlaces is the reverse of readPlaces. The places must be in order of their
// folded names.
func writePlaces(places []Named) ([]byte, error) {
	var regions []string
	index := map[string]int{}
	for _, p := range places {
		k := p.Country + p.Region
		if _, ok := index[k]; !ok {
			index[k] = len(regions)
			regions = append(regions, k)
		}
	}
	// Columns: like next to like, for the sake of compression.
	var names, where, lats, lons, people []byte
	last := ""
	for _, p := range places {
		same := 0
		for same < min(len(last), len(p.Name), 255) && last[same] == p.Name[same] {
			same++
		}
		names = append(names, byte(same))
		names = append(names, p.Name[same:]...)
		names = append(names, 0)
		last = p.Name
		where = binary.LittleEndian.AppendUint16(where, uint16(index[p.Country+p.Region]))
		lats = binary.LittleEndian.AppendUint16(lats, uint16(int16(roundTo(p.Lat, 0.01)*hundredths)))
		lons = binary.LittleEndian.AppendUint16(lons, uint16(int16(roundTo(p.Lon, 0.01)*hundredths)))
		people = append(people, p.people)
	}
	var text []byte
	for _, column := range [][]byte{[]byte(strings.Join(regions, "\n")), names, where, lats, lons, people} {
		text = binary.AppendUvarint(text, uint64(len(column)))
		text = append(text, column...)
	}
	out := bytes.NewBufferString(placesSource)
	z, err := flate.NewWriter(out, flate.BestCompression)
	if err != nil {
		return nil, err
	}
	if _, err := z.Write(text); err != nil {
		return nil, err
	}
	err = z.Close()
	return out.Bytes(), err
}

var errPlaces = errors.New("places: not a file of this version")

func readPlaces(file []byte) (*gazetteer, error) {
	body, ok := bytes.CutPrefix(file, []byte(placesSource))
	if !ok {
		return nil, errPlaces
	}
	text, err := io.ReadAll(flate.NewReader(bytes.NewReader(body)))
	if err != nil {
		return nil, fmt.Errorf("places: %w", err)
	}
	var columns [6][]byte
	for i := range columns {
		n, k := binary.Uvarint(text)
		if k <= 0 || n > uint64(len(text)-k) {
			return nil, errPlaces
		}
		columns[i], text = text[k:k+int(n)], text[k+int(n):]
	}
	regions := strings.Split(string(columns[0]), "\n")
	names, people := string(columns[1]), columns[5]
	n := len(people)
	if len(columns[2]) != 2*n || len(columns[3]) != 2*n || len(columns[4]) != 2*n {
		return nil, errPlaces
	}
	g := &gazetteer{places: make([]Named, n), keys: make([]string, n)}
	last := ""
	for i := range n {
		end := strings.IndexByte(names[min(1, len(names)):], 0)
		if end < 0 || int(names[0]) > len(last) {
			return nil, errPlaces
		}
		name := last[:names[0]] + names[1:1+end]
		last, names = name, names[2+end:]
		k := int(binary.LittleEndian.Uint16(columns[2][2*i:]))
		if k >= len(regions) || len(regions[k]) < 2 {
			return nil, errPlaces
		}
		g.places[i] = Named{
			Name: name, Country: regions[k][:2], Region: regions[k][2:],
			Lat:    float64(int16(binary.LittleEndian.Uint16(columns[3][2*i:]))) / hundredths,
			Lon:    float64(int16(binary.LittleEndian.Uint16(columns[4][2*i:]))) / hundredths,
			people: people[i],
		}
		g.keys[i] = folded(name)
	}
	return g, nil
}
