package calendar

import (
	"cmp"
	"math"

	"budswell/calendar/sums"
)

// measured reports whether the inner measures are given.
func (c *Container) measured() bool { return c.Length != 0 || c.Width != 0 || c.Depth != 0 }

// Vessel returns what the tree stands in by its measures or, where only its litres
// are known, a box or a pot of usual proportions; false where neither is known.
func (c *Container) Vessel() (sums.Vessel, bool) {
	shape := cmp.Or(c.Shape, sums.Rectangle)
	switch {
	case c.measured():
		return sums.Vessel{Shape: shape, Length: c.Length, Width: c.Width, Depth: c.Depth}, true
	case c.Litres <= 0:
		return sums.Vessel{}, false
	}
	// Four to three, and as deep as a third of its length; a box half as deep as it
	// is long, a show pot a fifth (judged: common proportions).
	depth := 4.0 / 3
	switch c.Kind {
	case Box:
		depth = 2
	case FinalPot:
		depth = 0.8
	}
	v := sums.Vessel{Shape: shape, Length: 4, Width: 3, Depth: depth}
	scale := math.Cbrt(c.Litres / v.Litres())
	v.Length, v.Width, v.Depth = v.Length*scale, v.Width*scale, v.Depth*scale
	return v, v.Check() == nil
}

// usualMix is what a tree is taken to stand in where nothing is said.
const usualMix = "1 pumice, 1 lava, 1 baked clay"

// mix returns what the tree stands in.
func (c *Container) mix() sums.Mix {
	m, err := sums.ParseMix(cmp.Or(c.Mix, usualMix))
	if err != nil {
		m, _ = sums.ParseMix(usualMix) // what was checked does not come here
	}
	return m
}

// container checks the measures of what a tree stands in.
func (c *checker) container() {
	k := &c.tree.Container
	oneOf(c, -1, "container.shape", k.Shape, sums.Shapes())
	if k.measured() {
		v := sums.Vessel{Shape: sums.Rectangle, Length: k.Length, Width: k.Width, Depth: k.Depth}
		if err := v.Check(); err != nil {
			c.no(-1, "container.length", k.Length, "want inner length, width and depth in cm: %v", err)
		}
	}
	if k.Mix != "" {
		if _, err := sums.ParseMix(k.Mix); err != nil {
			c.no(-1, "container.mix", k.Mix, "want parts by volume, such as %q: %v", usualMix, err)
		}
	}
}
