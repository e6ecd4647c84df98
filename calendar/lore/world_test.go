package lore_test

import (
	"fmt"
	"math"
	"runtime"
	"slices"
	"strings"
	"sync"
	"testing"

	"budswell/calendar"
	"budswell/calendar/lore"
	"budswell/climate"
	"budswell/climate/atlas"
	"budswell/climate/phenology"
)

// climates are thirty kinds of climate, each at a town that has it; elevations
// from memory.
var climates = []struct {
	kind, town string
	lat, lon   float64
	elevation  float64
}{
	{"boreal", "Kuopio", 62.89, 27.68, 98},
	{"boreal by the sea", "Tromsø", 69.65, 18.96, 30},
	{"extreme continental", "Yakutsk", 62.03, 129.73, 101},
	{"prairie", "Saskatoon", 52.13, -106.67, 482},
	{"cool maritime", "Edinburgh", 55.95, -3.19, 60},
	{"mild maritime", "Plymouth", 50.37, -4.14, 30},
	{"middle Europe", "Frankfurt", 50.11, 8.68, 112},
	{"alpine valley", "Chur", 46.85, 9.53, 593},
	{"high mountain", "Davos", 46.8, 9.84, 1560},
	{"steppe", "Volgograd", 48.72, 44.5, 80},
	{"humid continental", "Worcester, Massachusetts", 42.26, -71.8, 150},
	{"cold winter by the sea", "Sapporo", 43.07, 141.35, 20},
	{"warm temperate, summer rain", "Nagoya", 35.18, 136.9, 20},
	{"hot humid summers", "Atlanta", 33.75, -84.39, 300},
	{"mediterranean coast", "Barcelona", 41.39, 2.16, 20},
	{"mediterranean inland", "Madrid", 40.42, -3.7, 660},
	{"fog coast", "San Francisco", 37.77, -122.42, 30},
	{"high desert", "Santa Fe", 35.69, -105.94, 2190},
	{"hot desert", "Phoenix", 33.45, -112.07, 340},
	{"monsoon plain", "Delhi", 28.65, 77.23, 216},
	{"monsoon hills", "Kathmandu", 27.7, 85.32, 1330},
	{"subtropical, humid", "Hong Kong", 22.28, 114.16, 30},
	{"southern maritime", "Hobart", -42.88, 147.33, 30},
	{"southern highland", "Canberra", -35.28, 149.13, 580},
	{"southern mediterranean", "Cape Town", -33.93, 18.42, 40},
	{"southern, warm and humid", "Buenos Aires", -34.6, -58.38, 25},
	{"southern high plateau", "Johannesburg", -26.2, 28.05, 1750},
	{"highland tropics", "Quito", -0.23, -78.52, 2850},
	{"equatorial lowland", "Singapore", 1.29, 103.85, 15},
	{"tropical savanna", "Darwin", -12.46, 130.84, 30},
}

// placed is a kind of climate with its weather.
type placed struct {
	kind    string
	site    climate.Site
	normals climate.Normals
}

func placesOfWorld(t *testing.T) []placed {
	t.Helper()
	var out []placed
	for _, c := range climates {
		at, err := atlas.At(c.lat, c.lon, &c.elevation)
		if err != nil {
			t.Fatalf("%s: %v", c.town, err)
		}
		zone, err := atlas.Zone(c.lat, c.lon)
		if err != nil {
			t.Fatal(err)
		}
		out = append(out, placed{c.kind, climate.Site{Name: c.town, Lat: c.lat, Lon: c.lon, Elevation: c.elevation, Zone: zone}, at.Normals})
	}
	return out
}

// way is trees, and the ways of doing things that are chosen for them.
type way struct {
	trees  []calendar.Tree
	chosen []string
}

// plansOf plans trees at a place, as on a day, by some ways.
func plansOf(known *calendar.Lore, p *placed, on climate.Date, ways ...way) ([]*calendar.Plan, error) {
	o, err := (&climate.Weather{Normals: &p.normals}).Outlook(p.site, on)
	if err != nil {
		return nil, err
	}
	f, err := phenology.NewForecaster(o, nil)
	if err != nil {
		return nil, err
	}
	var out []*calendar.Plan
	for _, w := range ways {
		planner := calendar.NewPlanner(known, o, f)
		planner.Variants, planner.Shows = w.chosen, shows(known, p.site, on, w.trees)
		plan, err := planner.Plan(w.trees)
		if err != nil {
			return nil, err
		}
		out = append(out, plan)
	}
	return out, nil
}

// world is what came up at the thirty climates.
type world struct {
	known  *calendar.Lore
	places []placed
	plans  [][]*calendar.Plan // by place: by the cautious rules, by all variants, and others
	months [][]*calendar.Plan // by place: of every month, at places that differ
}

var theWorld = sync.OnceValue(func() *world { return &world{} })

// aroundTheWorld plans trees of all kinds, in all stages, at thirty climates, and in
// each month at some.
func aroundTheWorld(t *testing.T) *world {
	t.Helper()
	w := theWorld()
	if w.known != nil {
		return w
	}
	known, err := lore.Load()
	if err != nil {
		t.Fatal(err)
	}
	w.places = placesOfWorld(t)
	w.plans, w.months = make([][]*calendar.Plan, len(w.places)), make([][]*calendar.Plan, len(w.places))
	sideBySide(t, w.places, func(i int, p *placed) error {
		var err error
		if w.plans[i], err = yearOf(known, p); err != nil {
			return err
		}
		w.months[i], err = monthsOf(known, p)
		return err
	})
	w.known = known
	return w
}

// sideBySide does something at all places, at as many at once as there are processors.
func sideBySide(t *testing.T, places []placed, do func(i int, p *placed) error) {
	t.Helper()
	next := make(chan int)
	var planning sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		planning.Go(func() {
			for i := range next {
				if err := do(i, &places[i]); err != nil {
					t.Errorf("%s: %v", places[i].kind, err)
				}
			}
		})
	}
	for i := range places {
		next <- i
	}
	close(next)
	planning.Wait()
	if t.Failed() {
		t.FailNow()
	}
}

// yearOf plans trees of all kinds at a place as its season begins, and some later in it.
func yearOf(known *calendar.Lore, p *placed) ([]*calendar.Plan, error) {
	on := p.site.SeasonStart(2027) + 4
	grown := slices.DeleteFunc(kept(on), func(tree calendar.Tree) bool {
		return tree.Origin != calendar.Nursery || strings.HasSuffix(tree.ID, "-entered") // variants are for grown trees
	})
	ways := []way{{trees: kept(on)}, {grown, variants(known)}, {chosen(on), variants(known)}}
	if slices.Contains(fewPlaces, p.kind) {
		ways = append(ways, way{trees: fewKept(known, on)})
	}
	plans, err := plansOf(known, p, on, ways...)
	if err != nil {
		return nil, err
	}
	// What is dug in spring, and what was not and may be in autumn.
	for _, later := range []struct {
		days climate.Date
		what string
	}{{100, "-just-dug"}, {195, "-in-the-ground"}} {
		on := on + later.days
		more, err := plansOf(known, p, on, way{trees: some(kept(on), later.what)})
		if err != nil {
			return nil, err
		}
		plans = append(plans, more...)
	}
	return plans, nil
}

// monthsOf plans trees of all kinds in every month, at a few places that differ.
func monthsOf(known *calendar.Lore, p *placed) ([]*calendar.Plan, error) {
	if !slices.Contains([]string{"boreal", "mediterranean coast", "southern highland"}, p.kind) {
		return nil, nil
	}
	var plans []*calendar.Plan
	for month := range 12 {
		on := climate.NewDate(2027, 1, 15) + climate.Date(month*365/12)
		more, err := plansOf(known, p, on, way{trees: kept(on)})
		if err != nil {
			return nil, err
		}
		plans = append(plans, more...)
	}
	return plans, nil
}

// all lists all plans.
func (w *world) all() []*calendar.Plan {
	return slices.Concat(slices.Concat(w.plans...), slices.Concat(w.months...))
}

var worldSpecies = []struct{ name, short string }{
	{"Acer palmatum", "maple"},
	{"Fagus sylvatica", "beech"},
	{"Pinus thunbergii", "black pine"},
	{"Juniperus chinensis", "juniper"},
	{"Ficus microcarpa", "fig"},
}

// TestRepotAroundTheWorld plans the same five trees at thirty kinds of climate,
// from the atlas alone, and prints their repot windows side by side:
//
//	go test ./calendar/lore -run RepotAroundTheWorld -v
//
// What it asserts is common practice, no published source: roots are worked as buds swell, in
// the spring of the hemisphere; where there is no winter no tree is told of dormancy, those that
// rest are doubtful and get no day, and those that do not have no first day.
func TestRepotAroundTheWorld(t *testing.T) {
	known, err := lore.Load()
	if err != nil {
		t.Fatal(err)
	}
	var table strings.Builder
	fmt.Fprintf(&table, "%-28s %6s %5s %6s %6s", "~ any time; ? doubtful here", "lat", "m", "Jan", "Jul")
	for _, s := range worldSpecies {
		fmt.Fprintf(&table, "  %-16s", s.short)
	}
	places := placesOfWorld(t)
	plans := make([]*calendar.Plan, len(places))
	sideBySide(t, places, func(i int, p *placed) error {
		out, err := plansOf(known, p, p.site.SeasonStart(2027)+4, way{trees: worldTrees()})
		if err == nil {
			plans[i] = out[0]
		}
		return err
	})
	for k := range places {
		p, plan := &places[k], plans[k]
		site, n := p.site, &p.normals
		fmt.Fprintf(&table, "\n%-28s %6.1f %5.0f %6.1f %6.1f", p.kind, site.Lat, site.Elevation, (n.Tmin[0]+n.Tmax[0])/2, (n.Tmin[6]+n.Tmax[6])/2)
		for i, tree := range plan.Trees {
			window := repotOf(&tree, site)
			cell := "-"
			if window != nil {
				cell = fmt.Sprintf("%s-%s", short(window.Opens.P50), short(window.Closes.P50))
				if window.AnyTime {
					cell += " ~"
				}
				if window.Chance < 0.95 {
					cell += fmt.Sprintf(" %.0f%%", 100*window.Chance)
				}
			}
			if tree.Doubt != "" {
				cell += " ?"
			}
			fmt.Fprintf(&table, "  %-16s", cell)
			checkWorld(t, p.kind, worldSpecies[i].short, site, n, &tree, window)
		}
	}
	t.Log("\n" + table.String())
}

func worldTrees() []calendar.Tree {
	var trees []calendar.Tree
	for _, s := range worldSpecies {
		trees = append(trees, calendar.Tree{
			ID: s.short, Name: s.short, Species: s.name, Origin: calendar.Nursery,
			Container: calendar.Container{Kind: calendar.TrainingPot, Litres: 8},
		})
	}
	return trees
}

// repotOf returns the first window for repotting in the season that begins.
func repotOf(tree *calendar.TreePlan, site climate.Site) *calendar.Window {
	for i := range tree.Works {
		w := &tree.Works[i]
		if w.Work.ID == calendar.WorkRepot && w.Season == 2027 {
			return &w.Window
		}
	}
	return nil
}

func short(d climate.Date) string {
	return fmt.Sprintf("%d %s", d.Day(), strings.ToLower(d.Month().String()[:3]))
}

func checkWorld(t *testing.T, kind, tree string, site climate.Site, n *climate.Normals, plan *calendar.TreePlan, window *calendar.Window) {
	coldest, warmest := math.Inf(1), math.Inf(-1)
	for m := range 12 {
		v := (n.Tmin[m] + n.Tmax[m]) / 2
		coldest, warmest = min(coldest, v), max(warmest, v)
	}
	temperate := coldest < 12 && warmest > 13
	resting := tree == "maple" || tree == "beech" || tree == "black pine"
	switch {
	case warmest-coldest < 5 && resting && (plan.Doubt == "" || window != nil || !strings.Contains(plan.Next, plan.Doubt)):
		t.Errorf("%s, %s: repot %v, doubt %q, next %q: months hardly differ", kind, tree, window, plan.Doubt, plan.Next)
	case coldest > 16 && (tree == "maple" || tree == "beech") && (plan.Doubt == "" || window != nil):
		t.Errorf("%s, %s: repot %v, doubt %q: there is no chill", kind, tree, window, plan.Doubt)
	case coldest < 10 && plan.Doubt != "" || !resting && plan.Doubt != "":
		t.Errorf("%s, %s: doubt %q", kind, tree, plan.Doubt)
	}
	if tree == "juniper" && window != nil {
		first := site.SeasonStart(2027)
		if clamped := window.Opens.P50 <= first+1; clamped != window.AnyTime {
			t.Errorf("juniper, %s: opens %v, any time %v", kind, window.Opens.P50, window.AnyTime)
		}
		if window.AnyTime && coldest < 5 {
			t.Errorf("juniper, %s: any time, with a winter of %.1f C", kind, coldest)
		}
	}
	if window != nil && temperate && window.Chance > 0.5 {
		// Days after midwinter's start of the season: early February to the end of June in the north.
		k := int(window.Likely - site.SeasonStart(2027))
		if tree != "fig" && (k < 15 || k > 195) {
			t.Errorf("%s, %s: repot likely on %v, not in spring", kind, tree, window.Likely)
		}
	}
	// No dormancy where there is no winter; a fig may want shelter from the
	// cold nights of a tropical mountain all the same.
	if coldest > 17 || warmest-coldest < 5 {
		for i := range plan.Works {
			w := &plan.Works[i]
			shelter := w.Work.ID == "winter-shelter" || w.Work.ID == "out-of-winter" || w.Work.ID == "frost-watch"
			if w.Work.ID == "dormant-spray" || shelter && coldest > 17 {
				t.Errorf("%s, %s: %s with a chance of %.2f, likely %v: there is no winter", kind, tree, w.Title, w.Window.Chance, w.Window.Likely)
			}
		}
	}
}
