package climate

import (
	"math"
	"strings"
	"testing"

	"gonum.org/v1/gonum/mat"
)

// fitSpread fits the terms, then the regions, and both once more.
func fitSpread(t *testing.T, of []*spreadStation) *spreadModel {
	p := &spreadModel{regions: regions(strings.Repeat(strings.Repeat("m", regionsWide)+"\n", regionsHigh))}
	p.sd[0], p.skew[0] = 1, -0.1
	p.fitTerms(of, 12)
	p.fitRegions(t, of)
	p.fitTerms(of, 4)
	p.fitRegions(t, of)
	return p
}

// Units of misfit: what they usually are.
const (
	frostUnit, lowestUnit, yearUnit = 1.3, 2.3, 1.2 // days, C, C; the lowest of all counts for more
	usual, wrong                    = 2.5, 6        // units
)

func (s *spreadStation) residuals(p *spreadModel, region float64) (r [25]float64) {
	f := s.misfit(p, region)
	for m := range 12 {
		r[m], r[12+m] = f.frosts[m]/frostUnit, f.lowest[m]/lowestUnit
	}
	r[24] = f.year / yearUnit
	return r
}

// robust is Huber's weight, and less still for what must be slips.
func robust(v float64) float64 {
	w := min(1, usual/math.Abs(v))
	if math.Abs(v) > wrong {
		w *= wrong / math.Abs(v)
	}
	return w
}

const step = 1e-4 // for slopes

// fitTerms minimises the misfits by Gauss and Newton's method.
func (p *spreadModel) fitTerms(of []*spreadStation, passes int) {
	free := p.list()
	n := len(free)
	for range passes {
		a, b := mat.NewSymDense(n, nil), mat.NewVecDense(n, nil)
		for _, s := range of {
			region := p.regions.at(s.site)
			r := s.residuals(p, region)
			slope := make([][25]float64, n)
			for j, v := range free {
				*v += step
				slope[j] = s.residuals(p, region)
				*v -= step
			}
			for k, v := range r {
				if math.IsNaN(v) {
					continue
				}
				w := robust(v)
				for j := range slope {
					d := (slope[j][k] - v) / step
					b.SetVec(j, b.AtVec(j)-w*d*v)
					for l := range j + 1 {
						a.SetSym(l, j, a.At(l, j)+w*d*(slope[l][k]-v)/step)
					}
				}
			}
		}
		for j := range n {
			a.SetSym(j, j, a.At(j, j)*1.01+3) // keeps coefficients small that do little
		}
		var chol mat.Cholesky
		var d mat.VecDense
		if !chol.Factorize(a) || chol.SolveVecTo(&d, b) != nil {
			return
		}
		for j, v := range free {
			*v += d.AtVec(j)
		}
	}
}

// Regions are kriged: departures of the logarithm of the spread, alike over so many km
// (Matern's covariance with smoothness 3/2), above what is a station's own. By the likelihood of
// all stations; half or twice the length does nearly as well.
const (
	regionSD, regionKm = 0.15, 700
	ownSD, ownShare    = 0.10, 2.4 // the latter a station's residuals, in units, that hang together
)

func (p *spreadModel) fitRegions(t *testing.T, of []*spreadStation) {
	t.Helper()
	onSphere := func(lat, lon float64) [3]float64 {
		const earth = 6371
		a, b := math.Sincos(lat * math.Pi / 180)
		c, d := math.Sincos(lon * math.Pi / 180)
		return [3]float64{earth * b * d, earth * b * c, earth * a}
	}
	alike := func(a, b [3]float64) float64 {
		x, y, z := a[0]-b[0], a[1]-b[1], a[2]-b[2]
		r := math.Sqrt(3*(x*x+y*y+z*z)) / regionKm
		return regionSD * regionSD * (1 + r) * math.Exp(-r)
	}
	var at [][3]float64
	var shift, own []float64
	for _, s := range of {
		d, info := 0.0, 0.0
		for range 8 {
			r, moved := s.residuals(p, d), s.residuals(p, d+step)
			slope := 0.0
			info = 0
			for k, v := range r {
				if g := (moved[k] - v) / step; !math.IsNaN(g) {
					info += robust(v) * g * g
					slope += robust(v) * g * v
				}
			}
			d -= slope / (info + 3)
		}
		if info > 0.1 { // else it tells nothing of the spread
			at, shift, own = append(at, onSphere(s.site.Lat, s.site.Lon)), append(shift, d), append(own, ownSD*ownSD+ownShare/info)
		}
	}
	k := mat.NewSymDense(len(at), nil)
	for i := range at {
		for j := i; j < len(at); j++ {
			k.SetSym(i, j, alike(at[i], at[j]))
		}
		k.SetSym(i, i, k.At(i, i)+own[i])
	}
	var chol mat.Cholesky
	var weights mat.VecDense
	if !chol.Factorize(k) || chol.SolveVecTo(&weights, mat.NewVecDense(len(shift), shift)) != nil {
		t.Fatal("the covariance of the regions is not positive definite")
	}
	var text strings.Builder
	for j := range regionsHigh {
		for i := range regionsWide {
			here := onSphere(90-(float64(j)+0.5)*regionStep, (float64(i)+0.5)*regionStep-180)
			sum := 0.0
			for n := range at {
				sum += alike(here, at[n]) * weights.AtVec(n)
			}
			text.WriteByte(byte(min(max(math.Round(regionZero+sum/regionUnit), 'a'), 'z')))
		}
		text.WriteByte('\n')
	}
	p.regions = regions(text.String())
}
