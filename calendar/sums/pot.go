package sums

// Proportion is the size of pot that suits a tree, as far as rules of thumb go:
// the eye decides.
type Proportion struct {
	Length [2]float64 // cm, from and to
	Width  [2]float64 // cm
	Depth  [2]float64 // cm
}

// PotFor returns the outer size of a pot for a tree by its height or, where that
// is more, its spread, and the thickness of its trunk above the roots, cm; 5 to
// 200 and 0.5 to 60. Feminine or slender trees are shown in the shallower, heavy
// ones in the deeper pot.
//
// Common practice, no published source: length two thirds of the height (or of the
// spread, where the tree is wider than tall), a fifth less to a tenth more; depth about
// the trunk's thickness, from three quarters to a fifth more; width four fifths
// of the length and less, not below half of it.
func PotFor(height, spread, trunk float64) (Proportion, error) {
	if err := check(
		quantity{"height", height, 5, 200, "cm"},
		quantity{"spread", spread, 5, 300, "cm"},
		quantity{"trunk", trunk, 0.5, 60, "cm"},
	); err != nil {
		return Proportion{}, err
	}
	length := max(height, spread) * 2 / 3
	return Proportion{
		Length: [2]float64{0.8 * length, 1.1 * length},
		Width:  [2]float64{0.5 * length, 0.8 * length},
		Depth:  [2]float64{0.75 * trunk, 1.2 * trunk},
	}, nil
}
