package lore_test

import (
	"fmt"
	"maps"
	"regexp"
	"slices"
	"strings"
	"testing"

	"budswell/calendar"
	"budswell/climate"
	"budswell/climate/phenology"
)

// kinds are species that between them have every group, and every trait and name
// that a rule asks for.
var kinds = []string{
	"Ulmus minor", "Acer palmatum", "Betula pendula", "Prunus avium", "Prunus mume", "Fagus sylvatica", "Forsythia x intermedia",
	"Larix decidua", "Pinus sylvestris", "Pinus thunbergii", "Picea abies", "Taxus baccata", "Juniperus chinensis",
	"Buxus sempervirens", "Pieris japonica", "Ficus microcarpa",
}

// kept returns trees of all kinds in all stages, as they stand on a day: some in the
// ground, dug, repotted or wired a moment ago, some at each stage by judgement.
func kept(on climate.Date) []calendar.Tree {
	var out []calendar.Tree
	add := func(species, what string, origin calendar.Origin, log ...calendar.Entry) {
		id := calendar.Slug(species + " " + what)
		out = append(out, calendar.Tree{ID: id, Name: id, Species: species, Origin: origin, Log: log})
	}
	did := func(work string, before int) calendar.Entry {
		return calendar.Entry{On: on - climate.Date(before), Did: work}
	}
	judged := func(stage calendar.Stage, strength calendar.Strength) calendar.Entry {
		return calendar.Entry{On: on - 30, Judged: &calendar.Judgement{Stage: stage, Strength: strength}}
	}
	for _, s := range kinds {
		add(s, "in the ground", calendar.Collected)
		add(s, "just dug", calendar.Collected, did("collect", 5))
		add(s, "just repotted", calendar.Nursery, did("wire", 100), did("repot", 5), judged(calendar.StageBuilding, calendar.Strong))
		add(s, "weak", calendar.Grafted, judged(calendar.StageBuilding, calendar.Weak))
		add(s, "recovering", calendar.FieldGrown, did("collect", 60))
		add(s, "out of field soil", calendar.Collected, did("collect", 2000), judged(calendar.StageBaseWork, calendar.Strong))
		for _, stage := range calendar.Stages()[2:] {
			add(s, string(stage), calendar.Nursery, judged(stage, calendar.Strong))
		}
		add(s, "exhibition entered", calendar.Nursery, judged(calendar.StageExhibition, calendar.Strong))
		add(s, "refining wired", calendar.Nursery, did("wire", 40), judged(calendar.StageRefining, calendar.Strong))
		add(s, "refining wired entered", calendar.Cutting, did("wire", 40), judged(calendar.StageRefining, calendar.Strong))
	}
	return out
}

// groupKinds are one species of each group.
var groupKinds = []string{
	"Ulmus minor", "Larix decidua", "Pinus sylvestris", "Pinus thunbergii", "Picea abies", "Juniperus chinensis",
	"Buxus sempervirens", "Ficus microcarpa",
}

// chosen returns trees whose growers chose a variant: such as stand in the ground, are just
// dug, or had a branch layered, a graft set and a branch sawn off some weeks ago.
func chosen(on climate.Date) []calendar.Tree {
	var out []calendar.Tree
	add := func(species, what string, origin calendar.Origin, log ...calendar.Entry) {
		id := calendar.Slug(species + " " + what)
		out = append(out, calendar.Tree{ID: id, Name: id, Species: species, Origin: origin, Log: log})
	}
	for _, s := range groupKinds {
		add(s, "to trench", calendar.Collected)
		add(s, "dug onto warm soil", calendar.Collected, calendar.Entry{On: on - 5, Did: calendar.WorkCollect})
		log := []calendar.Entry{{On: on - 60, Judged: &calendar.Judgement{Stage: calendar.StageBuilding, Strength: calendar.Strong}}}
		for _, did := range []string{"air-layer", "graft", "heavy-prune"} {
			log = append(log, calendar.Entry{On: on - 20, Did: did})
		}
		add(s, "layered", calendar.Nursery, log...)
	}
	return out
}

// fewKinds are species that rules ask for which are for none of the kinds: of each such
// rule the first species that the lore has for it.
func fewKinds(known *calendar.Lore) []string {
	out := slices.Clone(kinds)
	matches := func(r *calendar.Rule, name string) bool {
		species, err := known.SpeciesNamed(name)
		return err == nil && r.For.MatchesSpecies(species)
	}
	for i := range known.Rules {
		r := &known.Rules[i]
		if slices.ContainsFunc(out, func(name string) bool { return matches(r, name) }) {
			continue
		}
		if k := slices.IndexFunc(known.Species, func(s calendar.Species) bool { return r.For.MatchesSpecies(&s) }); k >= 0 {
			out = append(out, known.Species[k].Name)
		}
	}
	return out[len(kinds):]
}

// fewPlaces are climates that between them suit every group, at which the trees of
// [fewKinds] are planned.
var fewPlaces = []string{"mild maritime", "humid continental", "mediterranean coast", "subtropical, humid", "southern highland"}

// fewKept returns trees of species that few rules ask for: out of the ground not long
// since, building, and refined.
func fewKept(known *calendar.Lore, on climate.Date) []calendar.Tree {
	var out []calendar.Tree
	add := func(species string, stage calendar.Stage, origin calendar.Origin, log ...calendar.Entry) {
		id := calendar.Slug(species + " " + string(stage))
		log = append(log, calendar.Entry{On: on - 30, Judged: &calendar.Judgement{Stage: stage, Strength: calendar.Strong}})
		out = append(out, calendar.Tree{ID: id, Name: id, Species: species, Origin: origin, Log: log})
	}
	for _, s := range fewKinds(known) {
		add(s, calendar.StageBaseWork, calendar.Collected, calendar.Entry{On: on - 2000, Did: calendar.WorkCollect})
		add(s, calendar.StageBuilding, calendar.Nursery)
		add(s, calendar.StageRefining, calendar.Nursery)
	}
	return out
}

// some returns the trees of a few kinds whose id ends so.
func some(trees []calendar.Tree, what string) []calendar.Tree {
	return slices.DeleteFunc(trees, func(t calendar.Tree) bool {
		return !strings.HasSuffix(t.ID, what) || !slices.Contains([]string{"Ulmus minor", "Pinus sylvestris", "Pinus thunbergii", "Juniperus chinensis"}, t.Species)
	})
}

// showDays are shows, by look and days after midwinter.
var showDays = []struct {
	look calendar.Look
	day  climate.Date
}{
	{calendar.WinterSilhouette, 400},
	{calendar.Flowering, 470},
	{calendar.InLeaf, 265},
	{calendar.InLeaf, 530},
	{calendar.Evergreen, 290},
	{calendar.Evergreen, 440},
	{calendar.AutumnColour, 300},
}

// shows returns shows in the eighteen months after a day for those trees of a finished
// stage that give their look.
func shows(known *calendar.Lore, site climate.Site, on climate.Date, trees []calendar.Tree) []calendar.Show {
	gives := map[string][]calendar.Look{}
	for _, name := range kinds {
		if species, err := known.SpeciesNamed(name); err == nil {
			gives[name] = species.Looks()
		}
	}
	var out []calendar.Show
	for _, d := range showDays {
		s := calendar.Show{Name: fmt.Sprintf("%s %d", d.look, d.day), Look: d.look, On: site.SeasonStart(site.Season(on)) + d.day}
		for i := range trees {
			if strings.HasSuffix(trees[i].ID, "-entered") && slices.Contains(gives[trees[i].Species], d.look) {
				s.Trees = append(s.Trees, trees[i].ID)
			}
		}
		if s.On > on && len(s.Trees) > 0 {
			out = append(out, s)
		}
	}
	return out
}

// variants lists all ways of doing things on which growers disagree.
func variants(known *calendar.Lore) []string {
	var out []string
	for i := range known.Rules {
		if v := known.Rules[i].Variant; v != "" && !slices.Contains(out, v) {
			out = append(out, v)
		}
	}
	return out
}

// TestEveryRuleComes: at some of the thirty climates every rule comes up for some tree.
func TestEveryRuleComes(t *testing.T) {
	w := aroundTheWorld(t)
	seen := map[string]int{}
	for _, plan := range w.all() {
		for i := range plan.Trees {
			for k := range plan.Trees[i].Works {
				seen[plan.Trees[i].Works[k].Rule.ID]++
			}
		}
	}
	for i := range w.known.Rules {
		if r := &w.known.Rules[i]; seen[r.ID] == 0 {
			t.Errorf("%s never comes up", r.ID)
		}
	}
	t.Logf("%d rules, %d came up", len(w.known.Rules), len(seen))
}

// TestEveryTreeHasAnAnswer: whatever the group, the stage and the month, a tree's plan
// says what comes next, with a day or with what stands against all work.
func TestEveryTreeHasAnAnswer(t *testing.T) {
	w := aroundTheWorld(t)
	day := regexp.MustCompile(`\d{4}-\d\d-\d\d`)
	asked := 0
	for _, plan := range w.all() {
		for i := range plan.Trees {
			tree := &plan.Trees[i]
			asked++
			if strings.Contains(tree.Next, "no rule asks for work") || !day.MatchString(tree.Next) && tree.Doubt == "" {
				t.Errorf("%s, %v, %s: %q", plan.Site.Name, plan.On, tree.Tree.Name, tree.Next)
			}
		}
	}
	t.Logf("%d answers", asked)
}

// TestExcludedWorksAreApart: of the works of one season that nothing stands against, none
// excludes another, and one at most is hard on the tree.
func TestExcludedWorksAreApart(t *testing.T) {
	w := aroundTheWorld(t)
	pairs := 0
	for _, plan := range w.all() {
		for k := range plan.Trees {
			tree := &plan.Trees[k]
			free := map[int][]*calendar.Planned{} // by the season of its day
			for n := range tree.Works {
				if work := &tree.Works[n]; len(work.Blocked) == 0 && !work.Done.Valid() && work.Window.Likely.Valid() {
					season := plan.Site.Season(work.Window.Likely)
					free[season] = append(free[season], work)
				}
			}
			for _, season := range slices.Sorted(maps.Keys(free)) {
				for a, x := range free[season] {
					for _, y := range free[season][a+1:] {
						pairs++
						switch {
						case x.Work == y.Work:
						case x.Work.Hard != "" && y.Work.Hard != "":
							t.Errorf("%s, %s, %d: %s and %s are both hard", plan.Site.Name, tree.Tree.Name, season, x.Rule.ID, y.Rule.ID)
						case excludes(x, y) || excludes(y, x):
							t.Errorf("%s, %s, %d: %s and %s exclude one another", plan.Site.Name, tree.Tree.Name, season, x.Rule.ID, y.Rule.ID)
						}
					}
				}
			}
		}
	}
	if pairs < 1000 {
		t.Errorf("%d pairs of works were compared", pairs)
	}
}

// excludes reports whether the rule of x rules out the work of y.
func excludes(x, y *calendar.Planned) bool {
	root := []string{calendar.WorkCollect, calendar.WorkRepot, calendar.WorkPotChange}
	for _, name := range x.Rule.Excludes {
		if name == y.Work.ID || name == calendar.AnyHard && y.Work.Hard != "" || name == calendar.AnyRootWork && slices.Contains(root, y.Work.ID) {
			return true
		}
	}
	return false
}

// facts are what of a climate decides whether a window comes there at all.
type facts struct {
	coldest, warmest       float64 // means of months, C
	coldestMin, warmestMin float64
	hottestMax             float64
	means                  [12]float64
	doubted                bool // nothing is sure of any tree that the rule is for: see [calendar.TreePlan.Doubt]
}

func factsOf(n *climate.Normals) facts {
	f := facts{coldest: 99, warmest: -99, coldestMin: 99, warmestMin: -99, hottestMax: -99}
	for m := range 12 {
		mean := (n.Tmin[m] + n.Tmax[m]) / 2
		f.means[m] = mean
		f.coldest, f.warmest = min(f.coldest, mean), max(f.warmest, mean)
		f.coldestMin, f.warmestMin = min(f.coldestMin, n.Tmin[m]), max(f.warmestMin, n.Tmin[m])
		f.hottestMax = max(f.hottestMax, n.Tmax[m])
	}
	return f
}

// degreeDays adds up the warmth of a year above a base, from the means of months, C d.
func (f *facts) degreeDays(base float64) float64 {
	sum := 0.0
	for _, mean := range f.means {
		sum += max(0, mean-base) * 365 / 12
	}
	return sum
}

// excuses are why a window need not come at a climate. All are common practice, no
// published source.
var excuses = []struct {
	why   string
	holds func(r *calendar.Rule, class calendar.Class, f facts) bool
}{
	{"no winter to rest in: such a tree is doubtful there, and its plan says so", func(_ *calendar.Rule, _ calendar.Class, f facts) bool { return f.doubted }},
	{"nights are not warm for weeks: such a tree stays on a heated bench there", func(r *calendar.Rule, _ calendar.Class, f facts) bool {
		return slices.Equal(r.For.Groups, []phenology.Group{phenology.FrostTender}) && f.warmestMin < 19
	}},
	{"no frost, or none that harms: nothing to shelter from", func(_ *calendar.Rule, class calendar.Class, f facts) bool {
		return class == calendar.Protection && f.coldestMin > -2
	}},
	{"growth hardly stops: no time to spray in rest", func(_ *calendar.Rule, class calendar.Class, f facts) bool {
		return class == calendar.Health && f.coldest > 12
	}},
	{"it does not get so hot", func(r *calendar.Rule, _ calendar.Class, f facts) bool {
		return r.Opens.At == calendar.AtHeat && f.hottestMax < *r.Opens.C-3
	}},
	{"the year has too little warmth for it, so what is looked for has no such brood there", func(r *calendar.Rule, _ calendar.Class, f facts) bool {
		return r.Opens.At == calendar.AtDegreeDays && f.degreeDays(*r.Opens.C) < r.Opens.Sum
	}},
	{"summer is too short or too cool for a second growth to ripen, or for wounds to close", func(_ *calendar.Rule, class calendar.Class, f facts) bool {
		return f.warmest < 14 || (class == calendar.Foliage && f.coldest < -15)
	}},
	{"the shows of this test are on days that do not suit the season there", func(r *calendar.Rule, _ calendar.Class, f facts) bool {
		return r.ForShow() && (f.coldest > 9 || f.coldest < -10)
	}},
	{"for mild places: here autumn is too short, or summer too long", func(r *calendar.Rule, class calendar.Class, f facts) bool {
		return (class == calendar.Roots || class == calendar.Collecting) && (strings.HasSuffix(r.ID, "late-summer") || strings.HasSuffix(r.ID, "autumn")) &&
			(f.coldest < -5 || f.coldest > 2)
	}},
}

// TestEveryWindowIsReached: the window of every rule comes at each of the thirty climates,
// unless the climate itself is a reason that it does not.
func TestEveryWindowIsReached(t *testing.T) {
	w := aroundTheWorld(t)
	used, unasked := make([]int, len(excuses)), 0
	for r := range w.known.Rules {
		rule := &w.known.Rules[r]
		work, _ := w.known.WorkByID(rule.Work)
		for i := range w.places {
			if slices.ContainsFunc(w.plans[i], func(plan *calendar.Plan) bool { return comes(plan, rule) }) {
				continue
			}
			f := factsOf(&w.places[i].normals)
			trees := treesFor(w.plans[i], rule)
			if len(trees) == 0 {
				unasked++ // its species are planned at [fewPlaces] alone
				continue
			}
			f.doubted = !slices.ContainsFunc(trees, func(tree *calendar.TreePlan) bool { return tree.Doubt == "" })
			k := slices.IndexFunc(excuses, func(e struct {
				why   string
				holds func(*calendar.Rule, calendar.Class, facts) bool
			},
			) bool {
				return e.holds(rule, work.Class, f)
			})
			if k < 0 {
				t.Errorf("%s does not come in %s: %+v", rule.ID, w.places[i].kind, f)
				continue
			}
			used[k]++
		}
	}
	for k, e := range excuses {
		if used[k] == 0 {
			t.Errorf("nowhere needed: %s", e.why)
		}
		t.Logf("%4d windows do not come: %s", used[k], e.why)
	}
	t.Logf("%4d windows were not asked for: none of the rule's species is planned there", unasked)
}

// treesFor lists the planned trees of species that a rule is for.
func treesFor(plans []*calendar.Plan, rule *calendar.Rule) []*calendar.TreePlan {
	var out []*calendar.TreePlan
	for _, plan := range plans {
		for i := range plan.Trees {
			if rule.For.MatchesSpecies(plan.Trees[i].Species) {
				out = append(out, &plan.Trees[i])
			}
		}
	}
	return out
}

func comes(plan *calendar.Plan, rule *calendar.Rule) bool {
	for i := range plan.Trees {
		for k := range plan.Trees[i].Works {
			if plan.Trees[i].Works[k].Rule == rule {
				return true
			}
		}
	}
	return false
}
