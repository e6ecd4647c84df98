package sums

import (
	"cmp"
	"errors"
	"math"
	"slices"

	"budswell/climate"
)

// Thirst is a potted tree as far as it needs water.
type Thirst struct {
	Name string

	Spread float64 // of the crown, cm, 5 to 300
	Leaf   float64 // leaf area over the ground that the crown covers, 0 (bare) to 8; 2 to 4 is usual in full leaf

	Vessel Vessel
	Mix    Mix
	Ball   float64 // share of the soil volume that is roots and stone and holds none, 0 to 0.6
	Filled float64 // share of the water it can hold that it has at the start, 0 to 1; 1 just watered

	// Shade is the share of the open bench's evaporation that is left where it
	// stands, 0.2 to 1.5: netting 0.5 to 0.7, a windy roof over 1 (judged).
	Shade float64
}

// Check returns an [ErrRange] that says what of t is out of range.
func (t *Thirst) Check() error {
	return errors.Join(t.Vessel.Check(), t.Mix.Check(), check(
		quantity{"spread", t.Spread, 5, 300, "cm"},
		quantity{"leaf area index", t.Leaf, 0, 8, ""},
		quantity{"roots and stone", t.Ball, 0, 0.6, ""},
		quantity{"filled", t.Filled, 0, 1, ""},
		quantity{"shade", t.Shade, 0.2, 1.5, ""},
	))
}

const (
	// Whole trees give off a fifth of the evaporation of a pan for each layer of
	// leaves: crown projection x leaf area index x pan evaporation x 0.20, in the worked table of
	// Lindsey and Bassuk (1991), Specifying Soil Volumes to Meet the Water Needs of Mature
	// Urban Street Trees and Trees in Containers, Journal of Arboriculture 17(6), 141-149,
	// https://doi.org/10.48044/joa.1991.17.6.141.
	leafRatio = 0.20

	// A pan evaporates more than the reference lawn: FAO Irrigation and Drainage Paper 56,
	// chapter 4, pan evaporation method, https://www.fao.org/4/x0490e/x0490e08.htm; that its coefficients
	// for class A pans run from 0.35 to 0.85, with 0.7 the usual one, is from memory.
	panCoefficient = 0.7

	// The soil's open surface evaporates like the reference lawn while it is wet
	// (judged). Beeson (2010), HortScience 45(8), measured some 160 ml a day on shaded
	// containers of 11.4 l, 3 mm over their surface, in Florida.
	surfaceRatio = 1.0
)

// Litres a day that t gives off on a day with a reference evapotranspiration of et0, mm.
func (t *Thirst) daily(et0 float64) float64 {
	crown := math.Pi / 4 * t.Spread * t.Spread / 1e4 // m2
	rim := t.Vessel.Rim() / 1e4
	shaded := math.Exp(-0.5 * t.Leaf) // light that passes the leaves: Beer's law, 0.5 for leaves at all angles (from memory)
	leaves := crown * t.Leaf * leafRatio / panCoefficient
	open := rim
	if crown >= rim {
		open = rim * (0.3 + 0.7*shaded) // wind reaches under the crown (judged)
	}
	return (leaves + open*surfaceRatio) * et0 * t.Shade
}

// holds returns the water, litres, that roots can draw from a watered pot.
func (t *Thirst) holds() float64 {
	return t.Vessel.Litres() * (1 - t.Ball) * t.Mix.Available()
}

// Drying says how a pot dries.
type Drying struct {
	Name   string
	Daily  float64 // water given off on the first day, l
	Holds  float64 // water that roots can draw when watered, l
	Hours  float64 // after the start until that is gone
	Beyond bool    // not within the days given: Hours is then their end
}

// Dry returns in how many hours the water that roots can draw from a pot is
// gone, when it starts at an hour of solar time, 0 to 24, on a day of the site
// with so much reference evapotranspiration, mm, 0 to 20 on each of one to thirty
// days; see [climate.Hargreaves]. Evaporation goes with the height of the sun:
// a half sine between sunrise and sunset. It rains on none of the days.
func Dry(t *Thirst, site climate.Site, first climate.Date, start float64, et0 []float64) (Drying, error) {
	err := errors.Join(t.Check(), check(
		quantity{"start", start, 0, 24, "h"},
		quantity{"days", float64(len(et0)), 1, 30, ""},
	))
	for _, e := range et0 {
		err = errors.Join(err, check(quantity{"evapotranspiration", e, 0, 20, "mm"}))
	}
	if err != nil {
		return Drying{}, err
	}
	d := Drying{Name: t.Name, Daily: t.daily(et0[0]), Holds: t.holds()}
	left := d.Holds * t.Filled
	from := start
	for i, e := range et0 {
		day := first + climate.Date(i)
		gives, light := t.daily(e), climate.DayLength(site.Lat, day)
		base := sunShare(light, from)
		if gone := gives * (sunShare(light, 24) - base); gone < left {
			left -= gone
			from = 0
			continue
		}
		// The hour at which the share of the day's water that is left is gone.
		lo, hi := from, 24.0
		for hi-lo > 1e-3 {
			mid := (lo + hi) / 2
			if gives*(sunShare(light, mid)-base) < left {
				lo = mid
			} else {
				hi = mid
			}
		}
		d.Hours = float64(24*i) + hi - start
		return d, nil
	}
	d.Hours, d.Beyond = float64(24*len(et0))-start, true
	return d, nil
}

// sunShare returns the share of the evaporation of a day of such a length, hours, that
// is over at an hour of solar time. Without a sunrise it is spread evenly.
func sunShare(length, hour float64) float64 {
	if length <= 0 || length >= 24 {
		return hour / 24
	}
	x := (hour - (12 - length/2)) / length
	return (1 - math.Cos(math.Pi*min(max(x, 0), 1))) / 2
}

// First sorts pots by which dries first.
func First(pots []Drying) {
	slices.SortStableFunc(pots, func(a, b Drying) int { return cmp.Compare(a.Hours, b.Hours) })
}
