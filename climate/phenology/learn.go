package phenology

import (
	"errors"
	"math"

	"gonum.org/v1/gonum/mat"
)

// learned is what the sightings of a place in springs gone by say together of
// the clock at bud break. For tree j of species s in spring y the clock stands at
//
//	normal(s) + place + species(s) + tree(j) + spring(y) + spring(s,y) + error(j,y)
//
// with every part normal about zero but the error, which has the long tails of
// Student's t. Kept is the joint distribution of the parts, as mean and
// covariance; the effects of species in single springs are summed out (Woodbury),
// so the cost does not grow with the years.
type learned struct {
	index map[part]int
	mean  []float64
	cov   *mat.Dense
}

// part names one part of the sum above; which fields are set tells which. With a
// site it is of a grower elsewhere: by how much their place is later than this one, or,
// with a tree, what their trees of a species have of their own.
type part struct {
	species, tree, site string
	year                int
}

// reading is the clock at bud break of one tree in one season, as told by all
// that was seen of its spring, less what was to be expected of its species.
type reading struct {
	tree     string
	species  string // as its part is named
	site     string // of the grower who saw it elsewhere; empty: of this place
	year     int
	residual float64 // clock days
	variance float64 // of reading it; not of the tree's own straying
}

// partSpreads are the standard deviations of the parts before anything was seen.
type partSpreads struct {
	spreads
	place   float64
	species func(name string) float64
	sites   map[string]float64 // of how much later the places of other growers are
}

// equation is a reading in terms of the parts; at holds their indices.
type equation struct {
	at       []int // place, species, tree, spring, and the place of another grower
	cell     int   // of its species and spring
	residual float64
	variance float64 // of reading
	weight   float64 // of Student's t
}

// condition computes the joint distribution of the parts from readings. For the
// weights of the readings it is exact; the weights follow from the residuals, so
// it is done some times over.
func condition(readings []reading, p partSpreads) (*learned, error) {
	const rounds = 5
	l := &learned{index: map[part]int{}}
	var priorVariance []float64
	add := func(p part, sd float64) int {
		i, ok := l.index[p]
		if !ok {
			i = len(priorVariance)
			l.index[p] = i
			priorVariance = append(priorVariance, sd*sd)
		}
		return i
	}
	add(part{}, p.place)
	cells := map[part]int{}
	elsewhere := map[int]float64{} // the variance of each part of another grower's place
	equations := make([]equation, len(readings))
	for i, r := range readings {
		c, ok := cells[part{species: r.species, year: r.year}]
		if !ok {
			c = len(cells)
			cells[part{species: r.species, year: r.year}] = c
		}
		equations[i] = equation{cell: c, residual: r.residual, variance: r.variance, at: []int{
			0,
			add(part{species: r.species}, p.species(r.species)),
			add(part{tree: r.tree, site: r.site}, p.tree),
			add(part{year: r.year}, p.spring),
		}}
		if r.site != "" {
			at := add(part{site: r.site}, p.sites[r.site])
			elsewhere[at] = priorVariance[at]
			equations[i].at = append(equations[i].at, at)
		}
	}
	var chol mat.Cholesky
	n := len(priorVariance)
	info, rhs, mean := mat.NewSymDense(n, nil), mat.NewVecDense(n, nil), mat.NewVecDense(n, nil)
	late := make([]float64, len(cells)) // each species in each spring
	for round := range rounds {
		for i := range equations {
			e := &equations[i]
			scale2 := p.err*p.err + e.variance
			r := e.residual - late[e.cell]
			for _, k := range e.at {
				r -= mean.AtVec(k)
			}
			if round == 0 { // nothing is known yet but that wide misses are no news
				scale2 += p.species(readings[i].species) * p.species(readings[i].species)
			}
			e.weight = (tails + 1) / (tails + r*r/scale2)
		}
		for at, v := range elsewhere { // as a whole a grower may be far off, too
			m := mean.AtVec(at)
			priorVariance[at] = max(v, v*(tails+m*m/v)/(tails+1))
		}
		sums := gather(equations, len(cells), p)
		fill(info, rhs, priorVariance, equations, sums, p)
		if !chol.Factorize(info) {
			return nil, errors.New("phenology: the sightings of the place contradict the model's spreads")
		}
		if err := chol.SolveVecTo(mean, rhs); err != nil {
			return nil, err
		}
		for c := range late {
			late[c] = 0
			for _, i := range sums[c].members {
				e := &equations[i]
				r := e.residual
				for _, k := range e.at {
					r -= mean.AtVec(k)
				}
				late[c] += e.precision(p) * r / sums[c].total
			}
		}
	}
	var inverse mat.SymDense
	if err := chol.InverseTo(&inverse); err != nil {
		return nil, err
	}
	l.mean = mean.RawVector().Data
	l.cov = mat.DenseCopyOf(&inverse)
	return l, nil
}

func (e *equation) precision(p partSpreads) float64 { return e.weight / (p.err*p.err + e.variance) }

// cellSum is the readings of a species in a spring, whose common part is summed out.
type cellSum struct {
	members []int
	total   float64 // of the precisions, with the prior's
}

func gather(equations []equation, cells int, p partSpreads) []cellSum {
	out := make([]cellSum, cells)
	for c := range out {
		out[c].total = 1 / (p.speciesSpring * p.speciesSpring)
	}
	for i := range equations {
		c := &out[equations[i].cell]
		c.members = append(c.members, i)
		c.total += equations[i].precision(p)
	}
	return out
}

// fill writes the information of the readings about the parts, and its product
// with their mean.
func fill(info *mat.SymDense, rhs *mat.VecDense, priorVariance []float64, equations []equation, sums []cellSum, p partSpreads) {
	n := len(priorVariance)
	info.Zero()
	rhs.Zero()
	for i, v := range priorVariance {
		info.SetSym(i, i, 1/v)
	}
	u := make([]float64, n)
	var touched []int
	for _, c := range sums {
		touched = touched[:0]
		sum := 0.0
		for _, m := range c.members {
			e := &equations[m]
			w := e.precision(p)
			sum += w * e.residual
			for a, i := range e.at {
				if u[i] == 0 {
					touched = append(touched, i)
				}
				u[i] += w
				rhs.SetVec(i, rhs.AtVec(i)+w*e.residual)
				for _, j := range e.at[a:] {
					info.SetSym(i, j, info.At(i, j)+w)
				}
			}
		}
		for a, i := range touched {
			rhs.SetVec(i, rhs.AtVec(i)-u[i]*sum/c.total)
			for _, j := range touched[a:] {
				info.SetSym(i, j, info.At(i, j)-u[i]*u[j]/c.total)
			}
		}
		for _, i := range touched {
			u[i] = 0
		}
	}
}

// usual is the clock at which a tree breaks bud, spring's part and the error of
// single trees apart.
type usual struct {
	mean   float64 // less what is to be expected of its species
	shared float64 // variance of what it shares with its species
	own    float64 // and of what is its own
}

// of returns the usual clock of a tree. The species, or the tree, may be empty or
// not have been seen: then it is as uncertain as the prior.
func (l *learned) of(species, tree string, p partSpreads) usual {
	u := usual{mean: l.mean[0], shared: l.cov.At(0, 0)}
	s, known := l.index[part{species: species}]
	known = known && species != ""
	if known {
		u.mean += l.mean[s]
		u.shared += l.cov.At(s, s) + 2*l.cov.At(0, s)
	} else {
		sd := p.species(species)
		u.shared += sd * sd
	}
	t, seen := l.index[part{tree: tree}]
	if !seen || tree == "" {
		u.own = p.tree * p.tree
		return u
	}
	u.mean += l.mean[t]
	u.own = l.cov.At(t, t)
	u.shared += 2 * l.cov.At(0, t)
	if known {
		u.shared += 2 * l.cov.At(s, t)
	}
	u.shared = max(0, u.shared)
	return u
}

// scale returns the scale of the t distribution of a tree in one spring: its own
// straying and what is uncertain of its own part, whose variance counts for half
// since that of the t distribution is twice the square of its scale. Wild is by
// how much its species strays more than all do.
func (u usual) scale(p partSpreads, wild float64) float64 {
	return wild * math.Sqrt(p.err*p.err+u.own/2)
}

// late returns the variance of what a species shares in one spring.
func (u usual) late(p partSpreads, wild float64) float64 {
	return u.shared + p.spring*p.spring + wild*wild*p.speciesSpring*p.speciesSpring
}
