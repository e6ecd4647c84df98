package phenology

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"slices"
	"strings"
	"testing"
)

// TestFigures compares docs/figures.md and docs/reliability.svg with what the data give, or
// writes them with -update.
func TestFigures(t *testing.T) {
	r := backtestHarvard(t)
	for name, text := range map[string]string{
		"docs/figures.md":      figures(r, judgeUnknown(t), judgeOther(t)),
		"docs/reliability.svg": reliability(r.Leads),
	} {
		if *update {
			if err := os.WriteFile(name, []byte(text), 0o644); err != nil {
				t.Fatal(err)
			}
			continue
		}
		have, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		if string(have) != text {
			t.Errorf("%s is not what the data give: run go test ./climate/phenology -run TestFigures -update", name)
		}
	}
}

func figures(r *Report, unknown []unknownSpecies, other []otherPlace) string {
	var b strings.Builder
	p := func(format string, args ...any) { fmt.Fprintf(&b, format+"\n", args...) }
	p("# How good the forecasts are")
	p("")
	p("Written by `go test ./climate/phenology -run TestFigures -update` from the Harvard Forest Data Archive's HF003 (O'Keefe) and HF000")
	p("(Boose and Gould). What is nested and what is not, and what was tried, is told in [method.md](method.md). The first two tables are also what")
	p("")
	p("    budswell backtest --weather daily.csv --sightings budbreak.csv --doy-column bb_doy --phase bud-break --lat 42.54 --lon -72.18")
	p("")
	p("prints. Bud break of %d species with three plants and ten springs at least, %d plant-springs, %d to %d; each spring is left out in turn.",
		countOf(r, func(c Case) string { return c.Species }), r.Hindcast.N, r.Years[0], r.Years[len(r.Years)-1])
	p("Days. RMSE of the median (of the hindcast: of the clock's middle), bias: told less seen, CRPS: continuous ranked probability score, 80 %%:")
	p("share of dates inside the 10 to 90 %% interval. 13 springs are 13 cases: differences of 0.3 in RMSE and 0.15 in CRPS are noise.")
	p("")
	p("## The spring's weather known")
	p("")
	p("| | RMSE | bias | CRPS | 80 %% |")
	p("|---|---|---|---|---|")
	low, high := resampled(r)
	p("| aim | 4.60 | | | |")
	p("| **with each tree's own difference** | **%.2f** (90 %% interval, springs resampled: %.1f to %.1f) | %+.2f | %.2f | %.0f |",
		r.Hindcast.RMSE, low, high, r.Hindcast.Bias, r.Hindcast.CRPS, 100*r.Hindcast.Coverage80)
	p("| mean date of species and tree, robust | %.2f | %+.2f | %.2f | %.0f |", r.Baseline.RMSE, r.Baseline.Bias, r.Baseline.CRPS, 100*r.Baseline.Coverage80)
	p("")
	p("By spring, RMSE and bias: %s.", bySpring(r))
	p("")
	p("## Forecasts")
	p("")
	p("Issued so many days before the mean date of the species in the other springs; with the weather up to that day, the other")
	p("seasons as what may follow, and what was seen by then of the other plants of the species. Whether the plant itself had opened is withheld;")
	p("\"closed\" are those that had not, told so.")
	p("")
	p("| days before | aim, CRPS | RMSE | bias | **CRPS** | 80 %% | mean date, CRPS | closed: n | CRPS | 80 %% |")
	p("|---|---|---|---|---|---|---|---|---|---|")
	aims := map[int]string{60: "3.65", 30: "3.40", 15: "2.95", 7: "2.30"}
	for _, l := range r.Leads {
		p("| %d | %s | %.2f | %+.2f | **%.3f** | %.1f | %.2f | %d | %.2f | %.1f |", l.Days, aims[l.Days], l.Score.RMSE, l.Score.Bias, l.Score.CRPS,
			100*l.Score.Coverage80, l.Baseline.CRPS, l.Closed.N, l.Closed.CRPS, 100*l.Closed.Coverage80)
	}
	p("")
	p("Skill beyond a month is nearly nil. Reliability: share of dates, in %%, that lie in each tenth of their forecasts (10 is perfect);")
	p("[reliability.svg](reliability.svg) shows the sums.")
	p("")
	p("| days before | 1 | 2 | 3 | 4 | 5 | 6 | 7 | 8 | 9 | 10 |")
	p("|---|---|---|---|---|---|---|---|---|---|---|")
	for _, l := range r.Leads {
		fmt.Fprintf(&b, "| %d ", l.Days)
		for _, d := range deciles(l.Score.Ranks) {
			fmt.Fprintf(&b, "| %.0f ", 100*d)
		}
		p("|")
	}
	p("")
	p("## A species that was not fitted")
	p("")
	p("Each species and each spring left out in turn, and n springs of the very tree told (two draws of them a case); the spring's weather known.")
	p("At n = 0 only traits, family and genus tell.")
	p("")
	p("| n | cases | aim | **RMSE** | 80 %% |")
	p("|---|---|---|---|---|")
	for _, u := range unknown {
		p("| %d | %d | %.1f | **%.2f** | %.0f |", u.sightings, u.n, u.goal, u.rmse, 100*u.inside)
	}
	p("")
	p("## Another place")
	p("")
	p("Simulated: some springs and species of Harvard Forest are all that is seen of a place, and its other springs are asked for, their weather")
	p("known. It is the same station, so this tests the learning, not the transfer. RMSE over so many places drawn.")
	p("")
	p("| springs | species | places | **curves weighed by the place** | wide prior as it is | best degree-days fitted there | best curve of all fitted there | mean date |")
	p("|---|---|---|---|---|---|---|---|")
	for _, o := range other {
		p("| %d | %d | %d | **%.2f** | %.2f | %.2f | %.2f | %.2f |", o.springs, o.species, o.places, o.ours, o.prior, o.degreeDays, o.single, o.mean)
	}
	return b.String()
}

func countOf(r *Report, of func(Case) string) int {
	set := map[string]bool{}
	for _, c := range r.Cases {
		set[of(c)] = true
	}
	return len(set)
}

// squares returns the misses of each spring.
func misses(r *Report) map[int][]float64 {
	out := map[int][]float64{}
	for _, c := range r.Cases {
		out[c.Year] = append(out[c.Year], c.Told-c.Seen)
	}
	return out
}

func rms(v []float64) float64 {
	s := 0.0
	for _, x := range v {
		s += x * x
	}
	return math.Sqrt(s / float64(len(v)))
}

func bySpring(r *Report) string {
	var parts []string
	m := misses(r)
	for _, y := range r.Years {
		parts = append(parts, fmt.Sprintf("%d %.1f %+.1f", y, rms(m[y]), average(m[y])))
	}
	return strings.Join(parts, "; ")
}

// resampled returns the middle 90 % of the RMSE when springs are drawn anew.
func resampled(r *Report) (low, high float64) {
	const draws = 2000
	random := rand.New(rand.NewPCG(3, 3))
	m := misses(r)
	out := make([]float64, draws)
	for i := range out {
		var all []float64
		for range r.Years {
			all = append(all, m[r.Years[random.IntN(len(r.Years))]]...)
		}
		out[i] = rms(all)
	}
	slices.Sort(out)
	return out[draws/20], out[draws-draws/20]
}

// reliability draws, for each lead, how many dates came by the day by which a share
// of them was to have come.
func reliability(leads []Lead) string {
	const size, margin = 320.0, 48.0
	colours := []string{"#444", "#06c", "#c60", "#082"}
	var b strings.Builder
	fmt.Fprintf(&b, `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 %g %g" font-family="sans-serif" font-size="12">`+"\n", size+margin+16, size+margin+16)
	b.WriteString("<title>Share of dates that had come by the day by which a share of the forecast lies</title>\n")
	fmt.Fprintf(&b, `<rect width="100%%" height="100%%" fill="white"/><g transform="translate(%g,16)">`+"\n", margin)
	for i := 0; i <= 10; i += 2 {
		x := float64(i) / 10 * size
		fmt.Fprintf(&b, `<path d="M%g 0V%g M0 %gH%g" stroke="#ddd"/><text x="%g" y="%g" text-anchor="middle">%d</text><text x="-6" y="%g" text-anchor="end">%d</text>`+"\n",
			x, size, size-x, size, x, size+16, 10*i, size-x+4, 10*i)
	}
	fmt.Fprintf(&b, `<path d="M0 %gL%g 0" stroke="#999"/>`+"\n", size, size)
	for k, l := range leads {
		d := deciles(l.Score.Ranks)
		sum := 0.0
		fmt.Fprintf(&b, `<path fill="none" stroke="%s" stroke-width="2" d="M0 %g`, colours[k%len(colours)], size)
		for i, share := range d {
			sum += share
			fmt.Fprintf(&b, "L%g %.1f", float64(i+1)/10*size, (1-sum)*size)
		}
		fmt.Fprintf(&b, `"/><text x="12" y="%d" fill="%s">%d days before</text>`+"\n", 20+16*k, colours[k%len(colours)], l.Days)
	}
	fmt.Fprintf(&b, `<text x="%g" y="%g" text-anchor="middle">share of the forecast, %%</text>`, size/2, size+30)
	fmt.Fprintf(&b, `<text transform="translate(-32,%g) rotate(-90)" text-anchor="middle">share of the dates, %%</text></g></svg>`+"\n", size/2)
	return b.String()
}
