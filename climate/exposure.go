package climate

import (
	"fmt"
	"math"
	"slices"
)

// Exposure is how the air about a tree differs from the open air of its site.
type Exposure struct {
	Tmin, Tmax float64 // C added to the day's minimum and maximum, -15 to 15

	// CoverTmin and CoverTmax are added as well where there is a cover, -15 to 15 C:
	// in full on days whose minimum in the open is at or below freezing, and less the
	// milder it is, for covers are then opened.
	CoverTmin, CoverTmax float64

	// Floor is the temperature that a heater keeps up, C, -20 to 25; nil: none.
	Floor *float64
}

// coverOff is the minimum in the open from which a cover stays off, C. Common
// practice, no published source.
const coverOff = 10

// The names of the exposures.
const (
	Open      = "open"
	Sheltered = "sheltered"
	ColdFrame = "cold frame"
	Heated    = "heated"
)

// heatedTo is what a heater keeps up where nothing else is said, C: frost-free, and
// cold enough for a tree's rest. Common practice, no published source.
const heatedTo = 2

// ExposureNames lists the names of the exposures, from the coldest to the warmest.
func ExposureNames() []string { return []string{Open, Sheltered, ColdFrame, Heated} }

// ExposureNamed returns an exposure as it is commonly met with; an empty name is Open.
//
// A sheltered bench, by a wall and under eaves: common practice, no published source.
//
// A cold frame: under plastic, unheated, maxima were 4.2 C and minima 1.3 C above those
// outside on average (Savage 1980, Plastic tunnels: a study of air temperature,
// Agrochemophysica 12, 5-13, from its abstract). A heated place is one with a heater.
func ExposureNamed(name string) (Exposure, error) {
	switch name {
	case Open, "":
		return Exposure{}, nil
	case Sheltered:
		return Exposure{Tmin: 1, Tmax: 0.5}, nil
	case ColdFrame:
		return Exposure{CoverTmin: 1.3, CoverTmax: 4.2}, nil
	case Heated:
		floor := float64(heatedTo)
		return Exposure{CoverTmin: 1.3, CoverTmax: 4.2, Floor: &floor}, nil
	}
	return Exposure{}, fmt.Errorf("exposure %q: want one of %v", name, ExposureNames())
}

// Validate reports the first value of e that is out of range.
func (e Exposure) Validate() error {
	for _, v := range []float64{e.Tmin, e.Tmax, e.CoverTmin, e.CoverTmax} {
		if !(math.Abs(v) <= 15) {
			return fmt.Errorf("exposure: shift %v: want -15 to 15 C", v)
		}
	}
	if e.Floor != nil && !(*e.Floor >= -20 && *e.Floor <= 25) {
		return fmt.Errorf("exposure: floor %v: want -20 to 25 C", *e.Floor)
	}
	return nil
}

// Plain reports whether e is the open air.
func (e Exposure) Plain() bool { return e == Exposure{} }

// On returns the temperatures about the tree on a day with these in the open, C.
func (e Exposure) On(tmin, tmax float64) (lo, hi float64) {
	covered := max(0, min((coverOff-tmin)/coverOff, 1))
	lo, hi = bounded(tmin+e.Tmin+covered*e.CoverTmin), bounded(tmax+e.Tmax+covered*e.CoverTmax)
	if e.Floor != nil {
		lo, hi = max(lo, *e.Floor), max(hi, *e.Floor)
	}
	return lo, max(lo, hi)
}

// Stay is a time for which a tree stands somewhere, up to the next stay.
type Stay struct {
	From Date
	Exposure
}

// Under returns the outlook of a tree that stood, and stands, as the stays say,
// which are in the order of days; the first also holds before it begins, and the last
// for good. The outlook itself is returned where all of it is open air.
func (o *Outlook) Under(stays []Stay) *Outlook {
	if !slices.ContainsFunc(stays, func(s Stay) bool { return !s.Plain() }) {
		return o
	}
	at := 0
	on := func(d Date, tmin, tmax float64) (lo, hi float64) {
		for at+1 < len(stays) && stays[at+1].From <= d {
			at++
		}
		return stays[at].On(tmin, tmax)
	}
	out := *o
	out.Members = make([]Member, len(o.Members))
	for i, m := range o.Members {
		at = 0
		n := Member{Year: m.Year, Tmin: make([]float64, len(m.Tmin)), Tmax: make([]float64, len(m.Tmax))}
		for k := range m.Tmin {
			n.Tmin[k], n.Tmax[k] = on(o.First+Date(k), m.Tmin[k], m.Tmax[k])
		}
		out.Members[i] = n
	}
	if o.Record != nil {
		at = 0
		r := *o.Record
		r.Days = slices.Clone(o.Record.Days)
		for k := range r.Days {
			d := &r.Days[k]
			d.Tmin, d.Tmax = on(r.First+Date(k), d.Tmin, d.Tmax)
		}
		out.Record = &r
	}
	return &out
}
