package atlas

import (
	"encoding/json"
	"math"
	"os"
	"slices"
	"testing"

	"gonum.org/v1/gonum/spatial/kdtree"
)

// TestCoastFit makes coast.bin anew. It wants land-50m.json of the npm package
// world-atlas (2.0.2): .ci/atlas/run fetches it.
//
//	BUDSWELL_LAND=land-50m.json go test ./climate/atlas -run CoastFit -update
func TestCoastFit(t *testing.T) {
	path := os.Getenv("BUDSWELL_LAND")
	if path == "" {
		t.Skip("set BUDSWELL_LAND to land-50m.json of the npm package world-atlas (Natural Earth, public domain)")
	}
	rings := landRings(t, path)
	shore := kdtree.New(shorePoints(rings), false)
	c := make(coast, coastWide*coastHigh)
	for j := range coastHigh {
		lat := -90 + float64(j)/coastNodes
		crossings := crossings(rings, lat+1e-7)
		for i := range coastWide {
			lon := -180 + float64(i)/coastNodes
			p := onSphere(lat, lon)
			_, square := shore.Nearest(kdtree.Point(p[:]))
			km := math.Sqrt(square)
			if n, _ := slices.BinarySearch(crossings, lon); n%2 == 0 {
				km = -km
			}
			c[j*coastWide+i] = coastStep(km)
		}
	}
	text, err := writeCoast(c)
	if err != nil {
		t.Fatal(err)
	}
	if *update {
		write(t, "coast.bin", text)
	}
	if !*update && !slices.Equal(c, theCoast()) {
		t.Error("coast.bin is not what the polygons give")
	}
	t.Logf("%d bytes", len(text))
}

// landRings reads the outlines of land from TopoJSON: closed rings of longitude and
// latitude.
func landRings(t *testing.T, path string) (rings [][][2]float64) {
	var topology struct {
		Transform struct{ Scale, Translate [2]float64 }
		Arcs      [][][2]int
		Objects   struct {
			Land struct {
				Geometries []struct{ Arcs [][][]int }
			}
		}
	}
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(text, &topology); err != nil {
		t.Fatal(err)
	}
	arcs := make([][][2]float64, len(topology.Arcs))
	for i, arc := range topology.Arcs {
		var at [2]int
		for _, step := range arc {
			var p [2]float64
			for k := range p {
				at[k] += step[k]
				p[k] = float64(at[k])*topology.Transform.Scale[k] + topology.Transform.Translate[k]
			}
			arcs[i] = append(arcs[i], p)
		}
	}
	for _, geometry := range topology.Objects.Land.Geometries {
		for _, polygon := range geometry.Arcs {
			for _, outline := range polygon {
				var ring [][2]float64
				for _, k := range outline {
					arc := slices.Clone(arcs[max(k, ^k)])
					if k < 0 {
						slices.Reverse(arc)
					}
					ring = append(ring, arc...)
				}
				rings = append(rings, ring)
			}
		}
	}
	return rings
}

// shorePoints puts a point on every two kilometres of coast. The edges of the map
// are none.
func shorePoints(rings [][][2]float64) (points kdtree.Points) {
	for _, ring := range rings {
		for i, a := range ring {
			b := ring[(i+1)%len(ring)]
			if math.Abs(a[0]) > 179.9 && math.Abs(b[0]) > 179.9 || a[1] < -89 || b[1] < -89 {
				continue
			}
			p, q := onSphere(a[1], a[0]), onSphere(b[1], b[0])
			n := int(apart(p, q)/2) + 1
			for k := range n {
				w := float64(k) / float64(n)
				p := onSphere(a[1]+(b[1]-a[1])*w, a[0]+(b[0]-a[0])*w)
				points = append(points, kdtree.Point(p[:]))
			}
		}
	}
	return points
}

// crossings returns the longitudes at which outlines cross a parallel.
func crossings(rings [][][2]float64, lat float64) (lon []float64) {
	for _, ring := range rings {
		for i, a := range ring {
			b := ring[(i+1)%len(ring)]
			if (a[1] > lat) != (b[1] > lat) {
				lon = append(lon, a[0]+(b[0]-a[0])*(lat-a[1])/(b[1]-a[1]))
			}
		}
	}
	slices.Sort(lon)
	return lon
}
