package phenology

import "math"

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
func (e *effects) misses(clocks []gauge, skip, out int, x []float64, into []float64) {
	s := e.stand
	for i := range into {
		into[i] = math.NaN()
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
					into[k] = day - s.rows[k].day
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
func (s *stand) cost(misses []float64, out int) []float64 {
	sum := make([]float64, s.springs)
	for i, m := range misses {
		if !math.IsNaN(m) && s.rows[i].species != out {
			sum[s.rows[i].spring] += rho(m)
		}
	}
	return sum
}

// posterior weighs curves: costs holds for each what its misses cost by spring,
// and the springs a and b are left out of account (none when negative).
func (s *stand) posterior(prior []float64, costs [][]float64, a, b int) []float64 {
	share := min(1, independent/float64(s.species))
	out := make([]float64, len(prior))
	best := math.Inf(-1)
	for k, p := range prior {
		sum := 0.0
		for z, c := range costs[k] {
			if z != a && z != b {
				sum += c
			}
		}
		out[k] = math.Log(p) - share*sum
		best = max(best, out[k])
	}
	total := 0.0
	for k := range out {
		out[k] = math.Exp(out[k] - best)
		total += out[k]
	}
	for k := range out {
		out[k] /= total
	}
	return out
}

// judged is what springs say of one another by every curve.
type judged struct {
	x     [][]float32 // clock at each row, by curve
	costs [][]float64 // what its misses cost, by curve and spring
}

func newJudged(curves, rows int) *judged {
	j := &judged{make([][]float32, curves), make([][]float64, curves)}
	for k := range j.x {
		j.x[k] = make([]float32, rows)
	}
	return j
}

// judge runs curve k over the springs but skip and the species but out; x is
// for its use.
func (j *judged) judge(k int, e *effects, clocks []gauge, x []float64, skip, out int) {
	misses := make([]float64, len(x))
	e.misses(clocks, skip, out, x, misses)
	for i, v := range x {
		j.x[k][i] = float32(v)
	}
	j.costs[k] = e.stand.cost(misses, out)
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
func (s *stand) spread(prior []float64, j *judged, target, out int) spreads {
	e := newEffects(s)
	missed := make([]float64, len(s.rows))
	for i := range missed {
		missed[i] = math.NaN()
	}
	for z := range s.springs {
		if z == target {
			continue
		}
		x := j.mixed(s.posterior(prior, j.costs, target, z))
		e.fit(x, target, z, out)
		for i := range s.rows {
			if r := &s.rows[i]; r.spring == z && r.species != out {
				if v, ok := e.expect(r); ok {
					missed[i] = x[i] - v
				}
			}
		}
	}
	return s.likely(missed)
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
