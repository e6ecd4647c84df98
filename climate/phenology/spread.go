package phenology

import "math"

// spreads are how far the parts of the clock at bud break stray, days: standard
// deviations of those of trees, springs and species in single springs, and the
// scale of the t distribution of single trees in single springs.
type spreads struct{ tree, spring, speciesSpring, err float64 }

// usualSpreads is about what places have, within a factor of two: rounded
// from what the literature and the reference place show, and not fitted. The
// spread of trees is not fitted at all.
var usualSpreads = spreads{tree: 2, spring: 2.2, speciesSpring: 2.5, err: 2}

// likely returns the spreads that make misses most likely which were made
// without the spring they are of: missed holds them in clock days by row, NaN
// for rows that do not count. What a species does in one spring is the same for
// all of its trees, and what the spring does for all species; both are summed
// out on grids. With few springs the usual spreads prevail.
func (s *stand) likely(missed []float64) spreads {
	const factor = 0.6 // spread of the logarithm of each about the usual
	best, at := math.Inf(-1), usualSpreads
	for _, err := range []float64{1.4, 1.7, 2.0, 2.4, 2.8, 3.6, 4.8} {
		cells, spring := s.cellLikelihoods(missed, err)
		for _, v := range []float64{1.5, 2.0, 2.5, 3.0, 3.6, 4.5, 6} {
			given := s.springLikelihoods(cells, spring, v)
			for _, u := range []float64{1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 6.0} {
				sum := 0.0
				for _, g := range given {
					if g != nil {
						sum += logMean(g, normalWeights(springGrid, u))
					}
				}
				for _, p := range [][2]float64{{u, usualSpreads.spring}, {v, usualSpreads.speciesSpring}, {err, usualSpreads.err}} {
					z := math.Log(p[0]/p[1]) / factor
					sum -= z * z / 2
				}
				if sum > best {
					best, at = sum, spreads{usualSpreads.tree, u, v, err}
				}
			}
		}
	}
	return at
}

// The grids on which what trees share is summed out, clock days.
var (
	sharedGrid = grid(-24, 24, 0.5) // of one species in one spring, the spring's part in it
	springGrid = grid(-10, 10, 1)   // of one spring
)

func grid(from, to, step float64) []float64 {
	out := make([]float64, int(math.Round((to-from)/step))+1)
	for i := range out {
		out[i] = from + float64(i)*step
	}
	return out
}

// normalWeights returns weights of a normal distribution about nought on a
// grid, which sum to 1.
func normalWeights(on []float64, sd float64) []float64 {
	out, sum := make([]float64, len(on)), 0.0
	for i, x := range on {
		out[i] = math.Exp(-x * x / (2 * sd * sd))
		sum += out[i]
	}
	for i := range out {
		out[i] /= sum
	}
	return out
}

// logMean returns the logarithm of the mean of exp(logs) by weights.
func logMean(logs, weights []float64) float64 {
	top := math.Inf(-1)
	for _, l := range logs {
		top = max(top, l)
	}
	sum := 0.0
	for i, l := range logs {
		sum += weights[i] * math.Exp(l-top)
	}
	return top + math.Log(max(sum, 1e-300))
}

// cellLikelihoods returns the logarithm of the likelihood of each cell's misses
// on the shared grid, nil for cells without, and the spring of each.
func (s *stand) cellLikelihoods(missed []float64, err float64) (logs [][]float64, spring []int) {
	logs, spring = make([][]float64, len(s.cells)), make([]int, len(s.cells))
	for i, c := range s.cells {
		spring[i] = c.spring
		for k := c.first; k < c.end; k++ {
			if math.IsNaN(missed[k]) {
				continue
			}
			if logs[i] == nil {
				logs[i] = make([]float64, len(sharedGrid))
			}
			for j, b := range sharedGrid {
				logs[i][j] += math.Log(studentDensity((missed[k]-b)/err) / err)
			}
		}
	}
	return logs, spring
}

// springLikelihoods sums the species' parts out: it returns the logarithm of the
// likelihood of each spring's misses on the grid of its part, nil for springs without.
func (s *stand) springLikelihoods(cells [][]float64, spring []int, v float64) [][]float64 {
	out := make([][]float64, s.springs)
	step := sharedGrid[1] - sharedGrid[0]
	around := normalWeights(grid(-20, 20, step), v)
	middle := len(around) / 2
	likelihood := make([]float64, len(sharedGrid))
	for i, logs := range cells {
		if logs == nil {
			continue
		}
		if out[spring[i]] == nil {
			out[spring[i]] = make([]float64, len(springGrid))
		}
		top := math.Inf(-1)
		for _, l := range logs {
			top = max(top, l)
		}
		for j, l := range logs {
			likelihood[j] = math.Exp(l - top)
		}
		for a, u := range springGrid {
			sum := 0.0
			shift := middle - int(math.Round((u-sharedGrid[0])/step))
			for j, l := range likelihood {
				if at := j + shift; at >= 0 && at < len(around) {
					sum += l * around[at]
				}
			}
			out[spring[i]][a] += top + math.Log(max(sum, 1e-300))
		}
	}
	return out
}
