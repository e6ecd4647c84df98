package phenology

import (
	"math"
	"strings"

	"gonum.org/v1/gonum/mat"
)

// kin is what is known of a genus that tells the order of flushing.
type kin struct {
	Genus, Family string
	Traits        [4]float64 // shrub, evergreen, conifer, ring-porous: 0 or 1
}

// likeness is how the usual days of species hang together: standard deviations,
// in days, of what each trait, family and genus adds, and of what is a species' own,
// about a mean that is hardly known.
type likeness struct{ Trait, Family, Genus, Species float64 }

const (
	kinMean   = 124.0 // day of the season about which species break bud at the reference place
	kinMeanSD = 25.0
)

// covariance returns that of the usual days of two species, their own parts apart.
func (l likeness) covariance(a, b *kin) float64 {
	v := kinMeanSD * kinMeanSD
	for i, t := range a.Traits {
		v += l.Trait * l.Trait * t * b.Traits[i]
	}
	if a.Family != "" && a.Family == b.Family {
		v += l.Family * l.Family
	}
	if a.Genus == b.Genus {
		v += l.Genus * l.Genus
	}
	return v
}

// relatives tells the usual day of a species from those of others: a mixed model
// of traits, families and genera, the best linear prediction.
type relatives struct {
	likeness likeness
	kin      []kin
	chol     mat.Cholesky
	solved   mat.VecDense // inverse covariance times the days, less their mean
	days     []float64
}

// newRelatives prepares to tell from the given species and days; false where
// their covariance is no covariance.
func newRelatives(l likeness, of []kin, days []float64) (*relatives, bool) {
	n := len(of)
	r := &relatives{likeness: l, kin: of, days: days}
	if n == 0 {
		return r, true
	}
	c := mat.NewSymDense(n, nil)
	d := mat.NewVecDense(n, nil)
	for i := range of {
		for j := i; j < n; j++ {
			c.SetSym(i, j, l.covariance(&of[i], &of[j]))
		}
		c.SetSym(i, i, c.At(i, i)+l.Species*l.Species)
		d.SetVec(i, days[i]-kinMean)
	}
	if !r.chol.Factorize(c) || r.chol.SolveVecTo(&r.solved, d) != nil {
		return nil, false
	}
	return r, true
}

// logLikelihood returns that of the days, but for a constant.
func (r *relatives) logLikelihood() float64 {
	sum := -r.chol.LogDet() / 2
	for i, d := range r.days {
		sum -= (d - kinMean) * r.solved.AtVec(i) / 2
	}
	return sum
}

// tell returns the usual day of a species of the given kin, and its standard deviation.
func (r *relatives) tell(k *kin) (day, sd float64) {
	n := len(r.kin)
	own := r.likeness.covariance(k, k) + r.likeness.Species*r.likeness.Species
	if n == 0 {
		return kinMean, math.Sqrt(own)
	}
	c, s := mat.NewVecDense(n, nil), mat.NewVecDense(n, nil)
	for i := range r.kin {
		c.SetVec(i, r.likeness.covariance(k, &r.kin[i]))
	}
	if r.chol.SolveVecTo(s, c) != nil {
		return kinMean, math.Sqrt(own) // not reached: the factor is there
	}
	return kinMean + mat.Dot(c, &r.solved), math.Sqrt(max(0, own-mat.Dot(c, s)))
}

// fitLikeness returns the most likely likeness of species whose days are known.
func fitLikeness(of []kin, days []float64) likeness {
	best, at := math.Inf(-1), likeness{8, 6, 2, 5}
	for _, t := range []float64{4, 8, 14} {
		for _, f := range []float64{3, 6, 9} {
			for _, g := range []float64{2, 5} {
				for _, s := range []float64{3, 5, 7, 10} {
					l := likeness{t, f, g, s}
					if r, ok := newRelatives(l, of, days); ok && r.logLikelihood() > best {
						best, at = r.logLikelihood(), l
					}
				}
			}
		}
	}
	return at
}

// leastUnknown is the least standard deviation of the usual day of a species of
// which nothing is fitted, days: what the model says itself is a little narrow (its 80 %
// interval holds 75 % of species left out in turn).
const leastUnknown = 7

// kinOf returns what is known of the kin of a species: of its genus, or else
// what follows from its group.
func (p *priors) kinOf(h Habit) (k kin, known bool) {
	genus, _, _ := strings.Cut(h.Species, " ")
	if k, ok := p.genera[genus]; ok {
		return k, true
	}
	k = kin{Genus: genus}
	switch h.Group {
	case SingleFlushPine, MultiFlushPine, SpruceFir, JuniperCypress:
		k.Traits[1], k.Traits[2] = 1, 1
	case BroadleafEvergreen:
		k.Traits[1] = 1
	case DeciduousConifer:
		k.Traits[2] = 1
	}
	return k, false
}
