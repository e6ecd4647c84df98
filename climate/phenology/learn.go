package phenology

import (
	"errors"

	"gonum.org/v1/gonum/mat"
)

// learned is what all sightings of the place together say of the clock at bud
// break. For tree j of species s in spring y the clock stands at
//
//	normal(s) + place + species(s) + tree(j) + spring(y) + spring(s,y) + error(j,y)
//
// with every part normal about zero. Their spreads are those of the reference
// place, stretched where springs are slower and the same spread of what buds need
// takes more days. The parts that a forecast may need are
// kept jointly, as mean and covariance; the effects of species in single springs
// long gone are summed out (Woodbury), so the cost does not grow with the years.
type learned struct {
	index map[part]int
	mean  []float64
	cov   *mat.Dense
	n     int // readings it rests on

	trees   map[string]int // readings of each tree
	species map[string]int // and of each species
}

// part names one part of the sum above; which fields are set tells which.
type part struct {
	species, tree string
	year          int
}

// learn computes the joint distribution of the parts from readings, exactly.
func (f *Forecaster) learn(readings []reading) error {
	l := &learned{index: map[part]int{}, n: len(readings), trees: map[string]int{}, species: map[string]int{}}
	var priorVariance []float64
	add := func(p part, variance float64) int {
		i, ok := l.index[p]
		if !ok {
			i = len(priorVariance)
			l.index[p] = i
			priorVariance = append(priorVariance, variance)
		}
		return i
	}
	square := func(name string) float64 {
		return f.stretch * f.stretch * f.priors.spread[name] * f.priors.spread[name]
	}
	_, among, _ := f.normal(f.priors.any.Day)
	add(part{}, square("place")+among)

	type equation struct {
		at        []int
		residual  float64
		precision float64
	}
	cells := map[part][]equation{} // readings of one species in one long-gone spring
	var order []part
	var single []equation
	recent := f.outlook.Site.Season(f.outlook.Issue) - 1
	for _, r := range readings {
		l.trees[r.tree]++
		l.species[r.species]++
		prior, _ := f.priors.of(r.species, "")
		sd := f.stretch * prior.SD
		e := equation{residual: r.residual, at: []int{
			0,
			add(part{species: r.species}, sd*sd),
			add(part{tree: r.tree}, square("tree")),
			add(part{year: r.year}, square("spring")),
		}}
		cell := part{species: r.species, year: r.year}
		if r.year >= recent {
			e.at = append(e.at, add(cell, square("species-spring")),
				add(part{tree: r.tree, year: r.year}, square("error")))
			e.precision = 1 / r.variance
			single = append(single, e)
			continue
		}
		e.precision = 1 / (square("error") + r.variance)
		if cells[cell] == nil {
			order = append(order, cell)
		}
		cells[cell] = append(cells[cell], e)
	}

	n := len(priorVariance)
	info := mat.NewSymDense(n, nil)
	rhs := mat.NewVecDense(n, nil)
	for i, v := range priorVariance {
		info.SetSym(i, i, 1/v)
	}
	put := func(e equation) {
		for a, i := range e.at {
			rhs.SetVec(i, rhs.AtVec(i)+e.precision*e.residual)
			for _, j := range e.at[a:] {
				info.SetSym(i, j, info.At(i, j)+e.precision)
			}
		}
	}
	for _, e := range single {
		put(e)
	}
	u := make([]float64, n)
	for _, cell := range order {
		clear(u)
		total, sum := 1/square("species-spring"), 0.0
		for _, e := range cells[cell] {
			put(e)
			total += e.precision
			sum += e.precision * e.residual
			for _, i := range e.at {
				u[i] += e.precision
			}
		}
		for i, ui := range u {
			if ui == 0 {
				continue
			}
			rhs.SetVec(i, rhs.AtVec(i)-ui*sum/total)
			for j := i; j < n; j++ {
				if u[j] != 0 {
					info.SetSym(i, j, info.At(i, j)-ui*u[j]/total)
				}
			}
		}
	}
	var chol mat.Cholesky
	if !chol.Factorize(info) {
		return errors.New("phenology: the sightings of the place contradict the model's spreads")
	}
	var m mat.VecDense
	if err := chol.SolveVecTo(&m, rhs); err != nil {
		return err
	}
	var inverse mat.SymDense
	if err := chol.InverseTo(&inverse); err != nil {
		return err
	}
	l.mean = m.RawVector().Data
	l.cov = mat.DenseCopyOf(&inverse)
	f.learned = l
	return nil
}

// normalDist is a normal distribution.
type normalDist struct{ mean, variance float64 }

// budBreak returns the distribution of the clock at bud break of a tree in a
// season, before this season's own "not yet".
func (f *Forecaster) budBreak(h Habit, tree string, year int) (normalDist, bool) {
	l := f.learned
	byName, _ := f.priors.of(h.Species, "")
	byHabit, _ := f.priors.of(h.Species, h.Flush)
	byName.SD *= f.stretch
	byHabit.SD *= f.stretch
	base, _, ok := f.normal(byName.Day)
	if !ok {
		return normalDist{}, false
	}
	spread := f.priors.spread
	d := normalDist{mean: base}
	at := []int{0}
	use := func(p part, sd float64, named bool) {
		if i, ok := l.index[p]; ok && named {
			at = append(at, i)
		} else {
			d.variance += sd * sd
		}
	}
	species := kindOf(h.Species, tree)
	kind, one := species != "", tree != ""
	use(part{species: species}, byName.SD, kind)
	use(part{tree: tree}, spread["tree"]*f.stretch, one)
	use(part{year: year}, spread["spring"]*f.stretch, true)
	use(part{species: species, year: year}, spread["species-spring"]*f.stretch, kind)
	use(part{tree: tree, year: year}, spread["error"]*f.stretch, one)
	for _, i := range at {
		d.mean += l.mean[i]
		for _, j := range at {
			d.variance += l.cov.At(i, j)
		}
	}
	if byHabit != byName {
		f.place(&d, species, at, base, byName, byHabit)
	}
	return d, true
}

// place moves d by what the habit says of the species beyond its name: its
// place in the order of flushing, as one more reading of the species' part.
func (f *Forecaster) place(d *normalDist, species string, at []int, base float64, byName, byHabit speciesPrior) {
	target, _, ok := f.normal(byHabit.Day)
	precision := 1/(byHabit.SD*byHabit.SD) - 1/(byName.SD*byName.SD)
	if !ok || precision <= 0 {
		return
	}
	value := (target - base) / (byHabit.SD * byHabit.SD * precision)
	mean, variance, shared := 0.0, byName.SD*byName.SD, byName.SD*byName.SD
	if i, ok := f.learned.index[part{species: species}]; ok && species != "" {
		mean, variance, shared = f.learned.mean[i], f.learned.cov.At(i, i), 0
		for _, j := range at {
			shared += f.learned.cov.At(i, j)
		}
	}
	gain := shared / (variance + 1/precision)
	d.mean += gain * (value - mean)
	d.variance -= gain * shared
}
