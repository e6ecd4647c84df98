package phenology

import "math"

// Student's t distribution of four degrees of freedom, whose functions are in
// closed form.

// studentDensity returns its density at t.
func studentDensity(t float64) float64 {
	v := 1 + t*t/4
	return 0.375 / (v * v * math.Sqrt(v))
}

// studentBelow returns the share below t.
func studentBelow(t float64) float64 {
	v := 1 + t*t/4
	return 0.5 + 0.375*t/math.Sqrt(v)*(1-t*t/(12*v))
}
