package phenology

import (
	"math"
	"slices"
)

// Curves are weighted by how well they tell springs that they were not fitted
// to. A miss of r days costs
//
//	rho(r) = (nu+1)/2 log(1 + r^2 / (nu 3.5^2)),  nu = 4
//
// summed over the trees; species of one spring share their error, so that three
// of them count as independent however many there are, and
//
//	weight = prior x exp(-sum rho x min(1, 3/species))
//
// The calendar, by which every day counts alike, is weighed against all curves
// of warmth together: see settle.
//
// Misses are in calendar days, since a standing clock flatters itself.
const (
	missScale   = 3.5 // days
	independent = 3
)

// rho is the cost of a miss.
func rho(days float64) float64 {
	return (tails + 1) / 2.0 * math.Log1p(days*days/(tails*missScale*missScale))
}

// misses tells each spring but skip from the others, by one curve: clocks are
// its clocks of the springs. It writes by how many days the told day of a row is
// late; NaN for rows of skip and those of which nothing else is known. Rows of
// species out are neither fitted nor told.
func (e *effects) misses(clocks []gauge, skip, out int, x []float64, into []float32) {
	s := e.stand
	for i := range into {
		into[i] = float32(math.NaN())
	}
	s.read(clocks, x)
	for z := range s.springs {
		if z == skip {
			continue
		}
		e.fit(x, skip, z, out)
		for i := range s.cells {
			c := &s.cells[i]
			if c.spring != z {
				continue
			}
			for k := c.first; k < c.end; k++ {
				if v, ok := e.expect(&s.rows[k]); ok {
					day, _ := clocks[z].reach(v)
					into[k] = float32(day - s.rows[k].day)
				}
			}
		}
	}
}

// read reads the clock at each row.
func (s *stand) read(clocks []gauge, x []float64) {
	for i := range s.rows {
		x[i] = clocks[s.rows[i].spring].when(s.rows[i].day)
	}
}

// cost adds up rho of the misses, by spring.
func (s *stand) cost(misses []float32, out int) []float64 {
	sum := make([]float64, s.springs)
	for i, m := range misses {
		if r := float64(m); !math.IsNaN(r) && s.rows[i].species != out {
			sum[s.rows[i].spring] += rho(r)
		}
	}
	return sum
}

// weigh weighs curves by what their misses cost in all springs but a and b (none
// when negative). The last curve, the calendar, has the share that was settled before.
func (j *judged) weigh(s *stand, prior []float64, a, b int) []float64 {
	share := min(1, independent/float64(s.species))
	thermal := len(prior) - 1
	out := make([]float64, len(prior))
	best := math.Inf(-1)
	for k, p := range prior[:thermal] {
		sum := 0.0
		for z, c := range j.costs[k] {
			if z != a && z != b {
				sum += c
			}
		}
		out[k] = math.Log(p) - share*sum
		best = max(best, out[k])
	}
	total := 0.0
	for k := range out[:thermal] {
		out[k] = math.Exp(out[k] - best)
		total += out[k]
	}
	for k := range out[:thermal] {
		out[k] *= (1 - j.calendar) / total
	}
	out[thermal] = j.calendar
	return out
}

// settle settles the share of the calendar: whether warmth tells the springs of
// this place and phase at all. Each spring is told by the curves as the others weigh
// them, so that the best of many has no advantage, and by the mean dates of the
// others; the two are weighed against each other by rho. How many trees count as
// independent follows from the variances with which stands are fitted: of S species
// with c trees each, as many as make the mean of one spring as sure,
//
//	(4 + 6 + 12) / (4 + (6 + 12/c) / S)
func (j *judged) settle(s *stand, prior []float64, target, out int) {
	last := len(prior) - 1
	j.calendar = 0
	var warmth, mean, rows float64
	springs := map[int]bool{}
	species := map[int]bool{}
	for z := range s.springs {
		if z == target {
			continue
		}
		w := j.weigh(s, prior, target, z)
		for i, r := range s.rows {
			if r.spring != z || r.species == out || math.IsNaN(float64(j.misses[last][i])) {
				continue
			}
			miss := 0.0
			for k, v := range w[:last] {
				if v > 1e-6 {
					miss += v * float64(j.misses[k][i])
				}
			}
			warmth += rho(miss)
			mean += rho(float64(j.misses[last][i]))
			rows++
			springs[z], species[r.species] = true, true
		}
	}
	if rows == 0 {
		j.calendar = prior[last]
		return
	}
	const errorVariance = 2 * errorScale2
	perSpring, kinds := rows/float64(len(springs)), float64(len(species))
	each := max(1, perSpring/kinds)
	count := (springVariance + speciesSpringVariance + errorVariance) / (springVariance + (speciesSpringVariance+errorVariance/each)/kinds)
	odds := math.Exp((mean - warmth) * min(1, count/perSpring)) // of warmth
	j.calendar = prior[last] / (prior[last] + (1-prior[last])*odds)
}

// judged is what springs say of one another by every curve.
type judged struct {
	x      [][]float32 // clock at each row, by curve
	misses [][]float32 // by curve and row, days; see effects.misses
	costs  [][]float64 // what they cost, by curve and spring

	calendar float64 // share of the last curve, the calendar
}

func newJudged(curves, rows int) *judged {
	j := &judged{x: make([][]float32, curves), misses: make([][]float32, curves), costs: make([][]float64, curves)}
	for k := range j.x {
		j.x[k], j.misses[k] = make([]float32, rows), make([]float32, rows)
	}
	return j
}

// judge runs curve k over the springs but skip and the species but out; x is
// for its use.
func (j *judged) judge(k int, e *effects, clocks []gauge, x []float64, skip, out int) {
	e.misses(clocks, skip, out, x, j.misses[k])
	for i, v := range x {
		j.x[k][i] = float32(v)
	}
	j.costs[k] = e.stand.cost(j.misses[k], out)
}

// mixed returns the clock at each row, averaged over curves by weight.
func (j *judged) mixed(weights []float64) []float64 {
	out := make([]float64, len(j.x[0]))
	for k, w := range weights {
		if w > 1e-5 {
			for i, v := range j.x[k] {
				out[i] += w * float64(v)
			}
		}
	}
	return out
}

// spread estimates how far the parts stray from springs that were told without
// themselves, and without the target.
func (s *stand) spread(prior []float64, j *judged, target, out int) (all spreads, wild []float64) {
	e := newEffects(s)
	missed := make([]float64, len(s.rows))
	for i := range missed {
		missed[i] = math.NaN()
	}
	for z := range s.springs {
		if z == target {
			continue
		}
		x := j.mixed(j.weigh(s, prior, target, z))
		e.fit(x, target, z, out)
		for i := range s.rows {
			if r := &s.rows[i]; r.spring == z && r.species != out {
				if v, ok := e.expect(r); ok {
					missed[i] = x[i] - v
				}
			}
		}
	}
	return s.likely(missed), s.wildness(missed)
}

// wildness returns by how much each species strays more, or less, than all do:
// the ratio of its root mean square miss to that of all, where the mean square of
// twelve springs of all counts beside its own. Single misses count no more than four
// times the median.
func (s *stand) wildness(missed []float64) []float64 {
	const usual = 12
	var sizes []float64
	for _, m := range missed {
		if !math.IsNaN(m) {
			sizes = append(sizes, math.Abs(m))
		}
	}
	out := make([]float64, s.species)
	for k := range out {
		out[k] = 1
	}
	if len(sizes) == 0 {
		return out
	}
	slices.Sort(sizes)
	most := max(0.1, 4*sizes[len(sizes)/2])
	var all float64
	squares, rows, springs := make([]float64, s.species), make([]float64, s.species), make([]float64, s.species)
	for _, c := range s.cells {
		seen := false
		for k := c.first; k < c.end; k++ {
			if math.IsNaN(missed[k]) {
				continue
			}
			m := min(math.Abs(missed[k]), most)
			squares[c.species] += m * m
			all += m * m / float64(len(sizes))
			rows[c.species]++
			seen = true
		}
		if seen {
			springs[c.species]++
		}
	}
	for k := range out {
		if n := springs[k]; n > 0 {
			out[k] = math.Sqrt((n*squares[k]/rows[k]/all + usual) / (n + usual))
		}
	}
	return out
}

// sampled is how many curves stand for all of them in a forecast.
const sampled = 64

// sample lets few curves stand for all: it walks along the weights in equal
// steps and returns which it meets, and how often, as weights that sum to 1. What
// weighs less than a step is met by its share.
// Source, from memory: Kitagawa 1996 (systematic resampling).
func sample(weights []float64, n int) (at []int, share []float64) {
	sum, met := 0.0, 0
	for k, w := range weights {
		sum += w
		before := met
		for met < n && (float64(met)+0.5)/float64(n) <= sum {
			met++
		}
		if k == len(weights)-1 {
			met = n
		}
		if met > before {
			at = append(at, k)
			share = append(share, float64(met-before)/float64(n))
		}
	}
	return at, share
}
