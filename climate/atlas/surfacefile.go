package atlas

import (
	"bytes"
	"compress/flate"
	_ "embed"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"sync"
)

// surfaceFile holds the surface fitted to the World Meteorological Organization's
// Climatological Normals 1991-2020, collected by NOAA NCEI
// (https://www.ncei.noaa.gov/products/wmo-climate-normals), by TestSurfaceFit: it
// begins with a line that says so.
//
//go:embed surface.bin
var surfaceFile []byte

const surfaceSource = "budswell climate surface 1, fitted to WMO Climatological Normals 1991-2020 (NOAA NCEI)\n"

var theSurface = sync.OnceValue(func() *surface {
	s, err := readSurface(surfaceFile, theCoast())
	if err != nil {
		panic("atlas: " + err.Error())
	}
	return s
})

// Steps in which the file keeps its numbers.
const (
	gridUnit   = 0.02
	weightUnit = 0.02
	roughUnit  = 0.02
	placeUnit  = 0.01 // degrees
)

// surfaceWriter writes numbers as variable-length integers: differences that are
// mostly small.
type surfaceWriter struct{ out []byte }

func (w *surfaceWriter) number(v int) { w.out = binary.AppendVarint(w.out, int64(v)) }
func (w *surfaceWriter) float(v float64) {
	w.out = binary.LittleEndian.AppendUint32(w.out, math.Float32bits(float32(v)))
}

// writeSurface is the reverse of readSurface. It loses what lies below the units.
func writeSurface(s *surface) ([]byte, error) {
	w := &surfaceWriter{}
	for m := range components {
		w.float(s.mean[m])
		for _, v := range s.turn[m] {
			w.float(float64(v))
		}
	}
	for i := range s.trend {
		for _, v := range s.trend[i] {
			w.float(float64(v))
		}
	}
	keys := make([]int, 0, len(s.grid))
	for k := range s.grid {
		keys = append(keys, k)
	}
	slices.Sort(keys)
	w.number(len(keys))
	last := 0
	for _, k := range keys {
		w.number(k - last)
		last = k
	}
	for part := range 3 { // like next to like, for the sake of compression
		for m := range components {
			kept := map[int]int{}
			for _, k := range keys {
				v := int(math.Round(float64(s.grid[k][part][m]) / gridUnit))
				w.number(v - guess(kept, k))
				kept[k] = v
			}
		}
	}
	w.number(len(s.centres))
	var lat, lon int
	for _, c := range s.centres {
		y, x := int(math.Round(c.lat/placeUnit)), int(math.Round(c.lon/placeUnit))
		w.number(y - lat)
		w.number(x - lon)
		w.number(int(math.Round(c.h * 1000)))
		w.number(int(math.Round(c.rough / roughUnit)))
		lat, lon = y, x
	}
	for m := range components {
		for _, c := range s.centres {
			w.number(int(math.Round(float64(c.weight[m]) / weightUnit)))
		}
	}
	out := bytes.NewBufferString(surfaceSource)
	z, err := flate.NewWriter(out, flate.BestCompression)
	if err != nil {
		return nil, err
	}
	if _, err := z.Write(w.out); err != nil {
		return nil, err
	}
	err = z.Close()
	return out.Bytes(), err
}

// guess says what a node is likely to hold, from its neighbours to the west and
// south.
func guess(kept map[int]int, key int) int {
	west, okWest := kept[key-1]
	south, okSouth := kept[key-gridWide]
	corner, okCorner := kept[key-gridWide-1]
	switch {
	case okWest && okSouth && okCorner:
		return west + south - corner
	case okWest:
		return west
	case okSouth:
		return south
	}
	return 0
}

// surfaceReader reads what surfaceWriter wrote; after an error it reads noughts.
type surfaceReader struct {
	in  *bytes.Reader
	err error
}

func (r *surfaceReader) number() int {
	v, err := binary.ReadVarint(r.in)
	if err != nil {
		r.err = err
	}
	return int(v)
}

func (r *surfaceReader) float() float64 {
	var b [4]byte
	if _, err := io.ReadFull(r.in, b[:]); err != nil {
		r.err = err
	}
	return float64(math.Float32frombits(binary.LittleEndian.Uint32(b[:])))
}

func readSurface(file []byte, c coast) (*surface, error) {
	body, ok := bytes.CutPrefix(file, []byte(surfaceSource))
	if !ok {
		return nil, errors.New("surface: not a file of this version")
	}
	text, err := io.ReadAll(flate.NewReader(bytes.NewReader(body)))
	if err != nil {
		return nil, fmt.Errorf("surface: %w", err)
	}
	r := &surfaceReader{in: bytes.NewReader(text)}
	s := &surface{grid: map[int]*node{}}
	for m := range components {
		s.mean[m] = r.float()
		for k := range s.turn[m] {
			s.turn[m][k] = float32(r.float())
		}
	}
	for i := range s.trend {
		for k := range s.trend[i] {
			s.trend[i][k] = float32(r.float())
		}
	}
	keys := make([]int, min(max(r.number(), 0), gridWide*gridHigh))
	last := 0
	for i := range keys {
		last += r.number()
		keys[i] = last
		s.grid[last] = &node{}
	}
	for part := range 3 {
		for m := range components {
			kept := map[int]int{}
			for _, k := range keys {
				v := r.number() + guess(kept, k)
				kept[k] = v
				s.grid[k][part][m] = float32(v) * gridUnit
			}
		}
	}
	const most = 100_000
	s.centres = make([]centre, min(max(r.number(), 0), most))
	var lat, lon int
	for i := range s.centres {
		lat += r.number()
		lon += r.number()
		h := float64(r.number())
		s.centres[i].spot = spotAt(c, min(max(float64(lat)*placeUnit, -90), 90), min(max(float64(lon)*placeUnit, -180), 180), h)
		s.centres[i].rough = float64(r.number()) * roughUnit
	}
	for m := range components {
		for i := range s.centres {
			s.centres[i].weight[m] = float32(r.number()) * weightUnit
		}
	}
	if r.err != nil {
		return nil, fmt.Errorf("surface: %w", r.err)
	}
	s.order()
	return s, nil
}
