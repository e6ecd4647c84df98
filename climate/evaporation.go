package climate

import "math"

// The reference evapotranspiration of this file is what a wide, well-watered
// lawn of 12 cm gives off in a day, in mm, as Allen, Pereira, Raes and Smith
// (1998), Crop evapotranspiration, FAO Irrigation and Drainage Paper 56, compute
// it. Numbers at the lines are the paper's equations, as the open library PyETo
// quotes them. A pot in the sun and wind dries faster: this is a measure of the
// day, not of the pot. Condensation does not count: no result is below zero.

// Hargreaves returns the reference evapotranspiration of a day of which only the
// temperatures are known, mm. Latitude is in degrees north, tmin and tmax in C,
// tmin not above tmax. It is zero in polar night.
func Hargreaves(lat float64, d Date, tmin, tmax float64) float64 {
	ra, _ := extraterrestrial(lat, d)
	mean := (tmin + tmax) / 2
	return max(0, 0.0023*(mean+17.8)*math.Sqrt(tmax-tmin)*waterOf(ra)) // (52)
}

// Air is what [Site.PenmanMonteith] needs to know of a day.
type Air struct {
	Tmin, Tmax float64 // C, Tmin not above Tmax
	Vapour     float64 // actual vapour pressure, kPa, 0 to 8; see [VapourPressure]
	Wind       float64 // mean speed at 2 m, m/s, 0 to 60; see [WindAt2m]
	Solar      float64 // solar radiation, MJ/m2, 0 to 45; see [SolarFromSunshine]
	Soil       float64 // heat that goes into the soil, MJ/m2: nearly 0 over a day
}

// PenmanMonteith returns the reference evapotranspiration of a day, mm.
func (s Site) PenmanMonteith(d Date, a Air) float64 {
	mean := (a.Tmin + a.Tmax) / 2                              // (9)
	delta := 4098 * saturation(mean) / math.Pow(mean+237.3, 2) // (13)
	gamma := psychrometric(s.Elevation)
	deficit := max(0, meanSaturation(a.Tmin, a.Tmax)-a.Vapour)
	radiation := s.netRadiation(d, a) - a.Soil
	return max(0, (0.408*delta*radiation+gamma*900/(mean+273)*a.Wind*deficit)/
		(delta+gamma*(1+0.34*a.Wind))) // (6)
}

// VapourPressure returns the actual vapour pressure of a day, kPa, from its
// temperatures in C and its lowest and highest relative humidity, 0 to 100 %.
func VapourPressure(tmin, tmax, rhMin, rhMax float64) float64 {
	return (saturation(tmin)*rhMax + saturation(tmax)*rhMin) / 200 // (17)
}

// WindAt2m returns the wind speed at 2 m over a lawn when that at a height in
// metres, 0.5 to 100, is known; same unit.
func WindAt2m(speed, height float64) float64 {
	return speed * 4.87 / math.Log(67.8*height-5.42) // (47)
}

// SolarFromSunshine returns the solar radiation of a day, MJ/m2, from its hours
// of bright sunshine.
func SolarFromSunshine(lat float64, d Date, hours float64) float64 {
	ra, length := extraterrestrial(lat, d)
	if length == 0 {
		return 0
	}
	return (0.25 + 0.50*min(hours/length, 1)) * ra // (35)
}

// extraterrestrial returns the radiation that falls on a level surface above the
// air in a day, MJ/m2, and the daylight hours that go with it. They are of the
// sun's centre, without refraction, and so shorter than [DayLength]. On a polar
// day the sun is up for 24 hours, in polar night both are zero. For winters
// beyond 55 degrees the paper grants its equations limited validity.
func extraterrestrial(lat float64, d Date) (ra, hours float64) {
	const solarConstant = 0.0820 // MJ/m2 a minute
	phi := lat * radian          // (22)
	declination := declination(d)
	sunset := sunsetAngle(phi, declination)
	ra = 24 * 60 / math.Pi * solarConstant * inverseDistance(d) *
		(sunset*math.Sin(phi)*math.Sin(declination) + math.Cos(phi)*math.Cos(declination)*math.Sin(sunset)) // (21)
	return max(0, ra), 24 / math.Pi * sunset // (34)
}

// inverseDistance returns the inverse relative distance from Earth to Sun.
func inverseDistance(d Date) float64 {
	return 1 + 0.033*math.Cos(2*math.Pi/365*float64(d.YearDay())) // (23)
}

// declination returns the sun's declination in radians, to half a degree.
func declination(d Date) float64 {
	return 0.409 * math.Sin(2*math.Pi/365*float64(d.YearDay())-1.39) // (24)
}

// sunsetAngle returns the hour angle of the sun's centre at sunset, radians: 0
// in polar night, pi on a polar day. Latitude and declination are in radians.
func sunsetAngle(phi, declination float64) float64 {
	return math.Acos(max(-1, min(-math.Tan(phi)*math.Tan(declination), 1))) // (25)
}

// netRadiation returns what the lawn keeps of the day's radiation, MJ/m2.
func (s Site) netRadiation(d Date, a Air) float64 {
	ra, _ := extraterrestrial(s.Lat, d)
	clear := (0.75 + 2e-5*s.Elevation) * ra // (37)
	// How clear the sky is cannot be told in polar night; half is between the
	// paper's humid and dry nights (from memory).
	clearness := 0.5
	if clear > 0 {
		clearness = a.Solar / clear
	}
	const albedo = 0.23
	return (1-albedo)*a.Solar - netLongwave(a.Tmin, a.Tmax, a.Vapour, clearness) // (38), (40)
}

// netLongwave returns the heat that the lawn loses to the sky in a day, MJ/m2,
// when the sun gave a share, clearness, of what it gives under a clear sky.
func netLongwave(tmin, tmax, vapour, clearness float64) float64 {
	const stefanBoltzmann = 4.903e-9 // MJ/m2/K4 a day
	black := stefanBoltzmann * (math.Pow(tmax+273.16, 4) + math.Pow(tmin+273.16, 4)) / 2
	// Clouds hold back most of the loss but never turn it; the lower limit is that
	// of the ASCE standard of 2005 (from memory).
	clouds := max(0.05, 1.35*min(clearness, 1)-0.35)
	return black * (0.34 - 0.14*math.Sqrt(vapour)) * clouds // (39)
}

// saturation returns the saturation vapour pressure at a temperature, kPa.
func saturation(t float64) float64 { return 0.6108 * math.Exp(17.27*t/(t+237.3)) } // (11)

// meanSaturation returns the saturation vapour pressure of a day, kPa.
func meanSaturation(tmin, tmax float64) float64 { return (saturation(tmin) + saturation(tmax)) / 2 } // (12)

// pressure returns the mean atmospheric pressure at an elevation in metres, kPa.
func pressure(elevation float64) float64 {
	return 101.3 * math.Pow((293-0.0065*elevation)/293, 5.26) // (7)
}

// psychrometric returns the psychrometric constant at an elevation, kPa/C.
func psychrometric(elevation float64) float64 { return 0.665e-3 * pressure(elevation) } // (8)

// waterOf returns how much water a radiation in MJ/m2 evaporates, mm.
func waterOf(radiation float64) float64 { return 0.408 * radiation } // (20)
