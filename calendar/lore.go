package calendar

import (
	"fmt"
	"slices"
	"strings"

	"budswell/climate/phenology"
)

// Lore is the trade's knowledge: species, works, rules and cautions, and how long
// trees take and what keeps them back.
type Lore struct {
	Species  []Species   `yaml:"species"`
	Works    []Work      `yaml:"works"`
	Rules    []Rule      `yaml:"rules"`
	Cautions []Caution   `yaml:"cautions"`
	Genera   []Genus     `yaml:"genera"`
	Pests    []Pest      `yaml:"pests"`
	Stages   []StageTime `yaml:"stages"`
	Setbacks []Setback   `yaml:"setbacks"`

	Off []Rule `yaml:"-"` // rules that are switched off; nothing is planned by them
}

// SpeciesNamed finds a species by its botanical name, a synonym or an English
// name, in capitals or not. The name of a genus alone ("Acer", "Acer sp.") stands for
// what its species have in common; where they grow in different ways a species
// must be named. It returns ErrNotFound with names that may be meant.
func (l *Lore) SpeciesNamed(name string) (*Species, error) {
	want := fold(name)
	for i := range l.Species {
		s := &l.Species[i]
		if fold(s.Name) == want || contains(s.Synonyms, want) || contains(s.Common, want) {
			return s, nil
		}
	}
	genus, rest, _ := strings.Cut(want, " ")
	var kin []*Species
	for i := range l.Species {
		if strings.ToLower(l.Species[i].Genus()) == genus {
			kin = append(kin, &l.Species[i])
		}
	}
	whole := rest == "" || rest == "sp." || rest == "spp." || rest == "species"
	switch {
	case len(kin) == 0:
		return nil, fmt.Errorf("species %q: %w: want the botanical or English name of a species that budswell lore show lists", name, ErrNotFound)
	case !whole:
		return nil, fmt.Errorf("species %q: %w: want %s, or the genus %s alone", name, ErrNotFound, nameAll(kin), kin[0].Genus())
	}
	for _, s := range kin {
		if s.Group != kin[0].Group {
			return nil, fmt.Errorf("species %q: %w: its species grow in different ways; want one of %s", name, ErrNotFound, nameAll(kin))
		}
	}
	return inCommon(kin), nil
}

func contains(names []string, folded string) bool {
	return slices.ContainsFunc(names, func(n string) bool { return fold(n) == folded })
}

// fold brings names that people write differently to one form.
func fold(name string) string {
	return strings.ToLower(strings.Join(strings.Fields(strings.ReplaceAll(name, "×", " x ")), " "))
}

func nameAll(species []*Species) string {
	names := make([]string, len(species))
	for i, s := range species {
		names[i] = s.Name
	}
	return strings.Join(names, ", ")
}

// inCommon returns a species that stands for all of one genus: what they share,
// and where they differ the more cautious.
func inCommon(kin []*Species) *Species {
	out := &Species{Name: kin[0].Genus(), Group: kin[0].Group, Flush: kin[0].Flush, Source: "what its species have in common"}
	out.Answers = answersInCommon(kin)
	for _, t := range OwnTraits() {
		n := 0
		for _, s := range kin {
			if s.Has(t) {
				n++
			}
		}
		permits := t == BudsOnOldWood || t == FrostHardyRoots
		if n == len(kin) || n > 0 && !permits && t != WorkedAfterFlowering {
			out.Traits = append(out.Traits, t)
		}
	}
	for _, s := range kin {
		if s.Flush != out.Flush {
			out.Flush = ""
		}
	}
	out.FlowerWeeks = tenderest(kin, func(s *Species) *float64 { return s.FlowerWeeks })
	out.RootsKilledBelow = tenderest(kin, func(s *Species) *float64 { return s.RootsKilledBelow })
	out.CrownHardy = tenderest(kin, func(s *Species) *float64 { return s.CrownHardy })
	return out
}

// answersInCommon returns how all of some species answer: of each the most delicate,
// not known unless it is of all; the pests of any.
func answersInCommon(kin []*Species) Answers {
	out := kin[0].Answers
	worst := func(a, b Grade, of []Grade) Grade {
		i, j := slices.Index(of, a), slices.Index(of, b)
		if i < 0 || j < 0 {
			return ""
		}
		return of[max(i, j)]
	}
	for _, s := range kin[1:] {
		out.BackBuds = worst(out.BackBuds, s.BackBuds, BackBudGrades)
		out.RootWork = worst(out.RootWork, s.RootWork, RootWorkGrades)
		out.NewGrowth = worst(out.NewGrowth, s.NewGrowth, NewGrowthGrades)
		out.Bleeding = worst(out.Bleeding, s.Bleeding, BleedingGrades)
		if out.Repot != nil && s.Repot != nil {
			out.Repot = &RepotEvery{max(out.Repot.Young, s.Repot.Young), max(out.Repot.Building, s.Repot.Building), max(out.Repot.Refined, s.Repot.Refined)}
		} else {
			out.Repot = nil
		}
		if out.Poison != nil && (s.Poison == nil || len(s.Poison.Parts) > 0) {
			out.Poison = s.Poison
		}
		for _, id := range s.Pests {
			if !slices.Contains(out.Pests, id) {
				out.Pests = append(slices.Clone(out.Pests), id)
			}
		}
	}
	return out
}

// tenderest returns the highest of a value, or nil unless all have it.
func tenderest(kin []*Species, value func(*Species) *float64) *float64 {
	high := value(kin[0])
	for _, s := range kin {
		v := value(s)
		if v == nil || high == nil {
			return nil
		}
		if *v > *high {
			high = v
		}
	}
	return high
}

// WorkByID finds a work by its id or by another word that a log may use for it.
func (l *Lore) WorkByID(id string) (*Work, bool) {
	for i := range l.Works {
		if w := &l.Works[i]; w.ID == id || slices.Contains(w.Also, id) {
			return w, true
		}
	}
	return nil, false
}

// RuleByID finds a rule.
func (l *Lore) RuleByID(id string) (*Rule, bool) {
	for i := range l.Rules {
		if l.Rules[i].ID == id {
			return &l.Rules[i], true
		}
	}
	return nil, false
}

// PestByID finds a pest.
func (l *Lore) PestByID(id string) (*Pest, bool) {
	for i := range l.Pests {
		if l.Pests[i].ID == id {
			return &l.Pests[i], true
		}
	}
	return nil, false
}

// RulesFor returns the rules for trees of a species, stage and origin, in the
// order of the lore. Of rules on which growers disagree it returns the cautious
// one, unless the grower chose a variant.
func (l *Lore) RulesFor(s *Species, stage Stage, origin Origin, variants ...string) []*Rule {
	replaced := map[string]bool{}
	holds := func(r *Rule) bool {
		return (r.Variant == "" || slices.Contains(variants, r.Variant)) && r.For.Matches(s, stage, origin)
	}
	for i := range l.Rules {
		if r := &l.Rules[i]; r.Variant != "" && holds(r) {
			replaced[r.Instead] = true
		}
	}
	var out []*Rule
	for i := range l.Rules {
		if r := &l.Rules[i]; holds(r) && !replaced[r.ID] {
			out = append(out, r)
		}
	}
	return out
}

// Matches reports whether a rule of this scope is for such trees.
func (c *Scope) Matches(s *Species, stage Stage, origin Origin) bool {
	return c.MatchesSpecies(s) &&
		(len(c.Stages) == 0 || slices.Contains(c.Stages, stage)) &&
		(len(c.Origins) == 0 || slices.Contains(c.Origins, origin))
}

// MatchesSpecies reports whether a rule of this scope is for trees of s, in some
// stage and of some origin, shown with some look.
func (c *Scope) MatchesSpecies(s *Species) bool {
	named := func(names []string) bool { return slices.Contains(names, s.Name) || slices.Contains(names, s.Genus()) }
	has := func(t Trait) bool { return s.Has(t) }
	return (len(c.Groups) == 0 || slices.Contains(c.Groups, s.Group)) &&
		(len(c.Species) == 0 || named(c.Species)) &&
		!named(c.Except) &&
		!slices.ContainsFunc(c.Traits, func(t Trait) bool { return !has(t) }) &&
		!slices.ContainsFunc(c.Without, has) &&
		(len(c.Pests) == 0 || slices.ContainsFunc(c.Pests, func(id string) bool { return slices.Contains(s.Pests, id) })) &&
		(len(c.Looks) == 0 || slices.ContainsFunc(s.Looks(), func(l Look) bool { return slices.Contains(c.Looks, l) }))
}

// CautionTexts returns the cautions that show with a rule's work on trees of s,
// each once: the rule's, the work's, those that go with such work of themselves, and
// for work by hand those of the species. The species may be nil.
func (l *Lore) CautionTexts(r *Rule, s *Species) []string {
	ids := slices.Clone(r.Cautions)
	w, ok := l.WorkByID(r.Work)
	if !ok {
		w = &Work{ID: r.Work}
	}
	ids = append(ids, w.Cautions...)
	if s != nil && w.byHand() {
		switch {
		case s.Poison != nil:
			ids = append(ids, s.Poison.Caution)
		case !s.Has(ToxicSap) && !s.Has(ToxicSeed):
			ids = append(ids, PoisonUnknown)
		}
	}
	var out []string
	for i := range l.Cautions {
		if c := &l.Cautions[i]; slices.Contains(ids, c.ID) || c.goesWith(w, s) {
			out = append(out, c.Words())
		}
	}
	return out
}

// Shows reports whether trees of s show p in a season.
func (s *Species) Shows(p phenology.Phase) bool {
	return slices.Contains(s.Group.Phases(), p) && (p != phenology.Flowering || s.FlowerWeeks != nil)
}
