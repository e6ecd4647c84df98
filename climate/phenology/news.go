package phenology

import "math"

// glimpse is what was seen this spring of a tree that shares its species' part of
// the clock with the one that is forecast.
type glimpse struct {
	mean, scale float64 // the clock at which it was to break bud, and by how much it strays

	// The clock between whose readings it broke bud: the last look at which it
	// was closed, -Inf for none, and the first at which it was open, +Inf when
	// it is closed yet.
	closed, open float64
}

// likelihood returns that of the glimpse if the species is b days late.
func (g *glimpse) likelihood(b float64) float64 {
	low, high := 0.0, 1.0
	if !math.IsInf(g.closed, -1) {
		low = studentBelow((g.closed - g.mean - b) / g.scale)
	}
	if !math.IsInf(g.open, 1) {
		high = studentBelow((g.open - g.mean - b) / g.scale)
	}
	return max(high-low, 1e-12)
}

// shared returns the distribution on the shared grid of how late a species is
// this spring, given what was seen of its trees.
func shared(variance float64, seen []glimpse) []float64 {
	p := normalWeights(sharedGrid, math.Sqrt(max(variance, 0.25)))
	for i := range seen {
		sum := 0.0
		for j, b := range sharedGrid {
			p[j] *= seen[i].likelihood(b)
			sum += p[j]
		}
		for j := range p {
			p[j] /= sum
		}
	}
	return p
}

// distribution is that of the reading of a gauge on which growth starts, as a
// table of its distribution function.
type distribution struct {
	from, step float64
	below      []float64 // at from, from + step, ...; rising
}

// tableStep is the width of a table's step in shares of the scale.
const tableStep = 0.125

// normalDistribution tabulates a normal distribution.
func normalDistribution(d normalDist) distribution {
	sd := math.Sqrt(d.variance)
	out := distribution{from: d.mean - 5*sd, step: tableStep * sd, below: make([]float64, int(10/tableStep)+1)}
	for i := range out.below {
		out.below[i] = below(float64(i)*tableStep - 5)
	}
	return out
}

// studentDistribution tabulates the distribution of mean + b + scale t for b on
// the shared grid with weights p.
func studentDistribution(mean, scale float64, p []float64) distribution {
	first, last := 0, len(p)-1
	for p[first] < 1e-6 && first < last {
		first++
	}
	for p[last] < 1e-6 && last > first {
		last--
	}
	const (
		step = 0.5 // that of the shared grid, so that one table of t serves all b
		tail = 14  // scales
	)
	reach := int(math.Ceil(tail * scale / step))
	t := make([]float64, 2*reach+1)
	for i := range t {
		t[i] = studentBelow(float64(i-reach) * step / scale)
	}
	out := distribution{
		from: mean + sharedGrid[first] - float64(reach)*step, step: step,
		below: make([]float64, 2*reach+1+last-first),
	}
	for j := first; j <= last; j++ {
		if p[j] == 0 {
			continue
		}
		shift := j - first
		for i := range out.below {
			k := i - shift
			switch {
			case k < 0:
			case k >= len(t):
				out.below[i] += p[j]
			default:
				out.below[i] += p[j] * t[k]
			}
		}
	}
	return out
}

// at returns the share of the distribution below x.
func (d *distribution) at(x float64) float64 {
	t := (x - d.from) / d.step
	n := len(d.below) - 1
	switch {
	case !(t > 0):
		return 0
	case t >= float64(n):
		return 1
	}
	i := int(t)
	return d.below[i] + (d.below[i+1]-d.below[i])*(t-float64(i))
}

// above maps the probability p to a value of that part of the distribution that
// is above floor.
func (d *distribution) above(p, floor float64) float64 {
	f := d.at(floor)
	if f > 1-1e-6 { // hardly anything is left: just above it
		return floor + 0.2*p*d.step
	}
	f += p * (1 - f)
	i := first(d.below, f)
	switch {
	case i == 0:
		return max(d.from, floor)
	case i == len(d.below):
		return max(d.from+float64(i-1)*d.step, floor)
	}
	low := d.below[i-1]
	return max(floor, d.from+d.step*(float64(i-1)+(f-low)/(d.below[i]-low)))
}

// given conditions d on a reading of the same value with a normal error.
func (d *distribution) given(reading, variance float64) {
	sum, before := 0.0, 0.0
	for i, f := range d.below {
		z := d.from + (float64(i)-0.5)*d.step - reading
		part := (f - before) * math.Exp(-z*z/(2*variance))
		before = f
		sum += part
		d.below[i] = sum
	}
	if sum < 1e-12 { // a reading out of all reason
		*d = normalDistribution(normalDist{reading, variance})
		return
	}
	for i := range d.below {
		d.below[i] /= sum
	}
}
