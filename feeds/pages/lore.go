package pages

import (
	"cmp"
	"fmt"
	"io"
	"slices"
	"strings"

	"budswell/calendar"
	"budswell/climate/phenology"
	"budswell/feeds/wording"
)

// Lore is a page on which rules are found: by words, work or group.
type Lore struct {
	SignedIn    bool
	Query       string
	Found       string // what is listed; empty: nothing was asked for yet
	Works       []LoreWork
	Groups      []Choice
	SpeciesHere []LoreSpecies
	Rules       []LoreRule
	Total       int // rules that there are
}

// LoreWork is a kind of work with how many rules there are for it.
type LoreWork struct {
	ID, Title, Class string
	Count            int
}

// LoreSpecies leads to the page of a species.
type LoreSpecies struct{ Slug, Name, Common string }

// LoreRule leads to the page of a rule.
type LoreRule struct {
	ID, Title, For, From string
	Off                  bool
}

// Asked is what a page of lore is asked for; empty for what is not.
type Asked struct{ Query, Work, Group string }

// LoreOf finds what was asked for.
func LoreOf(l *calendar.Lore, a Asked) *Lore {
	out := &Lore{Query: a.Query, Total: len(l.Rules) + len(l.Off)}
	all := slices.Concat(l.Rules, l.Off)
	want := strings.ToLower(strings.Join(strings.Fields(a.Query), " "))
	has := func(text string) bool { return strings.Contains(strings.ToLower(text), want) }
	var rule func(r *calendar.Rule, w *calendar.Work) bool
	var kind func(s *calendar.Species) bool
	switch {
	case want != "":
		out.Found = "Found for “" + a.Query + "”"
		kind = func(s *calendar.Species) bool {
			return has(s.Name) || slices.ContainsFunc(s.Common, has) || slices.ContainsFunc(s.Synonyms, has)
		}
		rule = func(r *calendar.Rule, w *calendar.Work) bool {
			return has(titleOf(r, w)) || has(r.ID) || has(w.Title) || slices.ContainsFunc(w.Also, has)
		}
	case a.Work != "":
		w, ok := l.WorkByID(a.Work)
		if !ok {
			return out
		}
		out.Found = "Rules for: " + w.Title
		rule = func(r *calendar.Rule, _ *calendar.Work) bool { return r.Work == w.ID }
		kind = func(*calendar.Species) bool { return false }
	case a.Group != "":
		g := phenology.Group(a.Group)
		out.Found = wording.Group(a.Group)
		kind = func(s *calendar.Species) bool { return s.Group == g }
		rule = func(r *calendar.Rule, _ *calendar.Work) bool {
			return slices.ContainsFunc(l.Species, func(s calendar.Species) bool { return s.Group == g && r.For.MatchesSpecies(&s) })
		}
	}
	counts := map[string]int{}
	for i := range all {
		r := &all[i]
		counts[r.Work]++
		w, ok := l.WorkByID(r.Work)
		if !ok {
			w = &calendar.Work{ID: r.Work}
		}
		if rule != nil && rule(r, w) {
			out.Rules = append(out.Rules, loreRule(r, w))
		}
	}
	for i := range l.Species {
		if kind != nil && kind(&l.Species[i]) {
			out.SpeciesHere = append(out.SpeciesHere, loreSpecies(&l.Species[i]))
		}
	}
	for i := range l.Works {
		if w := &l.Works[i]; counts[w.ID] > 0 {
			out.Works = append(out.Works, LoreWork{w.ID, w.Title, wording.Name(string(w.Class)), counts[w.ID]})
		}
	}
	for _, g := range phenology.Groups() {
		out.Groups = append(out.Groups, Choice{Value: string(g), Label: wording.Group(string(g))})
	}
	return out
}

func loreSpecies(s *calendar.Species) LoreSpecies {
	return LoreSpecies{calendar.Slug(s.Name), s.Name, strings.Join(s.Common, ", ")}
}

func loreRule(r *calendar.Rule, w *calendar.Work) LoreRule {
	out := LoreRule{ID: r.ID, Title: titleOf(r, w), For: scopeWords(&r.For), Off: r.Off}
	if r.From != nil && r.From.Layer != calendar.LayerBuiltIn {
		out.From = r.From.Words()
	}
	return out
}

func titleOf(r *calendar.Rule, w *calendar.Work) string {
	if r.Title != "" {
		return r.Title
	}
	return w.Title
}

// scopeWords says which trees a rule is for.
func scopeWords(c *calendar.Scope) string {
	var parts []string
	list := func(before string, ids []string) {
		if len(ids) > 0 {
			parts = append(parts, before+strings.Join(ids, ", "))
		}
	}
	groups := make([]string, len(c.Groups))
	for i, g := range c.Groups {
		groups[i] = strings.ToLower(wording.Group(string(g))[:1]) + wording.Group(string(g))[1:]
	}
	list("", groups)
	list("", c.Species)
	if len(parts) == 0 {
		parts = append(parts, "all trees")
	}
	list("not ", c.Except)
	list("with: ", lowered(c.Traits))
	list("without: ", lowered(c.Without))
	list("that get ", lowered(c.Pests))
	list("stage: ", lowered(c.Stages))
	list("origin: ", lowered(c.Origins))
	list("shown ", lowered(c.Looks))
	return strings.Join(parts, "; ")
}

func lowered[T ~string](ids []T) []string {
	out := make([]string, len(ids))
	for i, id := range ids {
		out[i] = wording.Lower(string(id))
	}
	return out
}

// RulePage is all that a rule says.
type RulePage struct {
	SignedIn         bool
	Edits            []Choice // for whom it can be changed, with the path of the desk
	ID, Title        string
	Work, WorkID     string
	Class, For       string
	Opens, Closes    string
	Often            string
	Needs, Excludes  []string
	Rest, Effort     string
	Materials        string
	Not, Why, Late   string
	Cautions         []string
	Variant, Instead string
	Variants         []LoreRule // other ways of doing it
	Off              bool
	Source           string
	From             []string // where it is from, then what that changes
}

// RulePageOf lays out a rule.
func RulePageOf(l *calendar.Lore, r *calendar.Rule) *RulePage {
	w, ok := l.WorkByID(r.Work)
	if !ok {
		w = &calendar.Work{ID: r.Work, Title: wording.Name(r.Work)}
	}
	out := &RulePage{
		ID: r.ID, Title: titleOf(r, w), Work: w.Title, WorkID: w.ID, Class: wording.Name(string(w.Class)), For: wording.Sentence(wording.Capital(scopeWords(&r.For))),
		Opens: wording.Sentence(wording.Capital(r.Opens.Words())), Closes: wording.Sentence(wording.Capital(r.Closes.Words())),
		Effort: wording.Effort(r.Minutes), Materials: strings.Join(r.Materials, ", "),
		Not: wording.Sentence(r.Not), Why: wording.Sentence(r.Why), Late: wording.Sentence(r.TooLate),
		Cautions: l.CautionTexts(r, nil), Variant: wording.Lower(r.Variant), Instead: r.Instead, Off: r.Off,
		Source: wording.Sentence(r.Source), From: fromWords(r.From),
	}
	out.Often = "Once a season, best " + wording.Lower(string(cmp.Or(r.Best, calendar.BestEarly))) + " in the window."
	switch {
	case r.Once:
		out.Often = "Once in the life of a tree, best " + wording.Lower(string(cmp.Or(r.Best, calendar.BestEarly))) + " in the window."
	case r.Every > 0:
		out.Often = "Every " + wording.Count(r.Every, "day") + " while the window is open."
	}
	for i := range r.Needs {
		out.Needs = append(out.Needs, needWords(&r.Needs[i]))
	}
	out.Excludes = lowered(r.Excludes)
	if r.Rest > 0 {
		out.Rest = fmt.Sprintf("The tree then rests from hard work for %s.", seasons(r.Rest))
	}
	base := r.ID
	if r.Instead != "" {
		base = r.Instead
	}
	for i := range l.Rules {
		if o := &l.Rules[i]; o.ID != r.ID && (o.Instead == base || o.ID == r.Instead) {
			out.Variants = append(out.Variants, loreRule(o, w))
		}
	}
	return out
}

// fromWords says where something is from, then what it changes.
func fromWords(f *calendar.From) []string {
	var out []string
	for ; f != nil; f = f.Over {
		words := f.Words()
		if f.Layer == calendar.LayerBuiltIn {
			words += " (" + f.File + ")"
		}
		out = append(out, words)
	}
	return out
}

func seasons(n float64) string {
	if n == 1 {
		return "1 growing season"
	}
	return fmt.Sprintf("%g growing seasons", n)
}

// needWords says what must be true of a tree.
func needWords(n *calendar.Need) string {
	switch {
	case n.Strength != "":
		return "the tree is at least " + string(n.Strength)
	case n.Stage != "":
		return "the tree has come to the stage: " + wording.Lower(string(n.Stage))
	case n.Done != "":
		return "done before: " + wording.Lower(n.Done)
	case n.NotDone != "":
		return "not yet done: " + wording.Lower(n.NotDone)
	case n.Wired != nil && *n.Wired:
		return "wire is on the tree"
	case n.Wired != nil:
		return "no wire is on the tree"
	case n.FieldSoil != nil && *n.FieldSoil:
		return "some field soil is left"
	case n.FieldSoil != nil:
		return "no field soil is left"
	case n.Weeks > 0:
		return "since " + wording.Lower(n.Since) + ": " + fmt.Sprintf("%g weeks", n.Weeks)
	case n.Interval:
		return "since " + wording.Lower(n.Since) + ": what the species asks for, or " + seasons(n.Seasons)
	case n.Since != "":
		return "since " + wording.Lower(n.Since) + ": " + seasons(n.Seasons)
	}
	return "not in the same season: " + strings.Join(lowered(n.NotThisSeason), ", ")
}

// Lore writes the page.
func (p *Pages) Lore(w io.Writer, l *Lore) error { return p.write(w, "lore.html", l) }

// Rule writes the page of a rule.
func (p *Pages) Rule(w io.Writer, r *RulePage) error { return p.write(w, "lore-rule.html", r) }
