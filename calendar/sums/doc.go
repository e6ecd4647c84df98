// Package sums does the sums that growers do by hand: soil for a pot, hours until
// it is dry, wire for a branch, cold at the roots, a pot for a trunk. Each is a
// pure function with its formula and source beside it; what is judged says so. A
// result is an estimate: look at the tree first.
//
// Arguments outside the stated ranges are an [ErrRange] that says which, and
// what would be right.
package sums

import (
	"errors"
	"fmt"
)

// ErrRange is returned, wrapped, for an argument that is out of its range.
var ErrRange = errors.New("out of range")

// quantity is an argument with its range, ends included.
type quantity struct {
	name     string
	value    float64
	low, top float64
	unit     string
}

// check names all quantities that are out of their range; what is not a number
// is.
func check(all ...quantity) error {
	var errs []error
	for _, q := range all {
		if !(q.value >= q.low && q.value <= q.top) {
			errs = append(errs, fmt.Errorf("%s %v %s: %w: want %v to %v", q.name, q.value, q.unit, ErrRange, q.low, q.top))
		}
	}
	return errors.Join(errs...)
}
