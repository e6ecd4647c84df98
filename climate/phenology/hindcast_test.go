package phenology

import (
	"math"
	"testing"
	"time"

	"budswell/climate"
)

// outlook is the weather known on issue, with pairs of seasons of 1965-1989 as
// what may follow: none in which a bud was observed.
func (h *harvard) outlook(t testing.TB, issue climate.Date) *climate.Outlook {
	o := &climate.Outlook{Site: h.site, Issue: issue, Record: h.record.Until(issue)}
	o.First = h.site.SeasonStart(h.site.Season(issue)-1) - winterDays
	n := int(issue + 750 - o.First)
	following := h.site.Season(issue)
	for y := 1965; y < 1989; y++ {
		m := climate.Member{Year: y, Tmin: make([]float64, n), Tmax: make([]float64, n)}
		for k := range n {
			d := o.First + climate.Date(k)
			day := o.Record.At(d)
			if d > issue {
				day = h.record.At(climate.NewDate(y+(d.Year()-following)%2, d.Month(), d.Day()))
			}
			m.Tmin[k], m.Tmax[k] = day.Tmin, day.Tmax
		}
		o.Members = append(o.Members, m)
	}
	return o
}

// sightings makes the bud breaks of all springs but one into sightings.
func (lab *laboratory) sightings(without int) []Sighting {
	var out []Sighting
	for _, b := range lab.springs(without) {
		out = append(out, Sighting{
			Tree: b.tree, Species: harvardNames[b.code], Phase: budPhase(b.code),
			On: lab.harvard.site.SeasonStart(b.year) + climate.Date(b.bud), NotYet: climate.NoDate,
		})
	}
	return out
}

// priors makes what was fitted into priors, as the embedded tables would.
func (fit *fitted) priors(t testing.TB) *priors {
	text := fit.tables()
	p, err := readPriors(func(name string) ([]byte, error) {
		if s, ok := text[name]; ok {
			return []byte(s), nil
		}
		return priorFiles.ReadFile("priors/" + name + ".csv")
	})
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// TestHindcast leaves each spring of 1990-2002 out in turn: curves, weights,
// species and sightings know the other springs only; with the left-out spring's
// weather the bud break of every tree is told. The baseline, the tree's and the
// species' mean date, is computed on the same cases.
func TestHindcast(t *testing.T) {
	h := readHarvard(t)
	lab := newLaboratory(t, h)
	full := h.full()
	o := h.outlook(t, climate.NewDate(2002, time.June, 30))
	var errors, meanErrors, standard []float64
	inside := 0
	for year := 1990; year <= 2002; year++ {
		f, err := newForecaster(o, lab.sightings(year), lab.fit(year).priors(t))
		if err != nil {
			t.Fatal(err)
		}
		clock, ok := f.pastClock(year)
		if !ok {
			t.Fatal("no clock of", year)
		}
		sum, count := map[string]float64{}, map[string]float64{}
		for _, b := range lab.springs(year) {
			for _, key := range []string{b.tree, b.code} {
				sum[key] += float64(b.bud)
				count[key]++
			}
		}
		for _, b := range lab.springs(0) {
			if b.year != year || !full[b.code] {
				continue
			}
			habit := Habit{Species: harvardNames[b.code], Group: Deciduous}
			d, ok := f.budBreak(habit, b.tree, year)
			if !ok {
				t.Fatal("no bud break of", b.tree)
			}
			prior, _ := f.priors.of(habit.Species, "")
			at, _, _ := f.expect(prior.Day, budPhase(b.code))
			bud, _, _ := f.expect(prior.Day, BudBreak)
			x := d.mean + at - bud
			day, _ := clock.reach(x)
			errors = append(errors, math.Round(day)-float64(b.bud))
			z := (clock.at(b.bud) - x) / math.Sqrt(d.variance)
			standard = append(standard, z)
			if math.Abs(z) < 1.2816 {
				inside++
			}
			// The tree's mean date, shrunken towards the species' with weight 2.
			species := sum[b.code] / count[b.code]
			expected := (sum[b.tree] + 2*species) / (count[b.tree] + 2)
			meanErrors = append(meanErrors, expected-float64(b.bud))
		}
	}
	n := float64(len(errors))
	t.Logf("%d plant-springs: RMSE %.2f days, bias %+.2f; mean date %.2f; 80 %% band holds %.0f %%; standardized error %.2f",
		len(errors), rms(errors), average(errors), rms(meanErrors), 100*float64(inside)/n, rms(standard))
	if len(errors) < 1300 {
		t.Errorf("%d plant-springs: want some 1,368", len(errors))
	}
	if rms(errors) > 6 || rms(errors) > rms(meanErrors)-1 {
		t.Errorf("RMSE %.2f days: want below 6.0, and a day below that of the mean date, %.2f", rms(errors), rms(meanErrors))
	}
	if share := float64(inside) / n; share < 0.74 || share > 0.88 {
		t.Errorf("80 %% band holds %.2f", share)
	}
}

func rms(v []float64) float64 {
	s := 0.0
	for _, x := range v {
		s += x * x
	}
	return math.Sqrt(s / float64(len(v)))
}

func average(v []float64) float64 {
	s := 0.0
	for _, x := range v {
		s += x
	}
	return s / float64(len(v))
}
