package atlas

import (
	"math"
	"slices"
	"testing"

	"gonum.org/v1/gonum/mat"
)

// process is a Gaussian process fitted to stations.
type process struct {
	stations []*station
	y        *mat.Dense // of each station, less the mean of all
	mean     [components]float64
	inverse  *mat.SymDense // of the covariance of the stations, noise and trend included
	alpha    *mat.Dense    // inverse times y
}

// trendVariance is that of each coefficient of the trend beforehand, C2: so wide
// that the stations alone decide.
const trendVariance = 400

func covariance(a, b *spot, fa, fb *[features]float64) float64 {
	k := departures(a, b)
	for i := range fa {
		k += trendVariance * fa[i] * fb[i]
	}
	return k
}

func fitProcess(t testing.TB, of []*station) *process {
	t.Helper()
	n := len(of)
	p := &process{stations: of, y: mat.NewDense(n, components, nil)}
	f := make([][features]float64, n)
	for i, s := range of {
		f[i] = s.features()
		for m, v := range s.y {
			p.mean[m] += v / float64(n)
		}
	}
	k := mat.NewSymDense(n, nil)
	for i, a := range of {
		for m, v := range a.y {
			p.y.Set(i, m, v-p.mean[m])
		}
		for j := i; j < n; j++ {
			k.SetSym(i, j, covariance(&a.spot, &of[j].spot, &f[i], &f[j])+a.oddity(of[j]))
		}
		k.SetSym(i, i, k.At(i, i)+noise*noise+a.doubt)
	}
	var chol mat.Cholesky
	if !chol.Factorize(k) {
		t.Fatal("the covariance of the stations is not positive definite")
	}
	p.inverse = mat.NewSymDense(n, nil)
	if err := chol.InverseTo(p.inverse); err != nil {
		t.Fatal(err)
	}
	p.alpha = &mat.Dense{}
	p.alpha.Mul(p.inverse, p.y)
	return p
}

// without returns the departures of some stations from what all others say of
// them: exactly what fitting without them would give.
func (p *process) without(block []int) [][components]float64 {
	a := mat.NewSymDense(len(block), nil)
	b := mat.NewDense(len(block), components, nil)
	for i, u := range block {
		for j := i; j < len(block); j++ {
			a.SetSym(i, j, p.inverse.At(u, block[j]))
		}
		b.SetRow(i, p.alpha.RawRowView(u))
	}
	var chol mat.Cholesky
	var x mat.Dense
	if !chol.Factorize(a) || chol.SolveTo(&x, b) != nil {
		panic("a block of a positive definite matrix is not one")
	}
	out := make([][components]float64, len(block))
	for i := range out {
		copy(out[i][:], x.RawRowView(i))
	}
	return out
}

// strays drops stations one by one, the farthest from what the others say first,
// until none strays more than so many standard errors (root mean square of its
// months), and returns those dropped. Each is judged without those that went before, so
// that a good station does not go for its neighbour's sake.
func (p *process) strays(most float64) (out []int) {
	n := len(p.stations)
	a, al := make([][]float64, n), make([][components]float64, n)
	for i := range a {
		a[i] = make([]float64, n)
		for j := range a[i] {
			a[i][j] = p.inverse.At(i, j)
		}
		copy(al[i][:], p.alpha.RawRowView(i))
	}
	var scale [components]float64 // usual stray of each month, in standard errors
	for m := range scale {
		z := make([]float64, n)
		for i := range z {
			z[i] = math.Abs(al[i][m]) / math.Sqrt(a[i][i])
		}
		slices.Sort(z)
		scale[m] = z[n*68/100]
	}
	gone := make([]bool, n)
	for {
		worst, far := -1, most
		for i := range n {
			z := 0.0
			for m, v := range al[i] {
				z += v * v / a[i][i] / (scale[m] * scale[m]) / components
			}
			if z = math.Sqrt(z); z > far && !gone[i] {
				worst, far = i, z
			}
		}
		if worst < 0 {
			return out
		}
		gone[worst] = true
		out = append(out, worst)
		row, lost := slices.Clone(a[worst]), al[worst]
		for i := range n {
			if gone[i] {
				continue
			}
			f := row[i] / row[worst]
			for j, v := range row {
				a[i][j] -= f * v
			}
			for m, v := range lost {
				al[i][m] -= f * v
			}
		}
	}
}

// surface makes ready what the process says of any place.
func (p *process) surface(t testing.TB) *surface {
	s := &surface{mean: p.mean, grid: map[int]*node{}}
	var svd mat.SVD
	if !svd.Factorize(p.y, mat.SVDThin) {
		t.Fatal("no principal components")
	}
	var v, turned mat.Dense
	svd.VTo(&v)
	turned.Mul(p.alpha, &v) // weights in components
	weights := make([]vector, len(p.stations))
	for i := range weights {
		for k := range components {
			weights[i][k] = float32(turned.At(i, k))
			for m := range components {
				s.turn[k][m] = float32(v.At(m, k))
			}
		}
	}
	for i, c := range p.stations {
		for k, f := range c.features() {
			s.trend[k].add(float32(trendVariance*f), &weights[i])
		}
		// The weight of a centre holds the amplitude of its data, which ends here.
		s.centres = append(s.centres, centre{spot: c.spot, weight: weights[i]})
	}
	for j := range coastHigh {
		for i := range coastWide {
			lat, lon := -90+float64(j)/coastNodes, -180+float64(i)/coastNodes
			if lat > ice && theCoast()[j*coastWide+i] > coastStep(-offshore) {
				corners(lat, lon, func(key int, _ float64) { s.grid[key] = &node{} })
			}
		}
	}
	for _, c := range p.stations {
		corners(c.lat, c.lon, func(key int, _ float64) { s.grid[key] = &node{} })
	}
	for key, n := range s.grid {
		at := onSphere(-90+float64(key/gridWide)*gridStep, -180+float64(key%gridWide)*gridStep)
		for i, c := range p.stations {
			km := apart(at, c.p)
			n[0].add(float32(broad.at(km)+middle.at(km)), &weights[i])
			n[1].add(float32(c.h*lapse.at(km)), &weights[i])
			n[2].add(float32(c.inland*inland.at(km)), &weights[i])
		}
	}
	s.order()
	return s
}
