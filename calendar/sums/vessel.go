package sums

import (
	"fmt"
	"math"
)

// Shape is the outline of a vessel seen from above.
type Shape string

// The shapes.
const (
	Rectangle Shape = "rectangle"
	Oval      Shape = "oval" // round where length and width are the same
)

// Shapes lists the shapes.
func Shapes() []Shape { return []Shape{Rectangle, Oval} }

// Vessel is what a tree stands in, by its inner measures.
type Vessel struct {
	Shape  Shape
	Length float64 // at the rim, cm, 3 to 300
	Width  float64 // at the rim, cm, 3 to 300, not more than Length
	Depth  float64 // of soil, cm, 1 to 150

	// Taper is how much narrower it is at the bottom, as a share of its length
	// and width at the rim, 0 to 0.8.
	Taper float64
}

// Check returns an [ErrRange] that says what of v is out of range.
func (v Vessel) Check() error {
	err := check(
		quantity{"length", v.Length, 3, 300, "cm"},
		quantity{"width", v.Width, 3, 300, "cm"},
		quantity{"depth", v.Depth, 1, 150, "cm"},
		quantity{"taper", v.Taper, 0, 0.8, "of the rim"},
	)
	switch {
	case err != nil:
		return err
	case v.Width > v.Length:
		return fmt.Errorf("width %v cm: %w: want not more than the length, %v cm", v.Width, ErrRange, v.Length)
	case v.Shape != Rectangle && v.Shape != Oval:
		return fmt.Errorf("shape %q: %w: want one of %v", v.Shape, ErrRange, Shapes())
	}
	return nil
}

// Rim returns the area of the open top, cm2.
func (v Vessel) Rim() float64 {
	a := v.Length * v.Width
	if v.Shape == Oval {
		a *= math.Pi / 4
	}
	return a
}

// Litres returns what it holds: the frustum of a pyramid or an elliptic cone,
// depth/3 x (A + sqrt(A a) + a) with the areas A at the rim and a at the bottom
// (elementary geometry).
func (v Vessel) Litres() float64 {
	bottom := 1 - v.Taper
	return v.Depth / 3 * v.Rim() * (1 + bottom + bottom*bottom) / 1000
}

// wall returns the area through which it loses heat when it stands on slats, all
// of its outside, m2; the slant of the walls is left out.
func (v Vessel) wall() float64 {
	bottom := 1 - v.Taper
	round := 2 * (v.Length + v.Width)
	if v.Shape == Oval {
		// Ramanujan's first approximation of an ellipse's circumference.
		a, b := v.Length/2, v.Width/2
		round = math.Pi * (3*(a+b) - math.Sqrt((3*a+b)*(a+3*b)))
	}
	return (v.Rim()*(1+bottom*bottom) + round*(1+bottom)/2*v.Depth) / 1e4
}
