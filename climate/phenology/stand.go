package phenology

import (
	"cmp"
	"math"
	"slices"
)

// stand is what was seen of one phase, or of several kept apart, on the trees of
// a place, spring by spring, as numbers: a tree is of one species, and seen once
// a spring.
type stand struct {
	rows    []standRow // by species, then spring, then tree
	species int        // how many there are of each
	trees   int
	springs int
	cells   []cell // of the rows, one for each species and spring
}

type standRow struct {
	species, tree, spring int
	day                   float64 // of the season, the end of the day being a whole number
}

// cell is the rows of one species in one spring, from first to before end.
type cell struct{ species, spring, first, end int }

// newStand orders rows and counts what is in them.
func newStand(rows []standRow) *stand {
	s := &stand{rows: rows}
	slices.SortStableFunc(rows, func(a, b standRow) int {
		return cmp.Or(cmp.Compare(a.species, b.species), cmp.Compare(a.spring, b.spring), cmp.Compare(a.tree, b.tree))
	})
	for i, r := range rows {
		s.species, s.trees, s.springs = max(s.species, r.species+1), max(s.trees, r.tree+1), max(s.springs, r.spring+1)
		if i == 0 || rows[i-1].species != r.species || rows[i-1].spring != r.spring {
			s.cells = append(s.cells, cell{r.species, r.spring, i, i})
		}
		s.cells[len(s.cells)-1].end = i + 1
	}
	return s
}

// tails is the degrees of freedom of Student's t by which single trees stray
// from what is common to them: now and then a tree is far off, or was read late,
// and must not bend the means of the others.
const tails = 4

// Variances of the parts of the clock with which a stand is fitted, square days:
// rounded, and not fitted; twice or half of each moves the errors of Harvard
// Forest by less than 0.03 days.
const (
	treeVariance          = 4.0
	springVariance        = 4.0
	speciesSpringVariance = 6.0
	errorScale2           = 6.0 // square of the scale of the t distribution
)

// effects are the parts of the clock in a stand:
//
//	x = species + tree + spring + (species, spring) + error
//
// fitted to all springs but some. Species are free; the other parts are drawn to
// nought. Its slices are used again by the next fit.
type effects struct {
	stand   *stand
	species []float64
	tree    []float64
	spring  []float64
	cells   []float64
	known   []int // rows of each species that were fitted

	weight       []float64 // by row
	trees        []int     // by row
	active       []int     // cells that are fitted
	cellW, cellR []float64
	sumW, sumR   []float64
	sorted       []float64
}

func newEffects(s *stand) *effects {
	n := max(s.species, s.trees, s.springs)
	e := &effects{
		stand: s, species: make([]float64, s.species), tree: make([]float64, s.trees), spring: make([]float64, s.springs),
		cells: make([]float64, len(s.cells)), known: make([]int, s.species),
		weight: make([]float64, len(s.rows)),
		cellW:  make([]float64, len(s.cells)), cellR: make([]float64, len(s.cells)),
		sumW: make([]float64, n), sumR: make([]float64, n),
	}
	for _, r := range s.rows {
		e.trees = append(e.trees, r.tree)
	}
	return e
}

// fit finds the effects of the clock x, by row, in the springs other than a and
// b (none when negative) and the species other than out, by iterating the
// weighted means to which the most likely values are the fixed point. A t
// distribution is a normal one with weights that fall with the residual.
func (e *effects) fit(x []float64, a, b, out int) {
	const rounds = 8
	s := e.stand
	clear(e.tree)
	clear(e.spring)
	clear(e.cells)
	e.start(x, a, b, out)
	e.active = e.active[:0]
	for i, c := range s.cells {
		if c.spring != a && c.spring != b && c.species != out {
			e.active = append(e.active, i)
		}
	}
	for range rounds {
		e.weighRows(x)
		clear(e.sumW)
		clear(e.sumR)
		for _, i := range e.active {
			c := &s.cells[i]
			e.sumW[c.spring] += e.cellW[i]
			e.sumR[c.spring] += e.cellR[i] - e.cellW[i]*(e.species[c.species]+e.cells[i])
		}
		e.settle(e.spring, springVariance)
		clear(e.sumW)
		clear(e.sumR)
		for _, i := range e.active {
			c := &s.cells[i]
			e.sumW[c.species] += e.cellW[i]
			e.sumR[c.species] += e.cellR[i] - e.cellW[i]*(e.spring[c.spring]+e.cells[i])
		}
		e.settle(e.species, math.Inf(1))
		clear(e.sumW)
		clear(e.sumR)
		for _, i := range e.active {
			c := &s.cells[i]
			common := e.species[c.species] + e.spring[c.spring] + e.cells[i]
			for k := c.first; k < c.end; k++ {
				t, w := e.trees[k], e.weight[k]
				e.sumW[t] += w
				e.sumR[t] += w * (x[k] - common)
			}
		}
		e.settle(e.tree, treeVariance)
	}
}

// weighRows weighs the rows by how far they are from what is expected, sums them by
// cell, and sets the effects of the cells.
func (e *effects) weighRows(x []float64) {
	for _, i := range e.active {
		c := &e.stand.cells[i]
		common := e.species[c.species] + e.spring[c.spring] + e.cells[i]
		w, sum := 0.0, 0.0
		for k := c.first; k < c.end; k++ {
			r := x[k] - e.tree[e.trees[k]]
			off := r - common
			v := (tails + 1) / (tails + off*off/errorScale2)
			e.weight[k] = v
			w += v
			sum += v * r
		}
		e.cellW[i], e.cellR[i] = w, sum
		e.cells[i] = (sum - w*(common-e.cells[i])) / (w + errorScale2/speciesSpringVariance)
	}
}

// settle sets one kind of effect to what its sums leave for it.
func (e *effects) settle(effect []float64, variance float64) {
	for k := range effect {
		if w := e.sumW[k] + errorScale2/variance; w > 0 {
			effect[k] = e.sumR[k] / w
		}
	}
}

// start takes the median of each species for its effect.
func (e *effects) start(x []float64, a, b, out int) {
	clear(e.known)
	clear(e.species)
	s := e.stand
	for i := 0; i < len(s.cells); {
		species := s.cells[i].species
		e.sorted = e.sorted[:0]
		for ; i < len(s.cells) && s.cells[i].species == species; i++ {
			if c := s.cells[i]; c.spring != a && c.spring != b && species != out {
				e.sorted = append(e.sorted, x[c.first:c.end]...)
			}
		}
		if e.known[species] = len(e.sorted); len(e.sorted) > 0 {
			slices.Sort(e.sorted)
			e.species[species] = e.sorted[len(e.sorted)/2]
		}
	}
}

// expect returns the clock at which a row is to be expected in a spring that was
// not fitted, and false where nothing is known of its species.
func (e *effects) expect(r *standRow) (float64, bool) {
	return e.species[r.species] + e.tree[r.tree], e.known[r.species] > 0
}
