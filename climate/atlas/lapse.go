package atlas

import (
	"budswell/climate"
)

// Bounds of what the surface is believed of rates, C a metre: air that is lifted cools
// by 9.8 C a kilometre while it is dry (gravity over its heat capacity, 9.81/1005), and
// more does not last; of inversions half of that is taken at most, judged, no
// published source.
const (
	steepest   = 0.0098
	shallowest = -steepest / 2
)

// reach is how far below and above a place the rates are taken, m: as far as a station
// is that is worth asking.
const reach = 500

// Lapse returns how temperature falls with height about a place, by month, for its
// daily minima and maxima, as the stations around have it. Errors are those of [At].
func Lapse(lat, lon, elevation float64) (*climate.Lapse, error) {
	if _, err := At(lat, lon, &elevation); err != nil {
		return nil, err
	}
	s := theSurface()
	low, high := spotAt(theCoast(), lat, lon, elevation-reach), spotAt(theCoast(), lat, lon, elevation+reach)
	below, ok := s.months(&low)
	above, also := s.months(&high)
	if !ok || !also {
		return nil, ErrNoClimate
	}
	out := &climate.Lapse{}
	for m := range 12 {
		out.Tmin[m] = rate(below[m], above[m])
		out.Tmax[m] = rate(below[m+12], above[m+12])
	}
	return out, nil
}

func rate(below, above float64) float64 {
	return max(shallowest, min((below-above)/(2*reach), steepest))
}
