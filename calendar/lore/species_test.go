package lore_test

import (
	"bytes"
	"encoding/csv"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/goccy/go-yaml"

	"budswell/calendar"
	"budswell/climate/phenology"
)

// speciesRow is a species and the file that it stands in.
type speciesRow struct {
	calendar.Species
	file string
}

// readSpeciesRows reads the species files as they are, without the package's loader, so
// that a fault of the loader cannot hide one of the data.
func readSpeciesRows(t *testing.T) []speciesRow {
	t.Helper()
	files, err := filepath.Glob("species/*.yaml")
	if err != nil || len(files) == 0 {
		t.Fatalf("no species files: %v", err)
	}
	var rows []speciesRow
	for _, f := range files {
		b, err := os.ReadFile(f)
		if err != nil {
			t.Fatal(err)
		}
		if !bytes.HasPrefix(b, []byte("# ")) || !bytes.Contains(b, []byte("Apache-2.0")) {
			t.Errorf("%s: no comment at its head naming units and licence", f)
		}
		var doc struct {
			Species []calendar.Species `yaml:"species"`
		}
		if err := yaml.NewDecoder(bytes.NewReader(b), yaml.Strict()).Decode(&doc); err != nil {
			t.Fatalf("%s: %v", f, err)
		}
		for _, s := range doc.Species {
			rows = append(rows, speciesRow{s, filepath.Base(f)})
		}
	}
	return rows
}

// binomial is a genus and an epithet, of a hybrid with its sign, then at most
// one subspecies, variety or cultivar group.
var binomial = regexp.MustCompile(`^\p{Lu}\p{Ll}+ ([x×] )?\p{Ll}+(-\p{Ll}+)*( (subsp\.|var\.) \p{Ll}+(-\p{Ll}+)*| \p{Lu}\p{Ll}+ Group)?$`)

func TestSpeciesRows(t *testing.T) {
	flushes := []phenology.Flush{
		"", phenology.VeryEarly, phenology.Early, phenology.Middle, phenology.Late, phenology.VeryLate,
	}
	fields := []string{
		"name", "synonyms", "common", "group", "flush", "flower_weeks", "traits", "roots_killed_below", "crown_hardy",
		"repot", "back_buds", "root_work", "new_growth", "bleeding", "poison", "pests",
	}
	for _, r := range readSpeciesRows(t) {
		t.Run(r.Name, func(t *testing.T) {
			for _, n := range append([]string{r.Name}, r.Synonyms...) {
				if !binomial.MatchString(n) {
					t.Errorf("%q is no botanical name", n)
				}
			}
			if len(r.Common) == 0 {
				t.Error("no common name")
			}
			if !slices.Contains(phenology.Groups(), r.Group) {
				t.Errorf("group %q is unknown", r.Group)
			}
			if !strings.HasPrefix(r.file, string(r.Group)) {
				t.Errorf("stands in %s, but its group is %s", r.file, r.Group)
			}
			if !slices.Contains(flushes, r.Flush) {
				t.Errorf("flush %q is unknown", r.Flush)
			}
			for i, v := range r.Traits {
				if !slices.Contains(calendar.Traits(), v) || slices.Contains(r.Traits[:i], v) {
					t.Errorf("trait %q is unknown or stands twice", v)
				}
			}
			if r.Source == "" {
				t.Error("no source")
			}
			for f, s := range r.Sources {
				if !slices.Contains(fields, f) || s == "" {
					t.Errorf("sources: field %q is unknown or its source %q empty", f, s)
				}
			}
			checkSpeciesNumbers(t, &r.Species)
		})
	}
}

// poisonous are genera of whose sap, leaves or seed people are warned, from memory.
var poisonous = []string{
	"Buxus", "Euphorbia", "Ficus", "Kalmia", "Laburnum", "Lyonia", "Pieris", "Platycladus", "Rhododendron", "Taxus", "Thuja", "Wisteria",
}

// Poisonous genera carry a warning, and conifers are not bare-rooted, but for the
// swamp cypress and the dawn redwood, which stand it (common practice, no
// published source).
func TestSpeciesTraitsOfGenera(t *testing.T) {
	for _, r := range readSpeciesRows(t) {
		genus, _, _ := strings.Cut(r.Name, " ")
		if slices.Contains(poisonous, genus) && !r.Has(calendar.ToxicSap) && !r.Has(calendar.ToxicSeed) {
			t.Errorf("%s: no warning of poison", r.Name)
		}
		stands := genus == "Taxodium" || genus == "Metasequoia"
		if r.Conifer() && r.Has(calendar.NoBareRoot) == stands {
			t.Errorf("%s: no-bare-root is %v", r.Name, !stands)
		}
	}
}

func checkSpeciesNumbers(t *testing.T, s *calendar.Species) {
	t.Helper()
	within := func(field string, v *float64, lo, hi float64) {
		if v != nil && !(lo <= *v && *v <= hi) {
			t.Errorf("%s %g is outside %g..%g", field, *v, lo, hi)
		}
	}
	within("flower_weeks", s.FlowerWeeks, -10, 30)
	within("roots_killed_below", s.RootsKilledBelow, -30, 10)
	within("crown_hardy", s.CrownHardy, -60, 15)

	flowers := slices.Contains(s.Group.Phases(), phenology.Flowering)
	if s.FlowerWeeks != nil && !flowers {
		t.Errorf("flower_weeks: the group %s has no phase of flowering", s.Group)
	}
	if s.Has(calendar.WorkedAfterFlowering) && s.FlowerWeeks == nil {
		t.Error("worked after flowering, but flower_weeks is not given")
	}
	if r := s.RootsKilledBelow; r != nil {
		if s.Sources["roots_killed_below"] == "" {
			t.Error("roots_killed_below needs a source of its own")
		}
		if s.CrownHardy != nil && *r < *s.CrownHardy {
			t.Errorf("roots stand %g, the crown only %g: roots stand less cold than the crown", *r, *s.CrownHardy)
		}
		if hardy := *r <= -15; hardy != s.Has(calendar.FrostHardyRoots) {
			t.Errorf("roots are killed below %g, but the trait hardy-roots is %v", *r, !hardy)
		}
	}
}

func TestSpeciesNamesAreDistinct(t *testing.T) {
	botanical, common := map[string]string{}, map[string]string{}
	for _, r := range readSpeciesRows(t) {
		for _, n := range append([]string{r.Name}, r.Synonyms...) {
			k := strings.ToLower(n)
			if by, ok := botanical[k]; ok {
				t.Errorf("%q is a name of both %s and %s", n, by, r.Name)
			}
			botanical[k] = r.Name
		}
		for _, n := range r.Common {
			k := strings.ToLower(n)
			if by, ok := common[k]; ok {
				t.Errorf("%q is a common name of both %s and %s", n, by, r.Name)
			}
			common[k] = r.Name
		}
	}
}

func TestSpeciesOfEveryGroup(t *testing.T) {
	least := map[phenology.Group]int{
		phenology.Deciduous: 45, phenology.DeciduousConifer: 5, phenology.SingleFlushPine: 9,
		phenology.MultiFlushPine: 4, phenology.SpruceFir: 12, phenology.JuniperCypress: 9,
		phenology.BroadleafEvergreen: 12, phenology.FrostTender: 7,
	}
	n := map[phenology.Group]int{}
	for _, r := range readSpeciesRows(t) {
		n[r.Group]++
	}
	for _, g := range phenology.Groups() {
		if n[g] < least[g] {
			t.Errorf("%s: %d species, fewer than %d", g, n[g], least[g])
		}
	}
}

// harvardForest names the species of the bud break series HF003; the plants that
// it names by genus only are entered as the likeliest kind that is also trained.
var harvardForest = map[string]string{
	"ACPE": "Acer pensylvanicum", "ACRU": "Acer rubrum", "ACSA": "Acer saccharum",
	"AMSP": "Amelanchier laevis", "ARSP": "Aronia melanocarpa", "BEAL": "Betula alleghaniensis",
	"BELE": "Betula lenta", "BEPA": "Betula papyrifera", "BEPO": "Betula populifolia",
	"CADE": "Castanea dentata", "COAL": "Cornus alternifolia", "CRSP": "Crataegus crus-galli",
	"FAGR": "Fagus grandifolia", "FRAM": "Fraxinus americana", "HAVI": "Hamamelis virginiana",
	"ILVE": "Ilex verticillata", "KAAN": "Kalmia angustifolia", "KALA": "Kalmia latifolia",
	"LYLI": "Lyonia ligustrina", "NEMU": "Ilex mucronata", "NYSY": "Nyssa sylvatica",
	"PIST": "Pinus strobus", "POTR": "Populus tremuloides", "PRSE": "Prunus serotina",
	"QUAL": "Quercus alba", "QURU": "Quercus rubra", "QUVE": "Quercus velutina",
	"RHSP": "Rhododendron periclymenoides", "SAPU": "Sambucus racemosa", "TSCA": "Tsuga canadensis",
	"VACO": "Vaccinium corymbosum", "VIAL": "Viburnum lantanoides", "VICA": "Viburnum nudum var. cassinoides",
}

// TestSpeciesFlushAtHarvardForest recomputes the flushing classes of the species
// of HF003 (O'Keefe, Phenology of Woody Species at Harvard Forest since 1990).
func TestSpeciesFlushAtHarvardForest(t *testing.T) {
	means := harvardForestMeans(t)
	if len(means) != len(harvardForest) {
		t.Fatalf("%d species in the data, %d named here", len(means), len(harvardForest))
	}
	rows := map[string]speciesRow{}
	for _, r := range readSpeciesRows(t) {
		rows[r.Name] = r
	}
	for code, day := range means {
		r, ok := rows[harvardForest[code]]
		if !ok {
			t.Errorf("%s (%s) is not among the species", harvardForest[code], code)
			continue
		}
		want := phenology.VeryLate
		switch {
		case day <= 112.7:
			want = phenology.VeryEarly
		case day <= 121.7:
			want = phenology.Early
		case day <= 130.7:
			want = phenology.Middle
		case day <= 139.7:
			want = phenology.Late
		}
		if r.Flush != want {
			t.Errorf("%s: flush %q, but day %.1f at Harvard Forest is %q", r.Name, r.Flush, day, want)
		}
		if d := strconv.FormatFloat(day, 'f', 1, 64); !strings.Contains(r.Sources["flush"], d) {
			t.Errorf("%s: the source of its flush does not name day %s: %q", r.Name, d, r.Sources["flush"])
		}
	}
}

// harvardForestMeans returns each species' mean day of bud break, with the years
// made equal: the least-squares fit of day = species + year.
func harvardForestMeans(t *testing.T) map[string]float64 {
	t.Helper()
	f, err := os.Open(filepath.Join(openData(t), "harvard-forest", "budbreak.csv"))
	if err != nil {
		t.Skipf("skipped, no open data: %v; the Harvard Forest Data Archive publishes it as HF003, set BUDSWELL_DATA to its folder", err)
	}
	defer f.Close()
	recs, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	if !slices.Equal(recs[0][:4], []string{"year", "tree", "species", "bb_doy"}) {
		t.Fatalf("unknown columns %v", recs[0])
	}
	type obs struct {
		species, year string
		day           float64
	}
	var all []obs
	for _, r := range recs[1:] {
		if r[3] == "" {
			continue
		}
		day, err := strconv.ParseFloat(r[3], 64)
		if err != nil {
			t.Fatal(err)
		}
		all = append(all, obs{r[2], r[0], day})
	}
	species, year := map[string]float64{}, map[string]float64{}
	fit := func(key func(obs) string, rest func(obs) float64) map[string]float64 {
		sum, n := map[string]float64{}, map[string]float64{}
		for _, o := range all {
			sum[key(o)] += o.day - rest(o)
			n[key(o)]++
		}
		for k := range sum {
			sum[k] /= n[k]
		}
		return sum
	}
	for range 300 {
		year = fit(func(o obs) string { return o.year }, func(o obs) float64 { return species[o.species] })
		species = fit(func(o obs) string { return o.species }, func(o obs) float64 { return year[o.year] })
	}
	var mean float64
	for _, y := range year {
		mean += y / float64(len(year))
	}
	for k := range species {
		species[k] = math.Round((species[k]+mean)*10) / 10
	}
	return species
}

// openData returns the folder of the open data: BUDSWELL_DATA, or shared/data
// beside the repository.
func openData(t *testing.T) string {
	t.Helper()
	if d := os.Getenv("BUDSWELL_DATA"); d != "" {
		return d
	}
	dir, err := filepath.Abs(".")
	if err != nil {
		t.Fatal(err)
	}
	for {
		if _, err := os.Stat(filepath.Join(dir, "go.mod")); err == nil {
			return filepath.Join(dir, "..", "shared", "data")
		}
		up := filepath.Dir(dir)
		if up == dir {
			t.Fatal("no go.mod above the test")
		}
		dir = up
	}
}
