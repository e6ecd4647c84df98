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

// TestForecast issues forecasts as a grower would have had them: on a day of
// April with the weather read so far, what followed in other years, the sightings
// of earlier springs, and word that the tree is still closed.
func TestForecast(t *testing.T) {
	h := readHarvard(t)
	lab := newLaboratory(t, h)
	full := h.full()
	for _, day := range []climate.MonthDay{{Month: time.April, Day: 5}, {Month: time.April, Day: 25}} {
		var errors, meanErrors []float64
		inside := 0
		for year := 1995; year <= 2001; year++ {
			issue := day.In(year)
			o, err := (&climate.Weather{Record: h.raw}).Outlook(h.site, issue)
			if err != nil {
				t.Fatal(err)
			}
			var targets []bud
			sum, count := map[string]float64{}, map[string]float64{}
			var seen []Sighting
			for _, s := range lab.sightings(year) {
				if s.On < h.site.SeasonStart(year) {
					seen = append(seen, s)
				}
			}
			for _, b := range lab.springs(0) {
				if b.year < year {
					sum[b.tree] += float64(b.bud)
					count[b.tree]++
				}
				if b.year == year && full[b.code] && budPhase(b.code) == BudBreak && h.site.SeasonStart(year)+climate.Date(b.bud) > issue {
					targets = append(targets, b)
					seen = append(seen, Sighting{b.tree, harvardNames[b.code], BudBreak, climate.NoDate, issue})
				}
			}
			f, err := newForecaster(o, seen, lab.fit(year).priors(t))
			if err != nil {
				t.Fatal(err)
			}
			for _, b := range targets {
				if count[b.tree] == 0 {
					continue
				}
				s, err := f.Season(Habit{Species: harvardNames[b.code], Group: Deciduous}, b.tree, year)
				if err != nil {
					t.Fatal(err)
				}
				spread, ok := s.Phases[BudBreak].Dates.Spread()
				if !ok {
					t.Fatalf("%d: no bud break of %s", year, b.tree)
				}
				broke := h.site.SeasonStart(year) + climate.Date(b.bud)
				errors = append(errors, float64(spread.P50-broke))
				meanErrors = append(meanErrors, sum[b.tree]/count[b.tree]-float64(b.bud))
				if spread.P10 <= broke && broke <= spread.P90 {
					inside++
				}
			}
		}
		cover := float64(inside) / float64(len(errors))
		t.Logf("issued %v: %d plant-springs, RMSE %.2f days, bias %+.2f, 80 %% band holds %.0f %%; the tree's mean date so far %.2f",
			day, len(errors), rms(errors), average(errors), 100*cover, rms(meanErrors))
		if rms(errors) > rms(meanErrors) {
			t.Errorf("issued %v: RMSE %.2f, of the mean date %.2f", day, rms(errors), rms(meanErrors))
		}
		if cover < 0.7 || cover > 0.95 {
			t.Errorf("issued %v: the 80 %% band holds %.2f", day, cover)
		}
	}
}
