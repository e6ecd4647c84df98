package lore_test

import (
	"regexp"
	"slices"
	"strings"
	"testing"

	"budswell/calendar"
	"budswell/climate/phenology"
)

var (
	leafy    = []phenology.Group{phenology.Deciduous, phenology.DeciduousConifer, phenology.BroadleafEvergreen, phenology.FrostTender}
	conifers = []phenology.Group{phenology.SingleFlushPine, phenology.MultiFlushPine, phenology.SpruceFir, phenology.JuniperCypress}
	bare     = []phenology.Group{phenology.Deciduous, phenology.DeciduousConifer}
	pines    = []phenology.Group{phenology.SingleFlushPine, phenology.MultiFlushPine}
	outdoors = slices.DeleteFunc(phenology.Groups(), func(g phenology.Group) bool { return g == phenology.FrostTender })
)

// rows are what the trade does and for which trees, one row a kind of work and
// season (common practice, no published source).
var rows = []struct {
	what   string
	works  []string // each must have a rule
	groups []phenology.Group
	anchor calendar.At // that some rule of each of the works hangs on; empty: any
}{
	{"collect", []string{"collect"}, phenology.Groups(), ""},
	{"aftercare of a collected tree", []string{"aftercare", "shade"}, phenology.Groups(), calendar.AtWork},
	{"end of shade", []string{"shade-end"}, phenology.Groups(), calendar.AtShade},
	{"recovery is judged", []string{"vigour-check"}, phenology.Groups(), ""},
	{"repot", []string{"repot"}, outdoors, calendar.AtPhase},
	{"repot, frost-tender", []string{"repot"}, []phenology.Group{phenology.FrostTender}, calendar.AtNightsAbove},
	{"root flare", []string{"root-flare"}, phenology.Groups(), ""},
	{"frost after root work", []string{"frost-watch"}, phenology.Groups(), calendar.AtWork},
	{"heavy pruning", []string{"heavy-prune"}, phenology.Groups(), ""},
	{"first and second styling", []string{"first-style", "second-style"}, phenology.Groups(), ""},
	{"wire, check, take off", []string{"wire", "wire-check", "unwire"}, phenology.Groups(), ""},
	{"candles, single-flush pine", []string{"candle-shorten"}, []phenology.Group{phenology.SingleFlushPine}, calendar.AtPhase},
	{"candles, multi-flush pine", []string{"candle-cut"}, []phenology.Group{phenology.MultiFlushPine}, calendar.AtFirstFrost},
	{"needle thinning, shoot selection", []string{"needle-thin", "shoot-select"}, pines, calendar.AtPhase},
	{"pinching", []string{"pinch"}, []phenology.Group{phenology.SpruceFir, phenology.Deciduous, phenology.DeciduousConifer}, calendar.AtPhase},
	{"defoliation", []string{"defoliate"}, []phenology.Group{phenology.Deciduous, phenology.FrostTender}, calendar.AtFirstFrost},
	{"back-bud cuts", []string{"back-bud"}, slices.DeleteFunc(phenology.Groups(), func(g phenology.Group) bool {
		return g == phenology.MultiFlushPine // candles are cut instead
	}), ""},
	{"clip and grow, trimming", []string{"prune"}, append([]phenology.Group{phenology.JuniperCypress}, leafy...), ""},
	{"feeding", []string{"feed"}, phenology.Groups(), ""},
	{"low nitrogen after late summer", []string{"feed-low-nitrogen"}, outdoors, calendar.AtMidsummer},
	{"dormant spray", []string{"dormant-spray"}, outdoors, calendar.AtPhase},
	{"winter shelter", []string{"winter-shelter"}, outdoors, calendar.AtRootCold},
	{"out of winter shelter", []string{"out-of-winter"}, outdoors, calendar.AtRootColdEnd},
	{"inside, frost-tender", []string{"winter-shelter"}, []phenology.Group{phenology.FrostTender}, calendar.AtFirstFrost},
	{"outside, frost-tender", []string{"out-of-winter"}, []phenology.Group{phenology.FrostTender}, calendar.AtNightsAbove},
	{"heat and water", []string{"heat-shade", "water-watch"}, phenology.Groups(), calendar.AtHeat},
	{"pests", []string{"pest-check"}, phenology.Groups(), ""},
	{"show", []string{"pot-change", "show-prepare", "moss", "show-clean", "show"}, phenology.Groups(), ""},
	{"wire off before a show", []string{"unwire"}, bare, calendar.AtPhase},
	{"after flowering", []string{"deadhead"}, []phenology.Group{phenology.BroadleafEvergreen}, calendar.AtPhase},
}

// TestEveryRow checks that each row of the trade's table has a rule for each
// group of trees that it concerns.
func TestEveryRow(t *testing.T) {
	l := load(t)
	for _, row := range rows {
		for _, g := range row.groups {
			for _, work := range row.works {
				found, anchored := false, row.anchor == ""
				for i := range l.Rules {
					r := &l.Rules[i]
					if r.Work == work && r.Variant == "" && slices.ContainsFunc(l.Species, func(s calendar.Species) bool {
						return s.Group == g && r.For.MatchesSpecies(&s)
					}) {
						found = true
						anchored = anchored || hangsOn(&r.Opens, row.anchor) || hangsOn(&r.Closes, row.anchor)
					}
				}
				if !found {
					t.Errorf("%s: no rule for %s on trees of group %s", row.what, work, g)
				}
				if found && !anchored {
					t.Errorf("%s: no rule for %s on trees of group %s hangs on %s", row.what, work, g, row.anchor)
				}
			}
		}
	}
}

func hangsOn(a *calendar.Anchor, at calendar.At) bool {
	for _, list := range [][]calendar.Anchor{a.Earliest, a.Latest} {
		for i := range list {
			if hangsOn(&list[i], at) {
				return true
			}
		}
	}
	return a.At == at
}

func TestCounts(t *testing.T) {
	l := load(t)
	if n := len(l.Species); n < 150 {
		t.Errorf("%d species, want 150 at least", n)
	}
	if n := len(l.Rules); n < 200 {
		t.Errorf("%d rules, want 200 at least", n)
	}
}

// TestEveryStage checks that there is something to say on each species in each
// stage, and that trees on their way can be repotted, styled and fed.
func TestEveryStage(t *testing.T) {
	l := load(t)
	must := map[calendar.Stage][]string{
		calendar.StageCollected:     {"aftercare", "shade-end", "feed", "frost-watch"},
		calendar.StageRecovering:    {"feed", "vigour-check", "frost-watch"},
		calendar.StageBaseWork:      {"repot", "root-flare", "feed", "first-style"},
		calendar.StageFirstStyling:  {"first-style", "repot", "heavy-prune", "feed"},
		calendar.StageBuilding:      {"repot", "wire", "wire-check", "feed"},
		calendar.StageSecondStyling: {"second-style", "repot", "wire", "feed"},
		calendar.StageRefining:      {"pot-change", "repot", "unwire", "feed"},
		calendar.StageExhibition:    {"show", "show-prepare", "moss", "repot", "feed"},
	}
	for i := range l.Species {
		s := &l.Species[i]
		for _, stage := range calendar.Stages() {
			var works []string
			for _, r := range l.RulesFor(s, stage, calendar.Collected) {
				works = append(works, r.Work)
			}
			for _, w := range must[stage] {
				if !slices.Contains(works, w) {
					t.Errorf("%s at stage %s: no rule for %s", s.Name, stage, w)
				}
			}
		}
		for _, o := range []calendar.Origin{calendar.Collected, calendar.FieldGrown} {
			if !slices.ContainsFunc(l.RulesFor(s, calendar.StageCollected, o), func(r *calendar.Rule) bool { return r.Work == "collect" }) {
				t.Errorf("%s: no rule to collect it", s.Name)
			}
		}
	}
}

// TestNeeds checks what every rule of a kind must ask for, whatever else it does.
func TestNeeds(t *testing.T) {
	l := load(t)
	has := func(r *calendar.Rule, f func(calendar.Need) bool) bool { return slices.ContainsFunc(r.Needs, f) }
	since := func(work string, seasons float64) func(calendar.Need) bool {
		return func(n calendar.Need) bool { return n.Since == work && n.Seasons >= seasons }
	}
	for i := range l.Rules {
		r := &l.Rules[i]
		w, ok := l.WorkByID(r.Work)
		if !ok {
			t.Fatalf("%s: no work %s", r.ID, r.Work)
		}
		if !slices.Contains(w.Cautions, "look-first") {
			t.Errorf("%s: nothing says to look at the tree first", w.ID)
		}
		taking := slices.Contains([]string{"wire-check", "unwire", "deadhead", "layer-sever"}, w.ID)
		byHand := slices.Contains([]calendar.Class{calendar.Roots, calendar.Branches, calendar.Wire, calendar.Foliage}, w.Class)
		if byHand && !taking && !has(r, func(n calendar.Need) bool { return n.Strength == calendar.Strong }) {
			t.Errorf("%s: does not need a strong tree", r.ID)
		}
		onConifers := !slices.ContainsFunc(r.For.Groups, func(g phenology.Group) bool { return !slices.Contains(conifers, g) }) && len(r.For.Groups) > 0
		if hard := w.Hard != calendar.HardOnNothing && w.ID != calendar.WorkCollect && w.ID != calendar.WorkPotChange; hard {
			rest := 1.0
			if onConifers {
				rest = 2
			}
			late := len(r.For.Stages) > 0 && !slices.Contains(r.For.Stages, calendar.StageBaseWork) && !slices.Contains(r.For.Stages, calendar.StageFirstStyling)
			if !late && !has(r, since("collect", rest)) {
				t.Errorf("%s: does not let a collected tree rest for %v seasons", r.ID, rest)
			}
			if r.Rest == 0 {
				t.Errorf("%s: hard work without a rest after", r.ID)
			}
			if w.Hard != calendar.HardOnRoots && !slices.Contains(r.Excludes, calendar.AnyRootWork) {
				t.Errorf("%s: may share a season with root work", r.ID)
			}
			if len(r.For.Stages) == 0 || slices.Contains(r.For.Stages, calendar.StageCollected) || slices.Contains(r.For.Stages, calendar.StageRecovering) {
				t.Errorf("%s: hard work on a tree that recovers", r.ID)
			}
		}
		switch w.ID {
		case calendar.WorkFirstStyle:
			if !has(r, func(n calendar.Need) bool { return n.Done == calendar.WorkRepot }) || !has(r, func(n calendar.Need) bool { return n.Stage == calendar.StageFirstStyling }) {
				t.Errorf("%s: does not need a repot and the root flare first", r.ID)
			}
		case calendar.WorkSecondStyle:
			if !has(r, func(n calendar.Need) bool { return n.FieldSoil != nil && !*n.FieldSoil }) {
				t.Errorf("%s: does not need the field soil gone", r.ID)
			}
		case "defoliate", "candle-cut", "candle-shorten":
			if !has(r, func(n calendar.Need) bool { return slices.Contains(n.NotThisSeason, calendar.AnyRootWork) }) {
				t.Errorf("%s: may share a season with root work", r.ID)
			}
		case "feed", "feed-low-nitrogen":
			if !has(r, func(n calendar.Need) bool { return n.Since == calendar.AnyRootWork && n.Weeks >= 4 }) {
				t.Errorf("%s: may feed just after root work", r.ID)
			}
		}
	}
}

// TestForbidden checks what must not be asked of some trees.
func TestForbidden(t *testing.T) {
	l := load(t)
	for i := range l.Species {
		s := &l.Species[i]
		for _, stage := range calendar.Stages() {
			for _, r := range l.RulesFor(s, stage, calendar.Collected, "whole-defoliation", "prune-when-bare", "style-when-bare", "late-winter-pruning") {
				cuts := slices.Contains([]string{"heavy-prune", "first-style"}, r.Work)
				switch {
				case s.Has(calendar.StoneFruit) && cuts && !hangsOn(&r.Closes, calendar.AtMidsummer):
					t.Errorf("%s: %s is not in summer", s.Name, r.ID)
				case s.Has(calendar.Bleeder) && cuts && r.Opens.Phase == phenology.BudSwell:
					t.Errorf("%s: %s while sap rises", s.Name, r.ID)
				case s.Has(calendar.PartialLeaf) && r.Work == "defoliate" && r.ID != "defoliate-partial-leaf" && r.ID != "show-defoliate-partial-leaf":
					t.Errorf("%s: %s takes more than a part of the leaves", s.Name, r.ID)
				case s.Group == phenology.FrostTender && (r.Work == "dormant-spray" || hangsOn(&r.Opens, calendar.AtRootCold)):
					t.Errorf("%s: %s is for trees with a dormancy", s.Name, r.ID)
				}
			}
		}
	}
}

// northern finds what holds on one half of the earth only. "May" and "March" are
// words too.
var northern = regexp.MustCompile(`January|February|April|June|July|August|September|October|November|December|(?:[Ii]n|[Ee]arly|[Mm]id|[Ll]ate) (?:May|March)\b`)

// TestTexts checks what people read.
func TestTexts(t *testing.T) {
	l := load(t)
	check := func(id, text string) {
		if northern.MatchString(text) {
			t.Errorf("%s names a month: %q", id, text)
		}
		if !strings.HasSuffix(text, ".") {
			t.Errorf("%s is no sentence: %q", id, text)
		}
	}
	for _, c := range l.Cautions {
		check(c.ID, c.Text)
	}
	for _, r := range l.Rules {
		check(r.ID, r.Why)
		check(r.ID, r.Not)
		if northern.MatchString(r.Title) {
			t.Errorf("%s names a month: %q", r.ID, r.Title)
		}
	}
	used := map[string]bool{}
	for _, r := range l.Rules {
		for _, text := range l.CautionTexts(&r, &calendar.Species{Traits: calendar.Traits()}) {
			used[text] = true
		}
		for _, text := range l.CautionTexts(&r, &calendar.Species{}) { // of which nothing is known
			used[text] = true
		}
	}
	for _, c := range l.Cautions {
		if !used[c.Text] {
			t.Errorf("caution %s shows with no rule", c.ID)
		}
	}
}
