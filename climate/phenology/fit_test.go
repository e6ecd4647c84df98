package phenology

import (
	"flag"
	"fmt"
	"math"
	"os"
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
		for _, start := range []int{45, 60, 75} {
			late = append(late,
				curve{Form: sigmoid, W: w, M: 12, Q: 0.2, Start: start},
				curve{Form: sigmoid, W: w, M: 17, Q: 0.15, Start: start})
		}
		for _, start := range []int{31, 59, 80} {
			degree = append(degree,
				curve{Form: linear, W: w, M: 0, Start: start},
				curve{Form: linear, W: w, M: 4, Start: start})
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

// fitted is what TestFit makes of the data.
type fitted struct {
	curves  []curve
	courses []course
	day     map[string]float64 // by code
	trees   map[string]int
	springs map[string]int
}

// fitReference fits the priors to Harvard Forest. Typical courses are those of
// 1965-1989, before any bud was observed.
func fitReference(t testing.TB, h *harvard) *fitted {
	fit := &fitted{curves: priorGrid(), day: map[string]float64{}, trees: map[string]int{}, springs: map[string]int{}}
	full := h.full()
	var reference []weather
	for y := 1965; y < 1990; y++ {
		reference = append(reference, h.seasonWeather(t, y))
	}
	springs := map[int]weather{}
	for y := 1990; y <= 2002; y++ {
		springs[y] = h.seasonWeather(t, y)
	}
	chills := map[int]course{}
	forcing := func(w *weather, c *curve) course {
		year := w.start.Year()
		if chills[year] == nil {
			chills[year] = w.chill()
		}
		hours := lengths(w.lat, w.start, w.days())
		for i := range hours {
			hours[i] = c.dayWeight(i, hours[i])
		}
		return w.forcing(c, hours, chills[year])
	}
	clocks := make([]map[int]gauge, len(fit.curves))
	sse := make([]float64, len(fit.curves))
	n := 0
	for k := range fit.curves {
		c := &fit.curves[k]
		var all []course
		for i := range reference {
			f := forcing(&reference[i], c)
			all = append(all, f[:365])
		}
		typical := mean(all)
		fit.courses = append(fit.courses, typical)
		clocks[k] = map[int]gauge{}
		for y, w := range springs {
			g := make(gauge, w.days())
			typical.addClock(g, forcing(&w, c), 1)
			clocks[k][y] = g
		}
		// Residuals in calendar days, since a standing clock flatters itself.
		sum, count := map[string]float64{}, map[string]float64{}
		for _, b := range h.buds {
			if b.bud >= 0 && b.year <= 2002 && full[b.code] {
				sum[b.tree] += clocks[k][b.year][b.bud]
				count[b.tree]++
			}
		}
		n = 0
		for _, b := range h.buds {
			if b.bud >= 0 && b.year <= 2002 && full[b.code] && count[b.tree] > 1 {
				m := (sum[b.tree] - clocks[k][b.year][b.bud]) / (count[b.tree] - 1)
				d, _ := clocks[k][b.year].reach(m)
				sse[k] += (d - float64(b.bud)) * (d - float64(b.bud))
				n++
			}
		}
	}
	best := math.Inf(1)
	for _, s := range sse {
		best = min(best, s)
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
		fit.curves[k].Weight *= math.Exp(-(sse[k] - best) / (2 * best / float64(n)) * independent / float64(len(full)) * counts)
		total += fit.curves[k].Weight
	}
	for k := range fit.curves {
		fit.curves[k].Weight /= total
		c := fit.curves[k]
		t.Logf("%-8s w %.2f m %4.1f q %.2f start %2d p %.0f chill %2.0f: RMSE %.2f, weight %.3f", c.Form, c.W, c.M, c.Q, c.Start, c.P, c.Chill, math.Sqrt(sse[k]/float64(n)), c.Weight)
	}
	years := map[string]map[int]bool{}
	trees := map[string]map[string]bool{}
	sum, count := map[string]float64{}, map[string]float64{}
	for _, b := range h.buds {
		if b.bud < 0 || b.year > 2002 {
			continue
		}
		if years[b.code] == nil {
			years[b.code], trees[b.code] = map[int]bool{}, map[string]bool{}
		}
		years[b.code][b.year], trees[b.code][b.tree] = true, true
		for k := range fit.curves {
			sum[b.code] += fit.curves[k].Weight * clocks[k][b.year][b.bud]
		}
		count[b.code]++
	}
	for c := range sum {
		fit.day[c] = sum[c] / count[c]
		if strings.HasPrefix(harvardNames[c], "Pinus ") {
			// Half of a pine's buds show green when the needles part.
			fit.day[c] -= loadPriors().lags[NeedlesSeparating].Days
		}
		fit.trees[c], fit.springs[c] = len(trees[c]), len(years[c])
	}
	return fit
}

const provenance = "# Fitted by TestFit -update to Harvard Forest: O'Keefe, HF003 (bud break 1990-2002), and Boose and Gould, HF000 (Shaler station\n# 1964-2002), Harvard Forest Data Archive. %s\n"

// TestFit fits the priors anew and compares them with the embedded ones, or
// writes them with -update.
func TestFit(t *testing.T) {
	h := readHarvard(t)
	fit := fitReference(t, h)
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
	const spread = 3.0 // of a species between places; from memory
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
			// Springs stray by 3, trees by 2.5 days: the error of the mean.
			v := spread*spread + 9/float64(fit.springs[code]) + 6.25/float64(fit.trees[code])
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
