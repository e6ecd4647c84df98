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
// world-atlas (2.0.2), and the lines of TestPlacesFit: .ci/atlas/run makes both ready.
//
//	BUDSWELL_LAND=land-50m.json BUDSWELL_PLACES=places.tsv go test ./climate/atlas -run CoastFit -update
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
		inside, crossings := crossings(rings, lat+1e-7)
		for i := range coastWide {
			lon := -180 + float64(i)/coastNodes
			p := onSphere(lat, lon)
			_, square := shore.Nearest(kdtree.Point(p[:]))
			km := math.Sqrt(square)
			if n, _ := slices.BinarySearch(crossings, lon); (n%2 == 1) == inside {
				km = -km
			}
			c[j*coastWide+i] = coastStep(km)
		}
	}
	islands(t, c)
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

// islands makes land near of the sea about towns on islands that the outlines
// lack.
func islands(t *testing.T, c coast) {
	const shallow = -10 // km
	near := coastStep(shallow)
	for _, n := range placeLines(t) {
		if c.at(n.Lat, n.Lon) > shallow {
			continue
		}
		y, x := int((n.Lat+90)*coastNodes), int((n.Lon+180)*coastNodes)
		for j := range 2 {
			for i := range 2 {
				k := min(y+j, coastHigh-1)*coastWide + (x+i)%coastWide
				c[k] = max(c[k], near)
			}
		}
	}
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

// beside returns the longitude of b as it lies beside a: the outlines go over 180
// degrees without a break.
func beside(a, b float64) float64 {
	switch {
	case b-a > 180:
		return b - 360
	case a-b > 180:
		return b + 360
	}
	return b
}

// shorePoints puts a point on every two kilometres of coast.
func shorePoints(rings [][][2]float64) (points kdtree.Points) {
	for _, ring := range rings {
		for i, a := range ring {
			b := ring[(i+1)%len(ring)]
			east := beside(a[0], b[0])
			n := int(apart(onSphere(a[1], a[0]), onSphere(b[1], b[0]))/2) + 1
			for k := range n {
				w := float64(k) / float64(n)
				p := onSphere(a[1]+(b[1]-a[1])*w, a[0]+(east-a[0])*w)
				points = append(points, kdtree.Point(p[:]))
			}
		}
	}
	return points
}

// crossings returns the longitudes at which outlines cross a parallel, and
// whether it begins on land at 180 W: whether the way from there to the North Pole
// crosses an odd number of outlines.
func crossings(rings [][][2]float64, lat float64) (inside bool, lon []float64) {
	for _, ring := range rings {
		for i, a := range ring {
			b := ring[(i+1)%len(ring)]
			east := beside(a[0], b[0])
			if east != b[0] {
				at := a[1]
				if edge := math.Copysign(180, a[0]); edge != a[0] {
					at += (b[1] - a[1]) * (edge - a[0]) / (east - a[0])
				}
				if at > lat {
					inside = !inside
				}
			}
			if (a[1] > lat) != (b[1] > lat) {
				x := a[0] + (east-a[0])*(lat-a[1])/(b[1]-a[1])
				lon = append(lon, math.Remainder(x, 360))
			}
		}
	}
	slices.Sort(lon)
	return inside, lon
}
