package sums

import (
	"errors"
	"math"

	"budswell/climate"
)

// Standing is how a pot stands in winter.
type Standing struct {
	Name string

	// Exchange is the heat that a square metre of the pot's outside passes to the
	// air for each degree, W/m2/K; Below the share of the outside that is exposed.
	Exchange float64
	Exposed  float64
}

// The ways in which a pot stands. A wall exchanges 7.7 W/m2/K with the still air of a
// room (surface resistance 0.13 m2K/W, ISO 6946, as the documentation of HTflux gives it),
// and out of doors 6.5 by radiation, 4.5 by still air and 1.6 more for each m/s of wind
// (surface transfer coefficients of WUFI, its documentation): 12 is a wind of 0.6 m/s about a bench,
// 8 shelter. What the ground and a mulch make of it, and the exposed shares, are judged, no published source.
var (
	OnBench   = Standing{"open bench", 12, 1}
	Sheltered = Standing{"sheltered, against a wall", 8, 0.8}
	OnGround  = Standing{"on the ground, mulched", 4, 0.5}
)

const (
	// Heat that a litre of moist soil takes up for each degree, kJ/l/K: its solids
	// about 0.8 kJ/kg/K, its water 4.2, ice 2.1 (physical constants, from memory),
	// at half a kilogram of solids and 0.3 kg of water a litre.
	soilHeatWet    = 0.5*0.8 + 0.3*4.2
	soilHeatFrozen = 0.5*0.8 + 0.3*2.1

	// Heat set free while the water of a litre freezes, kJ/l; 334 kJ/kg is the
	// heat of fusion of water (physical constant, from memory).
	freezingHeat = 0.3 * 334

	freezes = -0.5 // C; soil water holds salts (judged)
)

// RootCold is what the root zone of a pot comes to over a run of nights.
type RootCold struct {
	Lowest []float64 // of each day, C
	Frozen bool      // all water in the pot froze at some time
}

// RootMinimum follows the temperature of a pot's soil, taken as one body, through days with known
// lowest and highest air temperatures, C, -60 to 50; it starts at a
// temperature, -30 to 40 C, thawed above freezing.
//
// It is the lumped heat balance of a body that gives heat to the air, C dT/dt =
// h A (Tair - T) (Newton's law of cooling), hour by hour over the day's course of
// [climate.HourlyTotals], with the heat of freezing and thawing at -0.5 C. The
// rim of the soil is colder than the middle by night and the sun is left out.
func RootMinimum(v Vessel, s Standing, site climate.Site, first climate.Date, tmin, tmax []float64, start float64) (RootCold, error) {
	err := errors.Join(v.Check(), check(
		quantity{"heat exchange", s.Exchange, 0.5, 40, "W/m2/K"},
		quantity{"exposed share", s.Exposed, 0.05, 1, ""},
		quantity{"start", start, -30, 40, "C"},
		quantity{"days", float64(len(tmin)), 1, 400, ""},
		quantity{"days with a highest temperature", float64(len(tmax)), float64(len(tmin)), float64(len(tmin)), ""},
	))
	for _, temps := range [][]float64{tmin, tmax} {
		for _, t := range temps {
			err = errors.Join(err, check(quantity{"air", t, -60, 50, "C"}))
		}
	}
	if err != nil {
		return RootCold{}, err
	}
	b := bodyOf(v.Litres(), s.Exchange*s.Exposed*v.wall()*3.6, start)
	var out RootCold
	hour, low := 0, math.Inf(1)
	climate.HourlyTotals(site.Lat, first, tmin, tmax, func(air float64) float64 {
		b.hour(air)
		low = min(low, b.temp)
		out.Frozen = out.Frozen || b.ice >= 1
		if hour++; hour%24 == 0 {
			out.Lowest = append(out.Lowest, low)
			low = math.Inf(1)
		}
		return 0
	})
	return out, nil
}

// body is a pot's soil as one body.
type body struct {
	litres float64
	loss   float64 // kJ/h/K
	temp   float64 // C
	ice    float64 // share of its water that is frozen

	// What is left after an hour of a difference from the air, thawed and frozen
	// through; 0 where it is not to be reckoned at once.
	wet, frozen float64
}

// steps is in how many an hour is reckoned, short enough for small pots.
const steps = 60

func bodyOf(litres, loss, temp float64) body {
	left := func(soil float64) float64 {
		if step := loss / steps / (litres * soil); step < 1 {
			return math.Pow(1-step, steps)
		}
		return 0
	}
	b := body{litres: litres, loss: loss, temp: temp, wet: left(soilHeatWet), frozen: left(soilHeatFrozen)}
	if temp < freezes {
		b.ice = 1
	}
	return b
}

// hour takes in an hour of air at a temperature. Steps on one side of freezing
// shrink the difference from the air each by the same share: they are taken at once.
func (b *body) hour(air float64) {
	if next := air + (b.temp-air)*b.wet; b.wet > 0 && b.ice == 0 && b.temp > freezes && next > freezes {
		b.temp = next
		return
	}
	if next := air + (b.temp-air)*b.frozen; b.frozen > 0 && b.ice == 1 && b.temp < freezes && next < freezes {
		b.temp = next
		return
	}
	b.stepwise(air)
}

func (b *body) stepwise(air float64) {
	for range steps {
		heat := b.loss * (air - b.temp) / steps // kJ
		b.take(heat)
	}
}

// take takes in, or gives off, so much heat, kJ.
func (b *body) take(heat float64) {
	for heat != 0 {
		freezing := heat < 0 && b.temp <= freezes && b.ice < 1
		thawing := heat > 0 && b.temp >= freezes && b.ice > 0
		if freezing || thawing {
			room := b.litres * freezingHeat
			share := -heat / room
			next := min(max(b.ice+share, 0), 1)
			heat += (next - b.ice) * room
			b.ice, b.temp = next, freezes
			if next > 0 && next < 1 {
				return
			}
			continue
		}
		capacity := b.litres * (soilHeatWet + (soilHeatFrozen-soilHeatWet)*b.ice)
		next := b.temp + heat/capacity
		// Stop at the freezing point, where water freezes or ice thaws.
		if (b.temp > freezes && next < freezes && b.ice < 1) || (b.temp < freezes && next > freezes && b.ice > 0) {
			heat -= (freezes - b.temp) * capacity
			b.temp = freezes
			continue
		}
		b.temp = next
		return
	}
}
