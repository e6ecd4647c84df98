package climate

import "math"

// ChillHour is 1 for an hour between 0 and 7.2 C and 0 for any other: the
// chilling hour, in the form that leaves frost out. For use with [HourlyTotals].
// The limits are common practice (32 and 45 F), no single published source.
func ChillHour(t float64) float64 {
	if t >= 0 && t <= 7.2 {
		return 1
	}
	return 0
}

// UtahUnit is the chill of an hour at t, in C, in Utah units: -1 to 1, negative
// where warmth undoes chill. For use with [HourlyTotals], whose totals may
// therefore fall.
//
// Source: Richardson, Seeley and Walker (1974), A model for estimating the
// completion of rest for Redhaven and Elberta peach trees, HortScience 9: 331-332.
func UtahUnit(t float64) float64 {
	switch {
	case t <= 1.4:
		return 0
	case t <= 2.4:
		return 0.5
	case t <= 9.1:
		return 1
	case t <= 12.4:
		return 0.5
	case t <= 15.9:
		return 0
	case t <= 18:
		return -0.5
	default:
		return -1
	}
}

// ChillPortions returns the chill portions of the Dynamic Model gathered by the
// end of each day since first, when there were none. The daily minima and
// maxima, C, begin on first, are as many, and are all known; lat is in degrees
// north.
//
// Source: Fishman, Erez and Couvillon (1987), The temperature dependence of
// dormancy breaking in plants: mathematical analysis of a two-step model
// involving a cooperative transition, Journal of Theoretical Biology 124:
// 473-483, with the parameters in use since Erez et al. (1990).
func ChillPortions(lat float64, first Date, tmin, tmax []float64) []float64 {
	var m dynamicModel
	return HourlyTotals(lat, first, tmin, tmax, m.hour)
}

// dynamicModel is the state of the Dynamic Model: the amount of the intermediate
// that chill makes and warmth destroys. As soon as there is a whole portion of
// it, part is fixed for good, the more the warmer.
type dynamicModel struct{ intermediate float64 }

// Parameters of the Dynamic Model. E0 and E1 are activation energies over the
// gas constant, in K; A0 and A1 the rates they go with, per hour.
const (
	chillE0    = 4153.5
	chillE1    = 12888.8
	chillA0    = 139500
	chillA1    = 2.567e18
	chillSlope = 1.6
	chillTf    = 277.0 // K, at which half of a portion is fixed
	chillZero  = 273.0 // K at 0 C, as the authors' programs have it
)

// hour takes the temperature of the next hour, C, and returns the portion that
// is fixed in it: mostly none, and after long frost several at once.
func (m *dynamicModel) hour(t float64) float64 {
	kelvin := t + chillZero
	limit := chillA0 / chillA1 * math.Exp((chillE1-chillE0)/kelvin) // at which making balances destroying
	decay := math.Exp(-chillA1 * math.Exp(-chillE1/kelvin))
	m.intermediate = limit - (limit-m.intermediate)*decay
	if m.intermediate < 1 {
		return 0
	}
	fixed := m.intermediate / (1 + math.Exp(-chillSlope*chillTf*(kelvin-chillTf)/kelvin))
	m.intermediate -= fixed
	return fixed
}
