package pages

import (
	"fmt"
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
type SpeciesValue struct{ Name, Value, Source, Unknown string }

// LorePest is a pest to look for.
type LorePest struct{ Name, Look, Source string }

// SpeciesPageOf lays out a species.
func SpeciesPageOf(l *calendar.Lore, s *calendar.Species) *SpeciesPage {
	out := &SpeciesPage{
		Slug: calendar.Slug(s.Name), Name: s.Name, Common: strings.Join(s.Common, ", "), Also: strings.Join(s.Synonyms, ", "), From: fromWords(s.From),
		Values: valuesOf(l, s),
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
		v := loreRule(r, w)
		v.For = ""
		if len(r.For.Stages) > 0 {
			v.For = "stage: " + strings.Join(lowered(r.For.Stages), ", ")
		}
		out.Rules = append(out.Rules, v)
		for _, c := range l.CautionTexts(r, s) {
			if !told[c] && w.Class == calendar.Roots {
				told[c] = true
				out.Cautions = append(out.Cautions, c)
			}
		}
	}
	return out
}

// valuesOf lists the values of a species with their sources.
func valuesOf(l *calendar.Lore, s *calendar.Species) []SpeciesValue {
	var out []SpeciesValue
	add := func(field, name, value, unknown string) {
		v := SpeciesValue{Name: name, Value: value}
		if v.Value == "" {
			v.Unknown = unknown
		} else if v.Source = s.Sources[field]; v.Source == "" {
			v.Source = s.Source
		}
		out = append(out, v)
	}
	add("group", "Grows as", wording.Group(string(s.Group)), "")
	add("flush", "Comes into leaf", wording.Lower(string(s.Flush)), "its dates are those of its group until it is seen")
	add("flower_weeks", "Flowers", number(s.FlowerWeeks, "%g weeks after leaf-out"), "its flowers are not followed")
	add("crown_hardy", "A rested crown stands", number(s.CrownHardy, "%g °C"), "nothing is planned by it; winter shelter goes by what potted roots stand")
	roots := fmt.Sprintf("potted roots are taken to be killed below %g °C", s.RootsStand())
	add("roots_killed_below", "Potted roots stand", number(s.RootsKilledBelow, "%g °C"), roots)
	add("new_growth", "New growth in frost", string(s.NewGrowth), "new growth is taken to be tender, and the rules for that hold")
	repot := ""
	if r := s.Repot; r != nil {
		repot = fmt.Sprintf("every %s young, %g when building, %g refined", seasons(r.Young), r.Building, r.Refined)
	}
	add("repot", "Repotted", repot, "the rules' own intervals hold")
	add("root_work", "Answers root work", string(s.RootWork), "it is taken to answer badly: the rules for root-sensitive trees hold")
	add("back_buds", "Buds on old wood", string(s.BackBuds), "it is taken hardly to do so, and a caution says so with cuts")
	bleeds := "nothing hangs on it"
	if s.Has(calendar.Bleeder) {
		bleeds = "it is taken to bleed: no cuts while sap rises"
	}
	add("bleeding", "Bleeds from cuts", string(s.Bleeding), bleeds)
	poison := ""
	if p := s.Poison; p != nil {
		if poison = "no part that is known of"; len(p.Parts) > 0 {
			poison = strings.Join(p.Parts, ", ")
		}
	}
	add("poison", "Poisonous", poison, "all work by hand says so, and asks for gloves")
	pests := ""
	if s.Pests != nil {
		pests = "none in particular"
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
	add("pests", "Gets", pests, "no days to look for pests of its own are told")
	traits := "none"
	if len(s.Traits) > 0 {
		traits = strings.Join(lowered(s.Traits), ", ")
	}
	add("traits", "Besides", traits, "")
	return out
}

func number(v *float64, format string) string {
	if v == nil {
		return ""
	}
	return fmt.Sprintf(format, *v)
}

// Species writes the page.
func (p *Pages) Species(w io.Writer, s *SpeciesPage) error { return p.write(w, "lore-species.html", s) }
