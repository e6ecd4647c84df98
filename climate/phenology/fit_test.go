package phenology

import (
	"flag"
	"fmt"
	"math"
	"os"
	"slices"
	"strings"
	"testing"
)

var update = flag.Bool("update", false, "write the fitted priors anew")

// priorGrid is the grid of curves: wide in what other places may want, with most
// of the mass on forms with day length.
func priorGrid() []curve {
	var out []curve
	family := func(weight float64, curves ...curve) {
		for _, c := range curves {
			c.Weight = weight / float64(len(curves))
			out = append(out, c)
		}
	}
	var long, late, degree, chilled []curve
	for _, w := range []float64{0.5, 0.75, 1} {
		for _, s := range [][2]float64{{10, 0.3}, {14, 0.25}, {17, 0.25}} {
			for _, p := range []float64{2, 4, 7} {
				long = append(long, curve{Form: sigmoid, W: w, M: s[0], Q: s[1], P: p})
			}
		}
	}
	for _, w := range []float64{0.5, 1} {
		for _, s := range [][2]float64{{12, 0.2}, {17, 0.15}} {
			for _, start := range []int{45, 60, 75} {
				late = append(late, curve{Form: sigmoid, W: w, M: s[0], Q: s[1], Start: start})
			}
		}
		for _, base := range []float64{0, 4} {
			for _, start := range []int{31, 59, 80} {
				degree = append(degree, curve{Form: linear, W: w, M: base, Start: start})
			}
		}
		for _, m := range []float64{10, 15} {
			for _, chill := range []float64{45, 70} {
				chilled = append(chilled, curve{Form: sigmoid, W: w, M: m, Q: 0.25, P: 1, Chill: chill})
			}
		}
	}
	family(0.5, long...)
	family(0.2, late...)
	family(0.15, degree...)
	family(0.15, chilled...)
	return out
}

// laboratory holds the clocks of every curve of the grid at Harvard Forest, from
// which priors are fitted, with or without some spring.
type laboratory struct {
	harvard *harvard
	curves  []curve
	courses []course
	clocks  []map[int]gauge
}

// newLaboratory runs the curves. Typical courses are those of 1965-1989, before
// any bud was observed.
func newLaboratory(t testing.TB, h *harvard) *laboratory {
	lab := &laboratory{harvard: h, curves: priorGrid()}
	weathers := map[int]weather{}
	chills := map[int]course{}
	for y := 1965; y <= 2002; y++ {
		w := h.seasonWeather(t, y)
		weathers[y], chills[y] = w, w.chill()
	}
	for k := range lab.curves {
		c := &lab.curves[k]
		forcing := func(y int) course {
			w := weathers[y]
			return w.forcing(c, chills[y])
		}
		var reference []course
		for y := 1965; y < 1990; y++ {
			reference = append(reference, forcing(y)[:365])
		}
		typical := mean(reference)
		lab.courses = append(lab.courses, typical)
		clocks := map[int]gauge{}
		for y := 1990; y <= 2002; y++ {
			f := forcing(y)
			clocks[y] = make(gauge, len(f))
			typical.addClock(clocks[y], f, 1)
		}
		lab.clocks = append(lab.clocks, clocks)
	}
	return lab
}

// springs returns the bud breaks of 1990-2002 that were dated, but for those of
// the year left out.
func (lab *laboratory) springs(without int) []bud {
	var out []bud
	for _, b := range lab.harvard.buds {
		if b.bud >= 0 && b.year <= 2002 && b.year != without {
			out = append(out, b)
		}
	}
	return out
}

// fitted is what is fitted to the data.
type fitted struct {
	curves  []curve
	courses []course
	day     map[string]float64 // by code
	trees   map[string]int
	springs map[string]int
	rmse    []float64 // of each curve, days
	spread  spreads
}

// spreads are standard deviations of the parts of the clock at bud break, days.
type spreads struct{ tree, spring, speciesSpring, err float64 }

// fit fits the priors to all springs but the one left out.
func (lab *laboratory) fit(without int) *fitted {
	fit := &fitted{
		curves: slices.Clone(lab.curves), courses: lab.courses,
		day: map[string]float64{}, trees: map[string]int{}, springs: map[string]int{},
	}
	full := lab.harvard.full()
	buds := lab.springs(without)
	best := math.Inf(1)
	n := 0
	for _, clocks := range lab.clocks {
		sum, count := map[string]float64{}, map[string]float64{}
		for _, b := range buds {
			sum[b.tree] += clocks[b.year][b.bud]
			count[b.tree]++
		}
		// Residuals in calendar days, since a standing clock flatters itself.
		sse := 0.0
		n = 0
		for _, b := range buds {
			if !full[b.code] || count[b.tree] < 2 {
				continue
			}
			others := (sum[b.tree] - clocks[b.year][b.bud]) / (count[b.tree] - 1)
			d, _ := clocks[b.year].reach(others)
			sse += (d - float64(b.bud)) * (d - float64(b.bud))
			n++
		}
		fit.rmse = append(fit.rmse, math.Sqrt(sse/float64(n)))
		best = min(best, sse)
	}
	// Species of one spring share their error: three of them count as
	// independent. Other places may want other curves, so the likelihood counts
	// for a tenth only: enough to drop what fails, and little more.
	const (
		independent = 3
		counts      = 0.1
	)
	total := 0.0
	for k := range fit.curves {
		sse := fit.rmse[k] * fit.rmse[k] * float64(n)
		fit.curves[k].Weight *= math.Exp(-(sse - best) / (2 * best / float64(n)) * independent / float64(len(full)) * counts)
		total += fit.curves[k].Weight
	}
	for k := range fit.curves {
		fit.curves[k].Weight /= total
	}
	years, trees := map[string]map[int]bool{}, map[string]map[string]bool{}
	sum, count := map[string]float64{}, map[string]float64{}
	for _, b := range buds {
		if years[b.code] == nil {
			years[b.code], trees[b.code] = map[int]bool{}, map[string]bool{}
		}
		years[b.code][b.year], trees[b.code][b.tree] = true, true
		for k := range fit.curves {
			sum[b.code] += fit.curves[k].Weight * lab.clocks[k][b.year][b.bud]
		}
		count[b.code]++
	}
	for c := range sum {
		fit.day[c] = sum[c] / count[c]
		if anchor := budPhase(c); anchor != BudBreak {
			fit.day[c] -= loadPriors().lags[anchor].Days
		}
		fit.trees[c], fit.springs[c] = len(trees[c]), len(years[c])
	}
	fit.spread = lab.spreads(fit, buds)
	return fit
}

// spreads estimates the parts' variances by the analysis of variance of a nested
// layout: trees in species, and species in springs, of the full species.
func (lab *laboratory) spreads(fit *fitted, buds []bud) spreads {
	full := lab.harvard.full()
	clock := func(b bud) (x float64) {
		for k := range fit.curves {
			x += fit.curves[k].Weight * lab.clocks[k][b.year][b.bud]
		}
		return x
	}
	type cell struct {
		code string
		year int
	}
	trees, codes := map[string][]float64{}, map[string]string{}
	for _, b := range buds {
		if full[b.code] {
			trees[b.tree] = append(trees[b.tree], clock(b))
			codes[b.tree] = b.code
		}
	}
	cells := map[cell][]float64{}
	for _, b := range buds {
		if full[b.code] {
			c := cell{b.code, b.year}
			cells[c] = append(cells[c], clock(b)-average(trees[b.tree]))
		}
	}
	springs := 0.0 // of a tree, on average
	for _, v := range trees {
		springs += float64(len(v)) / float64(len(trees))
	}
	lost := 1 - 1/springs // of every variance, to the trees' own means
	square := func(v []float64) (sum float64) {
		m := average(v)
		for _, x := range v {
			sum += (x - m) * (x - m)
		}
		return sum
	}
	var within, freedom, inverse float64
	byYear := map[int][]float64{}
	for y := 1990; y <= 2002; y++ {
		for _, code := range sortedKeys(full) {
			v := cells[cell{code, y}]
			if len(v) == 0 {
				continue
			}
			within += square(v)
			freedom += float64(len(v) - 1)
			inverse += 1 / float64(len(v)) / float64(len(cells))
			byYear[y] = append(byYear[y], average(v))
		}
	}
	e2 := within / freedom / lost
	var between, yearFreedom, species float64
	var means []float64
	for y := 1990; y <= 2002; y++ {
		if v := byYear[y]; len(v) > 0 {
			between += square(v)
			yearFreedom += float64(len(v) - 1)
			species = float64(len(v))
			means = append(means, average(v))
		}
	}
	cellVariance := between / yearFreedom / lost
	spring := square(means)/float64(len(means)-1)/lost - cellVariance/species
	bySpecies := map[string][]float64{}
	for _, tree := range sortedKeys(trees) {
		bySpecies[codes[tree]] = append(bySpecies[codes[tree]], average(trees[tree]))
	}
	var treeSquare, treeFreedom float64
	for _, code := range sortedKeys(bySpecies) {
		treeSquare += square(bySpecies[code])
		treeFreedom += float64(len(bySpecies[code]) - 1)
	}
	root := func(v float64) float64 { return math.Sqrt(max(v, 0.25)) }
	return spreads{
		tree: root(treeSquare/treeFreedom - e2/springs), spring: root(spring),
		speciesSpring: root(cellVariance - e2*inverse), err: root(e2),
	}
}

// budPhase is the phase that the archive's bud break of a species is: half of a
// pine's buds show green when the needles part.
func budPhase(code string) Phase {
	if strings.HasPrefix(harvardNames[code], "Pinus ") {
		return NeedlesSeparating
	}
	return BudBreak
}

const provenance = "# Fitted by TestFit -update to Harvard Forest: O'Keefe, HF003 (bud break 1990-2002), and Boose and Gould, HF000 (Shaler station\n# 1964-2002), Harvard Forest Data Archive. %s\n"

// TestFit fits the priors anew and compares them with the embedded ones, or
// writes them with -update.
func TestFit(t *testing.T) {
	fit := newLaboratory(t, readHarvard(t)).fit(0)
	for k, c := range fit.curves {
		t.Logf("%2d %-8s w %.2f m %4.1f q %.2f start %2d p %.0f chill %2.0f: RMSE %.2f, weight %.3f",
			k, c.Form, c.W, c.M, c.Q, c.Start, c.P, c.Chill, fit.rmse[k], c.Weight)
	}
	for name, text := range fit.tables() {
		path := "priors/" + name + ".csv"
		if *update {
			if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
				t.Fatal(err)
			}
			continue
		}
		have, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		if string(have) != text {
			t.Errorf("%s is not what the data give: run go test ./climate/phenology -run TestFit -update", path)
		}
	}
}

func (fit *fitted) tables() map[string]string {
	out := map[string]string{}
	table := func(name, note, header string, rows func(b *strings.Builder)) {
		var b strings.Builder
		fmt.Fprintf(&b, provenance, note)
		b.WriteString(header + "\n")
		rows(&b)
		out[name] = b.String()
	}
	table("curves", "Curves and their weights.", "form,w,m,q,start,p,chill,weight", func(b *strings.Builder) {
		for _, c := range fit.curves {
			fmt.Fprintf(b, "%s,%g,%g,%g,%d,%g,%g,%.5f\n", c.Form, c.W, c.M, c.Q, c.Start, c.P, c.Chill, c.Weight)
		}
	})
	var header []string
	for k := range fit.curves {
		header = append(header, fmt.Sprint(k))
	}
	table("courses", "Typical forcing (1965-1989) by the end of each\n# day of the season, by curve.", strings.Join(header, ","), func(b *strings.Builder) {
		for d := range fit.courses[0] {
			for k, c := range fit.courses {
				if k > 0 {
					b.WriteByte(',')
				}
				fmt.Fprintf(b, "%.4g", c[d])
			}
			b.WriteByte('\n')
		}
	})
	const spread = 3.0 // of a species between places, days: judged, not fitted
	const place = 5.0  // of all species of a place together: judged, not fitted
	table("spreads", "Standard deviations of the parts of the\n# clock at bud break in days there; that of place, 5, is judged and not fitted: one place tells nothing of it.", "of,sd", func(b *strings.Builder) {
		s := fit.spread
		fmt.Fprintf(b, "place,%g\ntree,%.2f\nspring,%.2f\nspecies-spring,%.2f\nerror,%.2f\n", place, s.tree, s.spring, s.speciesSpring, s.err)
	})
	type group struct{ days []float64 }
	genera := map[string]*group{}
	table("species", "Day of the typical season on which half of the buds are open.", "species,day,sd,trees,springs", func(b *strings.Builder) {
		for _, code := range sortedKeys(fit.day) {
			name := harvardNames[code]
			genus, kind, _ := strings.Cut(name, " ")
			if genera[genus] == nil {
				genera[genus] = &group{}
			}
			genera[genus].days = append(genera[genus].days, fit.day[code])
			if kind == "sp." {
				continue
			}
			// Between places, and the error of the mean here.
			s := fit.spread
			v := spread*spread + s.speciesSpring*s.speciesSpring/float64(fit.springs[code]) + s.tree*s.tree/float64(fit.trees[code])
			fmt.Fprintf(b, "%s,%.1f,%.1f,%d,%d\n", name, fit.day[code], math.Sqrt(v), fit.trees[code], fit.springs[code])
		}
	})
	// Species of a genus differ; the variance within genera is pooled.
	var square float64
	var freedom int
	mean := map[string]float64{}
	for name, g := range genera {
		for _, d := range g.days {
			mean[name] += d / float64(len(g.days))
		}
	}
	for _, name := range sortedKeys(genera) {
		for _, d := range genera[name].days {
			square += (d - mean[name]) * (d - mean[name])
		}
		freedom += len(genera[name].days) - 1
	}
	within := square/float64(freedom) + spread*spread
	table("genera", "Means of the genus' species; spread pooled over genera.", "genus,day,sd,trees,springs", func(b *strings.Builder) {
		for _, name := range sortedKeys(genera) {
			n := float64(len(genera[name].days))
			fmt.Fprintf(b, "%s,%.1f,%.1f,0,0\n", name, mean[name], math.Sqrt(within*(1+1/n)))
		}
	})
	return out
}
