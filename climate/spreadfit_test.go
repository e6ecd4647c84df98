package climate

import (
	"flag"
	"math"
	"os"
	"slices"
	"testing"
)

var (
	fit    = flag.Bool("fit", false, "fit the spread of single days anew")
	update = flag.Bool("update", false, "with -fit: write regions.txt anew")
)

// TestSpreadFit fits spreadFit to the table of frost days and lowest minima, and
// compares it with what is embedded:
//
//	go test ./climate -run 'SpreadFit$' -fit -v
func TestSpreadFit(t *testing.T) {
	all := spreadStations(t)
	p := fitSpread(t, all)
	measureSpread(t, "fitted to all", p, all)
	for i, v := range p.list() {
		*v = math.Round(*v*1e4) / 1e4
		if have := spreadFit.list()[i]; math.Abs(*v-*have) > 5e-4 {
			t.Errorf("coefficient %d: fitted %v, spread.go has %v", i, *v, *have)
		}
	}
	t.Logf("%v %v\n%s", p.sd, p.skew, p.regions)
	if *update {
		if err := os.WriteFile("regions.txt", []byte(p.regions), 0o644); err != nil {
			t.Fatal(err)
		}
	} else if p.regions != spreadRegions {
		t.Error("regions.txt is not what the table gives: run with -update")
	}
}

// TestSpreadFitWithout measures the fit at stations that it was not made from: every
// other station, and every other field of ten degrees, so that no neighbour stands in for
// what is left out:
//
//	go test ./climate -run SpreadFitWithout -fit -v
func TestSpreadFitWithout(t *testing.T) {
	all := spreadStations(t)
	for _, half := range []struct {
		name string
		of   func(i int, s *spreadStation) bool
	}{
		{"every other station", func(i int, _ *spreadStation) bool { return i%2 == 0 }},
		{"every other field of ten degrees", func(_ int, s *spreadStation) bool {
			return int(math.Floor(s.site.Lat/10)+math.Floor(s.site.Lon/10))%2 == 0
		}},
	} {
		table := newGeneratorTable()
		for _, side := range []bool{false, true} {
			var in, out []*spreadStation
			for i, s := range all {
				if half.of(i, s) == side {
					out = append(out, s)
				} else {
					in = append(in, s)
				}
			}
			p := fitSpread(t, in)
			measureSpread(t, "fitted to "+half.name+", there", p, in)
			measureSpread(t, "at the rest", p, out)
			kept := spreadFit
			spreadFit = *p
			for _, s := range out {
				table.add(t, &s.stationNormals)
			}
			spreadFit = kept
		}
		t.Logf("Generated years where nothing was fitted, %s left out:\n%s", half.name, table)
	}
}

// spreadStations reads the stations that are fitted.
func spreadStations(t *testing.T) (all []*spreadStation) {
	if !*fit {
		t.Skip("takes minutes: run with -fit")
	}
	for _, s := range worldNormals(t) {
		all = append(all, newSpreadStation(s))
	}
	return all
}

func measureSpread(t *testing.T, name string, p *spreadModel, of []*spreadStation) {
	var frost, low, year sums
	for _, s := range of {
		f := s.misfit(p, p.regions.at(s.site))
		for m := range 12 {
			frost.add(f.frosts[m])
			low.add(f.lowest[m])
		}
		year.add(f.year)
	}
	t.Logf("%s: frost days a month %v, lowest minimum of a month %v, of all months %v", name, &frost, &low, &year)
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

func newSpreadStation(s stationNormals) *spreadStation {
	out := &spreadStation{stationNormals: s, terms: s.n.spreadTerms(s.site)}
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

// misfit is what the spread gives less what a station has; NaN where that is not reported.
type misfit struct {
	frosts, lowest [12]float64 // days a month, C
	year           float64     // the lowest of all months, C
}

func (s *spreadStation) misfit(p *spreadModel, region float64) (out misfit) {
	var sd, skew, lows [12]float64
	for m := range sd {
		sd[m], skew[m] = p.at(&s.terms[m], region)
	}
	coldest := 0
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
		lows[m] = lowest
		if lowest < lows[coldest] {
			coldest = m
		}
		out.frosts[m], out.lowest[m] = frosts-s.frosts[m], lowest-s.lowest[m]
	}
	// The same of months; they hang together, and so the scale is that with which
	// generated years agree.
	scale, sum := sd[coldest]/7, 0.0
	for _, v := range lows {
		sum += math.Exp((lows[coldest] - v) / scale)
	}
	out.year = lows[coldest] - scale*math.Log(sum) - slices.Min(s.lowest[:])
	return out
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
