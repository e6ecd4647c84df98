package atlas

import (
	"bytes"
	"compress/flate"
	_ "embed"
	"fmt"
	"io"
	"math"
	"sync"
)

// coastFile holds the distance to the sea of every quarter of a degree, made from
// the land polygons of Natural Earth (public domain, 1:50 million) as the npm
// package world-atlas 2.0.2 carries them; see TestCoastFit.
//
//go:embed coast.bin
var coastFile []byte

// Nodes of the coast's raster: so many a degree, from 90 S and 180 W.
const (
	coastNodes = 4
	coastWide  = 360 * coastNodes
	coastHigh  = 180*coastNodes + 1
)

// coast is the distance to the sea at the nodes, in the steps of coastStep.
type coast []uint8

var theCoast = sync.OnceValue(func() coast {
	c, err := readCoast(coastFile)
	if err != nil {
		panic("atlas: " + err.Error())
	}
	return c
})

// coastStep turns km into the steps that are kept: fine by the shore, coarse far
// inland; out at sea no more is told than "60 km or more".
func coastStep(km float64) uint8 {
	const sea = -60
	return uint8(math.Round(math.Asinh(max(km, sea)/10)*16)) + 64
}

// coastSteps are the distances that the steps stand for, km.
var coastSteps = func() (km [256]float64) {
	for i := range km {
		km[i] = 10 * math.Sinh((float64(i)-64)/16)
	}
	return km
}()

func readCoast(file []byte) (coast, error) {
	c := make(coast, coastWide*coastHigh)
	if _, err := io.ReadFull(flate.NewReader(bytes.NewReader(file)), c); err != nil {
		return nil, fmt.Errorf("coast: %w", err)
	}
	for i := coastWide + 1; i < len(c); i++ {
		c[i] += c[i-1] + c[i-coastWide] - c[i-coastWide-1]
	}
	return c, nil
}

func writeCoast(c coast) ([]byte, error) {
	d := append(coast(nil), c...)
	for i := len(d) - 1; i > coastWide; i-- {
		d[i] -= c[i-1] + c[i-coastWide] - c[i-coastWide-1]
	}
	var out bytes.Buffer
	w, err := flate.NewWriter(&out, flate.BestCompression)
	if err != nil {
		return nil, err
	}
	if _, err := w.Write(d); err != nil {
		return nil, err
	}
	err = w.Close()
	return out.Bytes(), err
}

// at returns the distance from a place to the coast, km, positive on land,
// between the nodes by straight lines.
func (c coast) at(lat, lon float64) float64 {
	y := (lat + 90) * coastNodes
	x := (lon + 180) * coastNodes
	j, i := min(int(y), coastHigh-2), int(x)
	fy, fx := y-float64(j), x-float64(i)
	i0, i1 := i%coastWide, (i+1)%coastWide
	node := func(j, i int) float64 { return coastSteps[c[j*coastWide+i]] }
	return (1-fy)*((1-fx)*node(j, i0)+fx*node(j, i1)) + fy*((1-fx)*node(j+1, i0)+fx*node(j+1, i1))
}
