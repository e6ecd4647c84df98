package sums

import "math"

// Metal is what wire is made of.
type Metal string

// The metals.
const (
	Copper    Metal = "copper"    // annealed; for conifers
	Aluminium Metal = "aluminium" // softer; for deciduous trees and tender bark
)

// Wire is what it takes to wire a branch.
type Wire struct {
	Metal    Metal
	Gauge    float64 // thickness, mm, to the next half millimetre that is sold
	Length   float64 // cm
	Grams    float64
	TwoWires bool // one of so much thickness is too stiff to lay on: two of the gauge side by side
}

// Thickest wire that is laid on by hand, mm (common practice, no published
// source).
const (
	thickestCopper    = 5.0
	thickestAluminium = 6.0
)

// Density of the metals, g/cm3 (from memory).
var density = map[Metal]float64{Copper: 8.96, Aluminium: 2.70}

// WireFor returns the wire for a branch of a thickness at its base, 1 to 60 mm,
// and a length, 2 to 300 cm, of a conifer or not.
//
// The gauge is a third of the branch's thickness in aluminium, common practice,
// no published source; annealed copper, which holds better, three quarters of
// that (judged). The length is half as much again as the branch's (common
// practice): a helix at 45 degrees is sqrt(2) times its axis, and the ends take
// the rest.
func WireFor(thickness, length float64, conifer bool) (Wire, error) {
	if err := check(
		quantity{"branch thickness", thickness, 1, 60, "mm"},
		quantity{"branch length", length, 2, 300, "cm"},
	); err != nil {
		return Wire{}, err
	}
	w := Wire{Metal: Aluminium, Length: 1.5 * length}
	gauge, thickest := thickness/3, thickestAluminium
	if conifer {
		w.Metal, thickest = Copper, thickestCopper
		gauge *= 0.75
	}
	if gauge > thickest {
		// A bundle of two is as stiff in bending as one thicker by the fourth root
		// of two (second moment of area, circle: pi d4 / 64).
		w.TwoWires = true
		gauge = min(gauge/math.Pow(2, 0.25), thickest)
	}
	w.Gauge = max(1, math.Ceil(2*gauge-1e-9)/2)
	w.Grams = density[w.Metal] * math.Pi / 4 * w.Gauge * w.Gauge / 100 * w.Length
	if w.TwoWires {
		w.Grams *= 2
	}
	return w, nil
}

// BitesAfter returns how many growing seasons, counted from when a wire was laid
// on snugly, it takes until it marks the bark: the branch has then thickened by a
// tenth of the wire's gauge on each side (judged, no published source). Thickening is
// that of the branch's diameter in a whole season, mm, 0.1 to 40; a branch that
// is fed and left to run thickens several times as fast as a pinched one. The
// gauge is 0.5 to 10 mm.
func BitesAfter(gauge, thickening float64) (seasons float64, err error) {
	if err := check(
		quantity{"gauge", gauge, 0.5, 10, "mm"},
		quantity{"thickening", thickening, 0.1, 40, "mm a season"},
	); err != nil {
		return 0, err
	}
	const marks = 0.1
	return 2 * marks * gauge / thickening, nil
}
