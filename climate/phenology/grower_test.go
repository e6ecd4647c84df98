package phenology

import (
	"testing"
	"time"

	"budswell/climate"
)

// withoutSpecies are the priors without what was fitted to the species of Harvard Forest.
func withoutSpecies(t testing.TB) *priors {
	p, err := readPriors(func(name string) ([]byte, error) {
		if name == "species" {
			return []byte("species,day,sd,trees,springs\n"), nil
		}
		return priorFiles.ReadFile("priors/" + name + ".csv")
	})
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// TestForecast issues forecasts as a grower at Harvard Forest would have had them, through the forecaster
// itself: on two days of April, with the weather read so far, the sightings of earlier springs alone, word that
// the tree is still closed, and nothing fitted to the species. The baseline is the tree's mean date in the earlier springs.
func TestForecast(t *testing.T) {
	skipApart(t)
	h := readHarvard(t)
	p := withoutSpecies(t)
	all := h.trial().Sightings
	for _, day := range []climate.MonthDay{{Month: time.April, Day: 5}, {Month: time.April, Day: 25}} {
		var squares, meanSquares, n, inside float64
		for _, year := range []int{1994, 1996, 1998, 2000, 2001} {
			issue := day.In(year)
			o, err := (&climate.Weather{Record: h.raw}).Outlook(h.site, issue)
			if err != nil {
				t.Fatal(err)
			}
			sum, count := map[string]float64{}, map[string]float64{}
			var seen, targets []Sighting
			for _, s := range all {
				switch season := h.site.Season(s.On); {
				case season < year:
					seen = append(seen, s)
					sum[s.Tree] += float64(s.On - h.site.SeasonStart(season))
					count[s.Tree]++
				case season == year && s.On > issue:
					targets = append(targets, s)
					seen = append(seen, Sighting{s.Tree, s.Species, BudBreak, climate.NoDate, issue})
				}
			}
			f, err := newForecaster(o, seen, nil, p)
			if err != nil {
				t.Fatal(err)
			}
			for _, s := range targets {
				if count[s.Tree] == 0 {
					continue
				}
				season, err := f.Season(Habit{Species: s.Species, Group: Deciduous}, s.Tree, year)
				if err != nil {
					t.Fatal(err)
				}
				spread, ok := season.Phases[BudBreak].Dates.Spread()
				if !ok {
					t.Fatalf("%d: no bud break of %s", year, s.Tree)
				}
				miss := float64(spread.P50 - s.On)
				squares += miss * miss
				mean := h.site.SeasonStart(year) + climate.Date(sum[s.Tree]/count[s.Tree]+0.5)
				meanSquares += float64(mean-s.On) * float64(mean-s.On)
				n++
				if spread.P10 <= s.On && s.On <= spread.P90 {
					inside++
				}
			}
		}
		t.Logf("issued %v: %g plant-springs, mean square miss %.1f, of the tree's mean date so far %.1f; 80 %% interval holds %.0f %%",
			day, n, squares/n, meanSquares/n, 100*inside/n)
		if squares > 0.85*meanSquares {
			t.Errorf("issued %v: mean square miss %.1f, of the mean date %.1f", day, squares/n, meanSquares/n)
		}
		if cover := inside / n; cover < 0.7 || cover > 0.92 {
			t.Errorf("issued %v: the 80 %% interval holds %.2f", day, cover)
		}
	}
}
