package pages

import (
	"io"
	"slices"
	"strings"

	"budswell/calendar"
	"budswell/feeds/wording"
)

// SpeciesPage is all that is known of a species.
type SpeciesPage struct {
	SignedIn     bool
	Edits        []Choice // for whom it can be changed, with the path of the desk
	Slug, Name   string
	Common, Also string
	Values       []SpeciesValue
	Cautions     []string // of work by hand
	Pests        []LorePest
	Rules        []LoreRule
	From         []string
}

// SpeciesValue is one value with its source. What is not known has no value, and says
// what the plan then does.
type SpeciesValue struct {
	Name, Value, Source, Unknown string
	English                      bool // so is the value, in whatever language the rest is
}

// LorePest is a pest to look for.
type LorePest struct{ Name, Look, Source string }

// SpeciesPageOf lays out a species.
func SpeciesPageOf(in *wording.Tongue, l *calendar.Lore, s *calendar.Species) *SpeciesPage {
	out := &SpeciesPage{
		Slug: calendar.Slug(s.Name), Name: s.Name, Common: commonOf(in, s), Also: strings.Join(s.Synonyms, ", "), From: fromWords(in, s.From),
		Values: valuesOf(in, l, s),
	}
	for _, id := range s.Pests {
		if p, ok := l.PestByID(id); ok {
			out.Pests = append(out.Pests, LorePest{wording.Capital(p.Name), wording.Sentence(p.Look), wording.Sentence(p.Source)})
		}
	}
	told := map[string]bool{}
	all := slices.Concat(l.Rules, l.Off)
	for i := range all {
		r := &all[i]
		if !r.For.MatchesSpecies(s) {
			continue
		}
		w, ok := l.WorkByID(r.Work)
		if !ok {
			continue
		}
		v := loreRule(in, r, w)
		v.For = ""
		if len(r.For.Stages) > 0 {
			v.For = in.Say("stage: {1}", strings.Join(lowered(in, r.For.Stages), ", "))
		}
		out.Rules = append(out.Rules, v)
		for _, c := range l.CautionTexts(r, s) {
			if !told[c] && w.Class == calendar.Roots {
				told[c] = true
				out.Cautions = append(out.Cautions, in.EachCaution([]string{c})...)
			}
		}
	}
	return out
}

// valuesOf lists the values of a species with their sources.
func valuesOf(in *wording.Tongue, l *calendar.Lore, s *calendar.Species) []SpeciesValue {
	var out []SpeciesValue
	put := func(field, name, value, unknown string) {
		v := SpeciesValue{Name: name, Value: value, English: field == "pests" && len(s.Pests) > 0 || field == "poison" && s.Poison != nil && len(s.Poison.Parts) > 0}
		if v.Value == "" {
			v.Unknown = unknown
		} else if v.Source = s.Sources[field]; v.Source == "" {
			v.Source = s.Source
		}
		out = append(out, v)
	}
	put("group", in.Say("Grows as"), in.Group(string(s.Group)), "")
	put("flush", in.Say("Comes into leaf"), in.Lower(string(s.Flush)), in.Say("its dates are those of its group until it is seen"))
	weeks, degrees := func(v float64) string { return in.Say("{1} weeks after leaf-out", in.Number(v, 1)) }, func(v float64) string { return in.Temperature(v, 1) }
	put("flower_weeks", in.Say("Flowers"), number(s.FlowerWeeks, weeks), in.Say("its flowers are not followed"))
	put("crown_hardy", in.Say("A rested crown stands"), number(s.CrownHardy, degrees), in.Say("nothing is planned by it; winter shelter goes by what potted roots stand"))
	roots := in.Say("potted roots are taken to be killed below {1}", in.Temperature(s.RootsStand(), 1))
	put("roots_killed_below", in.Say("Potted roots stand"), number(s.RootsKilledBelow, degrees), roots)
	put("new_growth", in.Say("New growth in frost"), in.Lower(string(s.NewGrowth)), in.Say("new growth is taken to be tender, and the rules for that hold"))
	repot := ""
	if r := s.Repot; r != nil {
		repot = in.Say("every {1} young, {2} when building, {3} refined", seasons(in, r.Young), in.Number(r.Building, 2), in.Number(r.Refined, 2))
	}
	put("repot", in.Say("Repotted"), repot, in.Say("the rules' own intervals hold"))
	put("root_work", in.Say("Answers root work"), in.Lower(string(s.RootWork)), in.Say("it is taken to answer badly: the rules for root-sensitive trees hold"))
	put("back_buds", in.Say("Buds on old wood"), in.Lower(string(s.BackBuds)), in.Say("it is taken hardly to do so, and a caution says so with cuts"))
	bleeds := in.Say("nothing hangs on it")
	if s.Has(calendar.Bleeder) {
		bleeds = in.Say("it is taken to bleed: no cuts while sap rises")
	}
	put("bleeding", in.Say("Bleeds from cuts"), in.Lower(string(s.Bleeding)), bleeds)
	poison := ""
	if p := s.Poison; p != nil {
		if poison = in.Say("no part that is known of"); len(p.Parts) > 0 {
			poison = strings.Join(p.Parts, ", ")
		}
	}
	put("poison", in.Say("Poisonous"), poison, in.Say("all work by hand says so, and asks for gloves"))
	pests := ""
	if s.Pests != nil {
		pests = in.Say("none in particular")
		var list []string
		for _, id := range s.Pests {
			if p, ok := l.PestByID(id); ok {
				list = append(list, p.Name)
			}
		}
		if len(list) > 0 {
			pests = strings.Join(list, ", ")
		}
	}
	put("pests", in.Say("Gets"), pests, in.Say("no days to look for pests of its own are told"))
	traits := in.Say("none")
	if len(s.Traits) > 0 {
		traits = strings.Join(lowered(in, s.Traits), ", ")
	}
	put("traits", in.Say("Besides"), traits, "")
	return out
}

func number(v *float64, say func(float64) string) string {
	if v == nil {
		return ""
	}
	return say(*v)
}

// Species writes the page.
func (p *Pages) Species(w io.Writer, s *SpeciesPage) error { return p.write(w, "lore-species.html", s) }
