package calendar

import (
	"fmt"

	"budswell/climate"
)

// contradicts reports what entry i says that cannot be beside what was logged
// before it: field soil that comes back. Work in a wrong order can be: see [Flag].
func (c *checker) contradicts(i int) {
	e := &c.tree.Log[i]
	if e.FieldSoilLeft == nil {
		return
	}
	before, since := 1.0, "in the beginning"
	if c.tree.FieldSoil != nil {
		before = *c.tree.FieldSoil
	}
	for _, k := range byDay(c.tree.Log) {
		if k == i {
			break
		}
		if left := c.tree.Log[k].FieldSoilLeft; left != nil {
			before, since = *left, "on "+c.tree.Log[k].On.String()
		}
	}
	if *e.FieldSoilLeft > before {
		c.no(i, "field_soil_left", *e.FieldSoilLeft, "field soil does not come back; want at most the %g that was left %s", before, since)
	}
}

// sittings is how many days apart wire may be put on, or come off, in two sittings.
const sittings = 28

// unwired says why no wire can have come off the tree on a day: it came off
// before, or the tree was dug in the wild, and none was put on since. Of trees
// that came from elsewhere that is not known.
func (h *history) unwired(on climate.Date) objection {
	off, dug := h.last(WorkUnwire, beforeAll), h.last(WorkCollect, beforeAll)
	switch {
	case h.wire.Valid():
	case off.Valid() && on-off > sittings:
		return objection{reason: fmt.Sprintf("the log contradicts itself: the wire came off on %v, and none was put on since", off)}
	case !off.Valid() && dug.Valid() && h.tree.Origin == Collected:
		return objection{reason: fmt.Sprintf("the log contradicts itself: it was dug on %v, and no wire was put on since", dug)}
	}
	return objection{}
}
