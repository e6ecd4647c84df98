package phenology

import (
	"math"

	"budswell/climate"
)

// model is what was learned for a target from the other springs.
type model struct {
	ground  *ground
	curves  []curve
	share   []float64
	typical []course
	springs []gauge    // the place's clock in all springs
	ahead   [][]course // of the shifted other seasons, by curve
	parts   partSpreads
	learned *learned
	wild    []float64 // by species
	centre  float64   // clock about which readings are given
}

// speciesSpread is how far species stray from one another, days, wide enough
// to take nothing from what was fitted elsewhere.
const speciesSpread = 25

// learn fits the model to all springs but the target, and to all species but out.
func (g *ground) learn(j *judged, out int) (*model, error) {
	b := g.bench
	s := b.stand
	m := &model{ground: g}
	j.settle(s, b.prior, g.target, out)
	at, share := sample(j.weigh(s, b.prior, g.target, -1), sampled)
	m.share = share
	weights := make([]float64, b.days)
	ratesA, sumsA := buffers(len(g.springs), b.days)
	ratesB, sumsB := buffers(len(g.others), b.days)
	for i := range g.springs {
		m.springs = append(m.springs, make(gauge, g.springs[i].days()))
	}
	for i, k := range at {
		c := &b.curves[k]
		m.curves = append(m.curves, *c)
		g.forcingOf(c, true, g.springs, g.chillSprings, ratesA, sumsA, weights)
		g.forcingOf(c, true, g.others, g.chillOthers, ratesB, sumsB, weights)
		typical := mean(sumsB)
		m.typical = append(m.typical, typical)
		for z := range g.springs {
			typical.addClock(m.springs[z], sumsA[z], share[i])
		}
		_, ahead := buffers(len(g.others), b.days)
		g.forcingOf(c, true, g.shifted, g.chillShifted, ratesB, ahead, weights)
		m.ahead = append(m.ahead, ahead)
	}
	x := make([]float64, len(s.rows))
	s.read(m.springs, x)
	n := 0.0
	for i := range s.rows {
		if s.rows[i].spring != g.target && s.rows[i].species != out {
			m.centre += x[i]
			n++
		}
	}
	m.centre /= max(n, 1)
	var readings []reading
	for i := range s.rows {
		if r := &s.rows[i]; r.spring != g.target && r.species != out {
			readings = append(readings, reading{
				tree: b.names.trees[r.tree], species: b.names.species[r.species], year: b.years[r.spring], residual: x[i] - m.centre, variance: dayVariance,
			})
		}
	}
	all, wild := s.spread(b.prior, j, g.target, out)
	m.wild = wild
	m.parts = partSpreads{spreads: all, place: 1, species: func(string) float64 { return speciesSpread }}
	var err error
	m.learned, err = condition(readings, m.parts)
	return m, err
}

// usual returns the usual clock of a row's tree.
func (m *model) usual(r *standRow) usual {
	names := &m.ground.bench.names
	u := m.learned.of(names.species[r.species], names.trees[r.tree], m.parts)
	u.mean += m.centre
	return u
}

// bud returns the distribution of the target's clock when row i's phase comes,
// with what was seen of the others of its species by the end of the given day of
// the season; noDay for nothing.
func (m *model) bud(i, by int) distribution {
	s := m.ground.bench.stand
	r := &s.rows[i]
	u := m.usual(r)
	var seen []glimpse
	if by != noDay {
		clock := m.springs[m.ground.target]
		for k := i - 1; k >= 0 && s.rows[k].species == r.species && s.rows[k].spring == r.spring; k-- {
			seen = append(seen, m.glimpse(k, by, clock))
		}
		for k := i + 1; k < len(s.rows) && s.rows[k].species == r.species && s.rows[k].spring == r.spring; k++ {
			seen = append(seen, m.glimpse(k, by, clock))
		}
	}
	return studentDistribution(u.mean, u.scale(m.parts, m.wild[r.species]), shared(u.late(m.parts, m.wild[r.species]), seen))
}

func (m *model) glimpse(k, by int, clock gauge) glimpse {
	r := &m.ground.bench.stand.rows[k]
	u := m.usual(r)
	g := glimpse{mean: u.mean, scale: u.scale(m.parts, m.wild[r.species]), closed: clock.at(by), open: math.Inf(1)}
	if day := int(r.day); day <= by {
		g.closed, g.open = seenBetween(clock, day)
	}
	return g
}

// seenBetween returns the clock before and after something came that was seen
// on day.
func seenBetween(clock gauge, day int) (before, after float64) {
	const least = 0.5 // clock days that a day counts for at least, in the cold as well
	after = clock.at(day)
	return min(clock.at(day-1), after-least), after
}

// half is the step of days in which dates are judged.
const half = 0.5

// dates is the distribution function of a date, at -1, -1/2, 0 ... days of the season.
type dates []float64

// continuations returns the clock of the target as known by the end of day by, on
// weather gaps filled with what was known then, followed by each other season.
func (m *model) continuations(by int) []gauge {
	g := m.ground
	b := g.bench
	year := b.years[g.target]
	start := b.Site.SeasonStart(year)
	known := (&climate.Record{Source: b.early.Source, First: b.early.First, Days: b.early.Days}).Until(start + climate.Date(by))
	from := start - winterDays - 40 // gaps begin later than that, as a rule
	if from > known.First {
		known = &climate.Record{Source: known.Source, First: from, Days: known.Days[from-known.First:]}
	}
	series, ok := known.Fill(g.cycle).Series(start-winterDays, winterDays+by+1)
	if !ok { // the record begins later, or ends before
		return nil
	}
	w := weather{lat: b.Site.Lat, start: start, n: by + 1, tmin: series.Tmin, tmax: series.Tmax}
	chill := w.chill()
	out := make([]gauge, len(g.others))
	for i := range out {
		out[i] = make(gauge, b.days)
	}
	rates, weights, sum := make([]float64, by+1), make([]float64, by+1), make(course, b.days)
	for k := range m.curves {
		c := &m.curves[k]
		if k == 0 || !c.respondsAs(&m.curves[k-1]) {
			w.rates(c, rates)
		}
		for d := range weights {
			weights[d] = c.dayWeight(d, g.hours[d])
		}
		c.sum(rates, weights, chill, sum[:by+1])
		for i, other := range m.ahead[k] {
			for d := by + 1; d < b.days; d++ {
				sum[d] = sum[by] + other[d] - other[by]
			}
			m.typical[k].addClock(out[i], sum, m.share[k])
		}
	}
	return out
}

// dates spreads the distribution of the clock over the days of each continuation.
func (d *distribution) dates(clocks []gauge) dates {
	out := make(dates, 2*len(clocks[0])+1)
	for _, c := range clocks {
		before := c[0] - 1
		for i, x := range c {
			out[2*i+1] += d.at((before + x) / 2)
			out[2*i+2] += d.at(x)
			before = x
		}
	}
	for i := range out {
		out[i] /= float64(len(clocks))
	}
	return out
}

// crps returns the continuous ranked probability score of a date seen on day.
// Source: Gneiting and Raftery 2007, JASA 102:359, from memory.
func (f dates) crps(day float64) float64 {
	sum := 0.0
	for i, p := range f {
		if float64(i)*half-1 >= day {
			p--
		}
		sum += p * p * half
	}
	return sum
}

// quantile returns the day by which a share p lies.
func (f dates) quantile(p float64) float64 {
	i := first(f, p)
	switch {
	case i == 0:
		return -1
	case i == len(f):
		return float64(i-1)*half - 1
	}
	return (float64(i-1)+(p-f[i-1])/(f[i]-f[i-1]))*half - 1
}

// at returns the share that lies before day.
func (f dates) at(day float64) float64 {
	t := (day + 1) / half
	i := max(0, min(int(t), len(f)-2))
	return f[i] + (f[i+1]-f[i])*min(t-float64(i), 1)
}

// closed conditions f on that nothing had come by the end of day.
func (f dates) closed(day int) {
	p := f.at(float64(day))
	for i := range f {
		if float64(i)*half-1 <= float64(day) {
			f[i] = 0
		} else {
			f[i] = (f[i] - p) / max(1-p, 1e-6)
		}
	}
}
