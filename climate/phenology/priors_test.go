package phenology

import (
	"math"
	"strings"
	"testing"
)

// TestPriors checks what the embedded tables promise one another.
func TestPriors(t *testing.T) {
	p := loadPriors()
	total := 0.0
	for k, c := range p.curves {
		if c.Form != calendar {
			total += c.Weight
		}
		if len(p.courses[k]) < 250 {
			t.Errorf("curve %d: a course of %d days", k, len(p.courses[k]))
		}
		for d := 1; d < len(p.courses[k]); d++ {
			if p.courses[k][d] < p.courses[k][d-1] {
				t.Fatalf("curve %d: its course falls on day %d", k, d)
			}
		}
		if c.Form != sigmoid && c.Form != linear && (c.Form != calendar || k != len(p.curves)-1) {
			t.Errorf("curve %d: form %q", k, c.Form)
		}
	}
	if math.Abs(total-1) > 1e-3 {
		t.Errorf("weights sum to %v", total)
	}
	for _, g := range Groups() {
		for _, phase := range g.Phases() {
			_, spring := p.lags[phase]
			_, autumn := p.autumn[phase]
			if phase != Flowering && spring == autumn {
				t.Errorf("%s: want it in one of phases.csv and autumn.csv", phase)
			}
		}
	}
	for _, flush := range []Flush{VeryEarly, Early, Middle, Late, VeryLate} {
		if p.flush[flush].SD == 0 {
			t.Errorf("no class %s", flush)
		}
	}
	for _, name := range []string{"place", "tree", "spring", "species-spring", "error"} {
		if p.spread[name] == 0 {
			t.Errorf("no spread of %s", name)
		}
	}
	for _, name := range []string{"days", "nights", "chill", "flowering"} {
		if p.thresholds[name].SD == 0 {
			t.Errorf("no threshold of %s", name)
		}
	}
}

// TestPriorsAreChecked: a table with a fault is refused, naming table, row and value.
func TestPriorsAreChecked(t *testing.T) {
	for _, c := range []struct{ table, text, want string }{
		{"curves", "form,w\nsigmoid,0.5\n", "no column m"},
		{"curves", "form,w,m,q,start,p,chill,weight\nsigmoid,2,10,0.2,0,4,0,1\n", `row 1: w "2": want a number from 0.5 to 1`},
		{"species", "species,day,sd,trees,springs\nAcer,x,1,1,1\n", `day "x"`},
		{"spreads", "of,sd\n\"place,5\n", "spreads.csv"},
	} {
		_, err := readPriors(func(name string) ([]byte, error) {
			if name == c.table {
				return []byte(c.text), nil
			}
			return priorFiles.ReadFile("priors/" + name + ".csv")
		})
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: error %v: want %q in it", c.table, err, c.want)
		}
	}
}

// TestClasses checks the days of the classes of flushing against fitted species
// whose class is common practice, no published source (trade knowledge: elder is
// among the first; hawthorn, birch and shadbush early; maple between; beech and
// oak late; ash and hemlock last).
func TestClasses(t *testing.T) {
	p := loadPriors()
	sum, count := map[Flush]float64{}, map[Flush]float64{}
	for genus, flush := range map[string]Flush{
		"Sambucus": VeryEarly, "Crataegus": Early, "Betula": Early, "Amelanchier": Early, "Populus": Early,
		"Acer": Middle, "Hamamelis": Middle, "Fagus": Late, "Quercus": Late, "Castanea": Late,
		"Fraxinus": VeryLate, "Tsuga": VeryLate, "Nyssa": VeryLate,
	} {
		g, class := p.likely(Habit{Species: genus + " nova"}), p.flush[flush]
		if math.Abs(g.Day-class.Day) > 2*class.SD {
			t.Errorf("%s breaks bud on day %.0f, its class %s on day %.0f, SD %.0f", genus, g.Day, flush, class.Day, class.SD)
		}
		sum[flush] += g.Day
		count[flush]++
	}
	for flush, n := range count {
		if mean := sum[flush] / n; math.Abs(mean-p.flush[flush].Day) > 5 {
			t.Errorf("class %s is on day %.0f, its fitted genera on day %.0f", flush, p.flush[flush].Day, mean)
		}
	}
}

// TestOrigins: what is not fitted is told earlier, but for what is native to North America.
func TestOrigins(t *testing.T) {
	p := loadPriors()
	for species, days := range map[string]float64{
		"Fagus sylvatica": -4.5, "Acer palmatum": -4.5, "": -4.5, "Larix laricina": 0, "Taxodium distichum": 0, "Acer rubrum": 0,
	} {
		h := Habit{Species: species, Group: Deciduous, Flush: Middle}
		want := p.likely(h).Day + days
		if v, ok := p.species[species]; ok {
			want = v.Day
		}
		if got := p.of(h).Day; math.Abs(got-want) > 1e-9 {
			t.Errorf("%q: day %v, want %v", species, got, want)
		}
	}
	if sd := p.of(Habit{Species: "Fagus sylvatica", Group: Deciduous, Flush: Late}).SD; sd < leastJoint || sd > 6 {
		t.Errorf("told by kin and class with a standard deviation of %v days", sd)
	}
}

// TestLeafSize checks the lags of leaf-out and of hardening against the day on
// which leaves reached 75 % of their size at Harvard Forest (HF003): first leaves
// unfold well before it, and leaves harden after it.
func TestLeafSize(t *testing.T) {
	h := readHarvard(t)
	var gaps []float64
	for _, b := range h.buds {
		if b.bud >= 0 && b.leaf > b.bud && budPhase(b.code) == BudBreak {
			gaps = append(gaps, float64(b.leaf-b.bud))
		}
	}
	p := loadPriors()
	gap := average(gaps)
	t.Logf("75 %% of leaf size comes %.1f days after bud break (%d plant-springs); leaf-out is put at %g, hardening at %g",
		gap, len(gaps), p.lags[LeafOut].Days, p.lags[LeavesHardened].Days)
	if len(gaps) < 1000 || p.lags[LeafOut].Days > 0.5*gap || p.lags[LeavesHardened].Days < gap+10 || p.lags[LeavesHardened].Days > gap+40 {
		t.Error("the lags do not fit the leaves' growth")
	}
}

// TestRelatives checks what relatives tell of genera of which nothing was fitted against what Panchen et al.
// 2014, New Phytologist 203:1208, found in eight gardens (abstract, looked up): shrubs before trees, ring-porous wood
// late, evergreens and conifers late. No sign of these was imposed on the fit.
func TestRelatives(t *testing.T) {
	p := loadPriors()
	fitted := map[string]bool{}
	for name := range p.species {
		genus, _, _ := strings.Cut(name, " ")
		fitted[genus] = true
	}
	for i, c := range []struct {
		trait string
		later bool
	}{{"shrub", false}, {"evergreen", true}, {"conifer", true}, {"ring-porous", true}} {
		sum, n := map[bool]float64{}, map[bool]float64{}
		for genus, k := range p.genera {
			// The trait alone: shrubs and porous wood among what sheds its leaves.
			if fitted[genus] || i%3 == 0 && k.Traits[1] == 1 || i == 0 && k.Traits[3] == 1 || i == 3 && k.Traits[0] == 1 {
				continue
			}
			has := k.Traits[i] == 1
			sum[has] += p.of(Habit{Species: genus + " nova"}).Day
			n[has]++
		}
		with, without := sum[true]/n[true], sum[false]/n[false]
		t.Logf("%s: day %.1f, others %.1f", c.trait, with, without)
		if (with > without) != c.later {
			t.Errorf("%s: day %.1f, others %.1f", c.trait, with, without)
		}
	}
}
