package climate

import "math"

// HourlyTotals returns the running totals, at the end of each day, of something
// counted hour by hour: [ChillHour], [UtahUnit] or a unit of one's own, which is
// given the temperature of every hour in turn, C. The daily minima and maxima,
// C, begin on first, are as many, and are all known; lat is in degrees north.
//
// The hours between minimum and maximum are those of Linvill (1990) and of solar
// time, 0 to 23. The day before the first and the day after the last are taken
// to be like them.
func HourlyTotals(lat float64, first Date, tmin, tmax []float64, unit func(t float64) float64) []float64 {
	totals := make([]float64, len(tmin))
	if len(tmin) == 0 {
		return totals
	}
	day := newDiurnal(lat, first, tmin[0], tmax[0])
	before := day
	total := 0.0
	for i := range totals {
		after := day
		if i+1 < len(tmin) {
			after = newDiurnal(lat, first+Date(i)+1, tmin[i+1], tmax[i+1])
		}
		for _, t := range hourly(before, day, after) {
			total += unit(t)
		}
		totals[i] = total
		before, day = day, after
	}
	return totals
}

// diurnal is what the course of a day's temperature depends on.
type diurnal struct {
	tmin, tmax float64 // C
	rise, set  float64 // hours of solar time, noon is 12
}

// The course of a day is known for days with a sunrise and a sunset. A shorter
// day than shortestDay would end before its curve is at the maximum, a longer
// one than longestDay has no night to cool in; such days, and those of polar day
// and night, get the course of the nearest day within. Our own extension.
const (
	shortestDay = 4.0  // hours
	longestDay  = 23.0 // hours
)

func newDiurnal(lat float64, d Date, tmin, tmax float64) diurnal {
	half := max(shortestDay, min(DayLength(lat, d), longestDay)) / 2
	return diurnal{tmin, tmax, 12 - half, 12 + half}
}

// hourly returns the temperatures of a day at hours 0 to 23 of solar time, C: a
// sine by day that is highest two hours past noon, and a logarithmic decline by
// night from the temperature of sunset to the minimum, which it meets at the
// coming sunrise.
//
// Source: Linvill (1990), Calculating chilling hours and chill units from daily
// maximum and minimum temperature observations, HortScience 25: 14-16. There the
// decline is divided by ln(night) instead of ln(night + 1), which does not meet
// the minimum and breaks the curve at sunrise.
func hourly(before, day, after diurnal) [24]float64 {
	var t [24]float64
	evenings := [2]nightfall{newNightfall(before, day), newNightfall(day, after)}
	for h := range t {
		switch hour := float64(h); {
		case hour <= day.rise:
			t[h] = evenings[0].after(hour + 24 - before.set)
		case hour <= day.set:
			t[h] = day.at(hour)
		default:
			t[h] = evenings[1].after(hour - day.set)
		}
	}
	return t
}

// at returns the temperature at an hour between sunrise and sunset, C.
func (d *diurnal) at(hour float64) float64 {
	return d.tmin + (d.tmax-d.tmin)*math.Sin(math.Pi*(hour-d.rise)/(d.set-d.rise+4))
}

// nightfall is the decline of a night.
type nightfall struct {
	sunset float64 // temperature at sunset, C
	rate   float64 // C for each unit of the logarithm
}

func newNightfall(evening, morning diurnal) nightfall {
	sunset := evening.at(evening.set)
	night := morning.rise + 24 - evening.set
	return nightfall{sunset, (sunset - morning.tmin) / math.Log(night+1)}
}

// after returns the temperature so many hours after sunset, C.
func (n *nightfall) after(hours float64) float64 { return n.sunset - n.rate*math.Log(hours+1) }
