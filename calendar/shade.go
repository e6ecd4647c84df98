package calendar

import (
	"math"

	"budswell/climate"
	"budswell/climate/phenology"
)

// Days of shade after a tree was potted: a week at least, four at most. Growers
// agree on the range, and on longer in hot, dry and windy weather and for trees
// that keep their leaves (common practice, no published source). The measure of
// dryness is the reference evapotranspiration of the first two weeks, mm a day.
const (
	shadeShortest = 7
	shadeLongest  = 28
	shadeMoist    = 1  // mm a day and less: the shortest shade
	shadeDry      = 5  // mm a day and more: the longest
	shadeInLeaf   = 5  // days more for trees that keep their foliage and so lose water at once
	shadeWeather  = 14 // days
)

// shadeKey is what the end of a shade depends on besides the weather.
type shadeKey struct {
	potted climate.Date
	inLeaf bool
}

// shadeEnds returns the day on which a tree of s that was potted on a day may
// come out of the shade, member by member.
func (p *Planner) shadeEnds(potted climate.Date, s *Species) climate.Sample {
	key := shadeKey{potted, s.Group != phenology.Deciduous && s.Group != phenology.DeciduousConifer}
	if out, ok := p.shades[key]; ok {
		return out
	}
	out := make(climate.Sample, len(p.outlook.Members))
	for i := range out {
		days := shadeShortest + (shadeLongest-shadeShortest)*(p.drying(i, potted)-shadeMoist)/(shadeDry-shadeMoist)
		if key.inLeaf {
			days += shadeInLeaf
		}
		out[i] = potted + climate.Date(math.Round(min(max(days, shadeShortest), shadeLongest)))
	}
	p.shades[key] = out
	return out
}

// drying returns the mean reference evapotranspiration of the days after from
// in a member, mm a day; that of the longest shade where the outlook does not
// cover them.
func (p *Planner) drying(member int, from climate.Date) float64 {
	o, m := p.outlook, &p.outlook.Members[member]
	sum := 0.0
	for d := from; d < from+shadeWeather; d++ {
		if d < o.First || d > o.Last() {
			return shadeDry
		}
		k := d - o.First
		sum += climate.Hargreaves(o.Site.Lat, d, m.Tmin[k], m.Tmax[k])
	}
	return sum / shadeWeather
}
