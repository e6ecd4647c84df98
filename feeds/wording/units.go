package wording

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"budswell/calendar"
)

// quart is a US liquid quart in litres, and the Fahrenheit scale has 9/5 of a degree for
// one of Celsius and 32 at its nought (NIST Special Publication 811, 2008, appendix B.8 and
// B.7; the quart is a quarter of a gallon of 231 cubic inches, exactly this).
const quart = 0.946352946

// exact is to how many decimals a converted number is shown and taken: finer than
// anybody types, and coarser than what a conversion there and back loses.
const exact = 6

// Fahrenheit reports whether the reader has temperatures in Fahrenheit.
func (t *Tongue) Fahrenheit() bool { return t.locale.Temperature == calendar.Fahrenheit }

// Quarts reports whether the reader has volumes in US quarts.
func (t *Tongue) Quarts() bool { return t.locale.Volume == calendar.InQuarts }

// Degree is the unit of temperatures: "°C".
func (t *Tongue) Degree() string {
	if t.Fahrenheit() {
		return "°F"
	}
	return "°C"
}

// Degrees converts a temperature in Celsius to what the reader sees, and Celsius back.
func (t *Tongue) Degrees(celsius float64) float64 {
	if t.Fahrenheit() {
		return rounded(celsius*9/5 + 32)
	}
	return celsius
}

// Celsius converts what the reader types to Celsius.
func (t *Tongue) Celsius(shown float64) float64 {
	if t.Fahrenheit() {
		return settled((shown - 32) * 5 / 9)
	}
	return shown
}

// DegreesApart converts a difference of temperatures in Celsius.
func (t *Tongue) DegreesApart(celsius float64) float64 {
	if t.Fahrenheit() {
		return rounded(celsius * 9 / 5)
	}
	return celsius
}

// CelsiusApart converts a difference that the reader types.
func (t *Tongue) CelsiusApart(shown float64) float64 {
	if t.Fahrenheit() {
		return shown * 5 / 9
	}
	return shown
}

// Volume converts litres to what the reader sees.
func (t *Tongue) Volume(litres float64) float64 {
	if t.Quarts() {
		return rounded(litres / quart)
	}
	return litres
}

// Holds writes the volume of a container given in litres.
func (t *Tongue) Holds(litres float64) string {
	const decimals = 2 // a pot is measured no finer
	if t.Quarts() {
		return t.Say("{1} US quarts", t.Number(t.Volume(litres), decimals))
	}
	return t.Say("{1} litres", t.Number(litres, decimals))
}

// Litres converts what the reader types to litres.
func (t *Tongue) Litres(shown float64) float64 {
	if t.Quarts() {
		return settled(shown * quart)
	}
	return shown
}

// settled takes off what binary numbers lose, so that a value that was converted and is
// not changed comes back the same.
func settled(x float64) float64 { return math.Round(x*1e9) / 1e9 }

func rounded(x float64) float64 {
	const scale = 1e6 // of exact
	return math.Round(x*scale) / scale
}

// Temperature writes a temperature given in Celsius, with so many decimals at most.
func (t *Tongue) Temperature(celsius float64, decimals int) string {
	return t.Number(t.Degrees(celsius), decimals) + " " + t.Degree()
}

// Tenths writes a temperature given in Celsius to the tenth of a degree, always.
func (t *Tongue) Tenths(celsius float64) string {
	s := strings.Replace(strconv.FormatFloat(t.Degrees(celsius), 'f', 1, 64), "-0.0", "0.0", 1)
	return strings.NewReplacer(".", t.Decimal, "-", "\u2212").Replace(s) + " " + t.Degree()
}

// TemperatureApart writes a difference of temperatures given in Celsius.
func (t *Tongue) TemperatureApart(celsius float64, decimals int) string {
	return t.Number(t.DegreesApart(celsius), decimals) + " " + t.Degree()
}

// Typed writes a number as a reader would type it, so that it is read as the same.
func (t *Tongue) Typed(x float64) string {
	if math.IsNaN(x) {
		return ""
	}
	return strings.Replace(t.Number(x, exact), "\u2212", "-", 1)
}

// Read reads a number that somebody typed, with a comma or a point, and any minus.
func Read(text string) (float64, error) {
	x, err := strconv.ParseFloat(strings.NewReplacer(",", ".", "\u2212", "-").Replace(strings.TrimSpace(text)), 64)
	if err != nil || math.IsInf(x, 0) || math.IsNaN(x) {
		return 0, fmt.Errorf("%.40q: want a number", text)
	}
	return x, nil
}
