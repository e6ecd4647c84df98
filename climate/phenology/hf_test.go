package phenology

import (
	"encoding/csv"
	"os"
	"path/filepath"
	"strconv"
	"testing"
	"time"

	"budswell/climate"
)

// harvard is what the fits and checks know of Harvard Forest: the Harvard Forest
// Data Archive's HF003 (bud break) and HF000 (weather).
type harvard struct {
	site   climate.Site
	record *climate.Record // gaps filled
	raw    *climate.Record
	buds   []bud
}

type bud struct {
	year       int
	tree, code string
	bud, leaf  int // day of the season, from 0; -1 for none
}

// names of the species codes; those of which the archive gives only the genus
// end in sp.
var harvardNames = map[string]string{
	"ACPE": "Acer pensylvanicum", "ACRU": "Acer rubrum", "ACSA": "Acer saccharum", "AMSP": "Amelanchier sp.",
	"ARSP": "Aronia sp.", "BEAL": "Betula alleghaniensis", "BELE": "Betula lenta", "BEPA": "Betula papyrifera",
	"BEPO": "Betula populifolia", "CADE": "Castanea dentata", "COAL": "Cornus alternifolia", "CRSP": "Crataegus sp.",
	"FAGR": "Fagus grandifolia", "FRAM": "Fraxinus americana", "HAVI": "Hamamelis virginiana", "ILVE": "Ilex verticillata",
	"LYLI": "Lyonia ligustrina", "NEMU": "Ilex mucronata", "NYSY": "Nyssa sylvatica", "PIST": "Pinus strobus",
	"POTR": "Populus tremuloides", "PRSE": "Prunus serotina", "QUAL": "Quercus alba", "QURU": "Quercus rubra",
	"QUVE": "Quercus velutina", "RHSP": "Rhododendron sp.", "SAPU": "Sambucus racemosa", "TSCA": "Tsuga canadensis",
	"VACO": "Vaccinium corymbosum", "VIAL": "Viburnum lantanoides", "VICA": "Viburnum nudum", "KAAN": "Kalmia angustifolia",
	"KALA": "Kalmia latifolia",
}

// openData returns the folder of the open data, or skips the test.
func openData(t testing.TB) string {
	dir := os.Getenv("BUDSWELL_DATA")
	if dir == "" {
		root, err := os.Getwd()
		if err != nil {
			t.Fatal(err)
		}
		for {
			if _, err := os.Stat(filepath.Join(root, "go.mod")); err == nil {
				break
			}
			if root = filepath.Dir(root); root == filepath.Dir(root) {
				t.Fatal("no go.mod above the test")
			}
		}
		dir = filepath.Join(root, "..", "shared", "data")
	}
	return dir
}

// readHarvard reads the data where they lie; the test is skipped where they do not.
func readHarvard(t testing.TB) *harvard {
	dir := filepath.Join(openData(t), "harvard-forest")
	if _, err := os.Stat(filepath.Join(dir, "budbreak.csv")); err != nil {
		t.Skipf("no open data in %s: set BUDSWELL_DATA to a folder that holds harvard-forest with budbreak.csv and daily.csv, "+
			"made from the Harvard Forest Data Archive's HF003 and HF000 (https://harvardforest.fas.harvard.edu)", dir)
	}
	h := &harvard{site: climate.Site{Name: "Harvard Forest", Lat: 42.54, Lon: -72.18, Elevation: 340, Zone: "America/New_York"}}
	rows := func(name string) [][]string {
		f, err := os.Open(filepath.Join(dir, name))
		if err != nil {
			t.Fatal(err)
		}
		defer f.Close()
		lines, err := csv.NewReader(f).ReadAll()
		if err != nil {
			t.Fatal(err)
		}
		return lines[1:]
	}
	whole := func(s string) int {
		if s == "" {
			return 0
		}
		n, err := strconv.Atoi(s)
		if err != nil {
			t.Fatal(err)
		}
		return n
	}
	for _, r := range rows("budbreak.csv") {
		h.buds = append(h.buds, bud{whole(r[0]), r[1], r[2], whole(r[3]) - 1, whole(r[4]) - 1})
	}
	rec := &climate.Record{Source: "HF000"}
	for i, r := range rows("daily.csv") {
		d, err := climate.ParseDate(r[0])
		if err != nil {
			t.Fatal(err)
		}
		if i == 0 {
			rec.First = d
		}
		var day climate.Day
		for k, p := range []*float64{&day.Tmin, &day.Tmax, &day.Prcp} {
			if r[k+1] == "" {
				continue
			}
			if *p, err = strconv.ParseFloat(r[k+1], 64); err != nil {
				t.Fatal(err)
			}
			*[]*climate.Origin{&day.TminOrigin, &day.TmaxOrigin, &day.PrcpOrigin}[k] = climate.Measured
		}
		rec.Days = append(rec.Days, day)
	}
	h.raw = rec
	// What is typical is taken from the years before any bud was observed.
	c, err := rec.Until(climate.NewDate(1989, time.December, 31)).Cycle()
	if err != nil {
		t.Fatal(err)
	}
	h.record = rec.Fill(c)
	return h
}

// full reports the species with three plants and ten springs at least, of
// 1990-2002, on which forecasts are judged.
func (h *harvard) full() map[string]bool {
	trees, years := map[string]map[string]bool{}, map[string]map[int]bool{}
	for _, b := range h.buds {
		if b.bud < 0 || b.year > 2002 {
			continue
		}
		if trees[b.code] == nil {
			trees[b.code], years[b.code] = map[string]bool{}, map[int]bool{}
		}
		trees[b.code][b.tree] = true
		years[b.code][b.year] = true
	}
	out := map[string]bool{}
	for c := range trees {
		if len(trees[c]) >= 3 && len(years[c]) >= 10 {
			out[c] = true
		}
	}
	return out
}

// forcing adds up the development of a single curve.
func (w *weather) forcing(c *curve, chill course) course {
	rates, out := make([]float64, w.days()), make(course, w.days())
	w.rates(c, rates)
	weights := lengths(w.lat, w.start, w.days())
	for i, h := range weights {
		weights[i] = c.dayWeight(i, h)
	}
	c.sum(rates, weights, chill, out)
	return out
}

// trial is the back-test of bud break in the springs of 1990-2002, of the species with
// three plants and ten springs at least.
func (h *harvard) trial(leads ...int) Trial {
	t := Trial{Site: h.site, Record: h.raw, Phase: BudBreak, Leads: leads}
	full := h.full()
	for _, b := range h.buds {
		if b.bud >= 0 && b.year <= 2002 && full[b.code] {
			t.Sightings = append(t.Sightings, Sighting{
				Tree: b.tree, Species: harvardNames[b.code], Phase: BudBreak,
				On: h.site.SeasonStart(b.year) + climate.Date(b.bud), NotYet: climate.NoDate,
			})
		}
	}
	return t
}

func average(v []float64) float64 {
	s := 0.0
	for _, x := range v {
		s += x
	}
	return s / float64(len(v))
}

// skipApart skips the full back-tests of the open data where BUDSWELL_BACKTEST is
// apart: .ci/run sets it for the race detector, which takes ten times as long over them,
// and runs them by themselves.
func skipApart(t testing.TB) {
	if os.Getenv("BUDSWELL_BACKTEST") == "apart" {
		t.Skip("a full back-test: run apart")
	}
}
