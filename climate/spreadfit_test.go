package climate

import (
	"flag"
	"math"
	"slices"
	"testing"

	"gonum.org/v1/gonum/mat"
)

var fit = flag.Bool("fit", false, "fit the spread of single days anew")

// TestSpreadFit fits spreadFit to the table of frost days and lowest minima:
//
//	go test ./climate -run SpreadFit -fit -v
func TestSpreadFit(t *testing.T) {
	if !*fit {
		t.Skip("takes a minute: run with -fit")
	}
	var of []spreadStation
	for _, s := range worldNormals(t) {
		of = append(of, newSpreadStation(s))
	}
	half := func(k int) (out []spreadStation) {
		for i := k; i < len(of); i += 2 {
			out = append(out, of[i])
		}
		return out
	}
	measure := func(name string, p *spreadModel, of []spreadStation) {
		var frost, low sums
		for i := range of {
			of[i].misfit(p, func(m int, f, l float64) { frost.add(f); low.add(l) })
		}
		t.Logf("%s: frost days a month %v, lowest minimum of a month %v", name, &frost, &low)
	}
	p := fitSpread(half(0))
	measure("fitted to every other station, there", p, half(0))
	measure("at the rest", p, half(1))
	p = fitSpread(of)
	measure("fitted to all", p, of)
	for i, v := range p.list() {
		*v = math.Round(*v*1e4) / 1e4
		if have := spreadFit.list()[i]; math.Abs(*v-*have) > 5e-4 {
			t.Errorf("coefficient %d: fitted %v, spread.go has %v", i, *v, *have)
		}
	}
	t.Logf("%v", p)
}

// list returns the coefficients in order.
func (f *spreadModel) list() (out []*float64) {
	for i := range f.sd {
		out = append(out, &f.sd[i])
	}
	for i := range f.skew {
		out = append(out, &f.skew[i])
	}
	return out
}

// spreadStation is what is compared at one station.
type spreadStation struct {
	stationNormals
	terms [12][spreadTerms]float64
	tmin  [12][3]float64 // on the 5th, 15th and 25th of each month
}

func newSpreadStation(s stationNormals) spreadStation {
	out := spreadStation{stationNormals: s, terms: s.n.spreadTerms(s.site)}
	daily := dailyCourse(&s.n.Tmin)
	for m, days := range monthOf365() {
		for j, d := range [3]int{4, 14, 24} {
			out.tmin[m][j] = daily[days[d]]
		}
	}
	return out
}

// lowestOfThirty are how many standard deviations below the mean the lowest of
// the days of one month in thirty generated years lies: its 10, 30, 50, 70 and
// 90 % (TestLowestOfThirty).
var lowestOfThirty = [5]float64{-3.62, -3.32, -3.12, -2.95, -2.74}

// misfit calls f with what the spread gives less what the station has, for frost
// days and lowest minimum of each month.
func (s *spreadStation) misfit(p *spreadModel, f func(month int, frosts, lowest float64)) {
	var sd, skew [12]float64
	for m := range sd {
		sd[m], skew[m] = p.at(&s.terms[m])
	}
	for m, days := range monthOf365() {
		spread := [3]float64{sd[m]*2/3 + sd[(m+11)%12]/3, sd[m], sd[m]*2/3 + sd[(m+1)%12]/3}
		frosts, lowest := 0.0, 0.0
		for j, mean := range s.tmin[m] {
			frosts += float64(len(days)) / 3 * math.Erfc(-unskewed(-mean/spread[j], skew[m])/math.Sqrt2) / 2
		}
		for _, z := range lowestOfThirty {
			// Of thirds with different means the lowest is likely in the coldest:
			// in the tail, chances fall by e every sd/z.
			scale, sum := sd[m]/-z, 0.0
			x := skewed(z, skew[m])
			for j, mean := range s.tmin[m] {
				sum += math.Exp((s.n.Tmin[m]+x*sd[m]-mean-x*spread[j])/scale) / 3
			}
			lowest += (s.n.Tmin[m] + x*sd[m] - scale*math.Log(sum)) / float64(len(lowestOfThirty))
		}
		f(m, frosts-s.frosts[m], lowest-s.lowest[m])
	}
}

// unskewed is the reverse of skewed; beyond its short tail, eight.
func unskewed(x, k float64) float64 {
	if math.Abs(k) < 1e-3 {
		return x
	}
	e := math.Exp(k * k)
	v := math.Copysign(x, x*k)*math.Sqrt(e*(e-1)) + math.Sqrt(e)
	if v <= 0 {
		return math.Copysign(8, x)
	}
	return math.Log(v) / k
}

// fitSpread minimises the misfits in units of what they usually are, by Gauss and Newton's
// method with Huber's weights, and less still for what must be slips.
func fitSpread(of []spreadStation) *spreadModel {
	const (
		frostUnit, lowestUnit = 1.3, 2.3 // days, C
		usual, wrong          = 2.5, 6   // units
		step                  = 1e-4
	)
	p := &spreadModel{}
	p.sd[0], p.skew[0] = 1, -0.1
	residuals := func(s *spreadStation) (r []float64) {
		s.misfit(p, func(_ int, frosts, lowest float64) { r = append(r, frosts/frostUnit, lowest/lowestUnit) })
		return r
	}
	free := p.list()
	n := len(free)
	for range 15 {
		a, b := mat.NewSymDense(n, nil), mat.NewVecDense(n, nil)
		for i := range of {
			r := residuals(&of[i])
			slope := make([][]float64, n)
			for j, v := range free {
				*v += step
				slope[j] = residuals(&of[i])
				*v -= step
			}
			for k, v := range r {
				if math.IsNaN(v) {
					continue
				}
				w := min(1, usual/math.Abs(v))
				if math.Abs(v) > wrong {
					w *= wrong / math.Abs(v)
				}
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
			return p
		}
		for j, v := range free {
			*v += d.AtVec(j)
		}
	}
	return p
}

func TestLowestOfThirty(t *testing.T) {
	const lots = 300
	c := &Cycle{lag1: defaultLag1, cross: defaultCross, slow: defaultSlow}
	var lows []float64
	for i := range uint64(lots) {
		z := newDepartures(c, 11, i)
		low := 0.0
		for range 30 {
			for d := range 90 { // months far enough apart to be as good as independent
				if v, _ := z.next(); d < 30 {
					low = min(low, v)
				}
			}
		}
		lows = append(lows, low)
	}
	slices.Sort(lows)
	for k, want := range lowestOfThirty {
		p := 0.1 + 0.2*float64(k)
		if got := lows[int(p*lots)]; math.Abs(got-want) > 0.1 {
			t.Errorf("%.0f %% of the lowest of thirty years at %.2f: want %.2f", 100*p, got, want)
		}
	}
}
