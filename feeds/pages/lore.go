package pages

import (
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
func LoreOf(in *wording.Tongue, l *calendar.Lore, a Asked) *Lore {
	out := &Lore{Query: a.Query, Total: len(l.Rules) + len(l.Off)}
	all := slices.Concat(l.Rules, l.Off)
	want := strings.ToLower(strings.Join(strings.Fields(a.Query), " "))
	has := func(text string) bool { return strings.Contains(strings.ToLower(text), want) }
	var rule func(r *calendar.Rule, w *calendar.Work) bool
	var kind func(s *calendar.Species) bool
	switch {
	case want != "":
		out.Found = in.Say("Found for “{1}”", a.Query)
		kind = func(s *calendar.Species) bool {
			return has(s.Name) || has(in.Common(s.Name, nil)) || slices.ContainsFunc(s.Common, has) || slices.ContainsFunc(s.Synonyms, has)
		}
		rule = func(r *calendar.Rule, w *calendar.Work) bool {
			return has(titleOf(in, r, w)) || has(titleOf(wording.English, r, w)) || has(r.ID) || has(w.Title) || slices.ContainsFunc(w.Also, has)
		}
	case a.Work != "":
		w, ok := l.WorkByID(a.Work)
		if !ok {
			return out
		}
		out.Found = in.Say("Rules for: {1}", in.Title(w.Title))
		rule = func(r *calendar.Rule, _ *calendar.Work) bool { return r.Work == w.ID }
		kind = func(*calendar.Species) bool { return false }
	case a.Group != "":
		g := phenology.Group(a.Group)
		out.Found = in.Group(a.Group)
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
			out.Rules = append(out.Rules, loreRule(in, r, w))
		}
	}
	for i := range l.Species {
		if kind != nil && kind(&l.Species[i]) {
			out.SpeciesHere = append(out.SpeciesHere, loreSpecies(in, &l.Species[i]))
		}
	}
	for i := range l.Works {
		if w := &l.Works[i]; counts[w.ID] > 0 {
			out.Works = append(out.Works, LoreWork{w.ID, in.Title(w.Title), in.Name(string(w.Class)), counts[w.ID]})
		}
	}
	for _, g := range phenology.Groups() {
		out.Groups = append(out.Groups, Choice{Value: string(g), Label: in.Group(string(g))})
	}
	return out
}

func loreSpecies(in *wording.Tongue, s *calendar.Species) LoreSpecies {
	return LoreSpecies{calendar.Slug(s.Name), s.Name, commonOf(in, s)}
}

// commonOf is what people call a species in the reader's language.
func commonOf(in *wording.Tongue, s *calendar.Species) string {
	if in.Foreign() {
		return in.Common(s.Name, nil)
	}
	return strings.Join(s.Common, ", ")
}

func loreRule(in *wording.Tongue, r *calendar.Rule, w *calendar.Work) LoreRule {
	out := LoreRule{ID: r.ID, Title: titleOf(in, r, w), For: scopeWords(in, &r.For), Off: r.Off}
	if r.From != nil && r.From.Layer != calendar.LayerBuiltIn {
		out.From = fromOf(in, r.From)
	}
	return out
}

func titleOf(in *wording.Tongue, r *calendar.Rule, w *calendar.Work) string {
	if r.Title != "" {
		return in.Title(r.Title)
	}
	return in.Title(w.Title)
}

// scopeWords says which trees a rule is for.
func scopeWords(in *wording.Tongue, c *calendar.Scope) string {
	var parts []string
	list := func(say func(string) string, ids []string) {
		if len(ids) > 0 {
			parts = append(parts, say(strings.Join(ids, ", ")))
		}
	}
	groups := make([]string, len(c.Groups))
	for i, g := range c.Groups {
		groups[i] = in.Group(string(g))
		if !in.Foreign() { // German writes nouns with capitals
			groups[i] = strings.ToLower(groups[i][:1]) + groups[i][1:]
		}
	}
	plain := func(all string) string { return all }
	list(plain, groups)
	list(plain, c.Species)
	if len(parts) == 0 {
		parts = append(parts, in.Say("all trees"))
	}
	list(func(all string) string { return in.Say("not {1}", all) }, c.Except)
	list(func(all string) string { return in.Say("with: {1}", all) }, lowered(in, c.Traits))
	list(func(all string) string { return in.Say("without: {1}", all) }, lowered(in, c.Without))
	list(func(all string) string { return in.Say("that get {1}", all) }, lowered(in, c.Pests))
	list(func(all string) string { return in.Say("stage: {1}", all) }, lowered(in, c.Stages))
	list(func(all string) string { return in.Say("origin: {1}", all) }, lowered(in, c.Origins))
	list(func(all string) string { return in.Say("shown {1}", all) }, lowered(in, c.Looks))
	return strings.Join(parts, "; ")
}

func lowered[T ~string](in *wording.Tongue, ids []T) []string {
	out := make([]string, len(ids))
	for i, id := range ids {
		out[i] = in.Lower(string(id))
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
func RulePageOf(in *wording.Tongue, l *calendar.Lore, r *calendar.Rule) *RulePage {
	w, ok := l.WorkByID(r.Work)
	if !ok {
		w = &calendar.Work{ID: r.Work, Title: in.Name(r.Work)}
	}
	out := &RulePage{
		ID: r.ID, Title: titleOf(in, r, w), Work: in.Title(w.Title), WorkID: w.ID, Class: in.Name(string(w.Class)), For: wording.Sentence(wording.Capital(scopeWords(in, &r.For))),
		Opens: wording.Sentence(wording.Capital(r.Opens.Words())), Closes: wording.Sentence(wording.Capital(r.Closes.Words())),
		Effort: in.Effort(r.Minutes), Materials: strings.Join(r.Materials, ", "),
		Not: wording.Sentence(r.Not), Why: wording.Sentence(r.Why), Late: wording.Sentence(r.TooLate),
		Cautions: in.EachCaution(l.CautionTexts(r, nil)), Variant: in.Lower(r.Variant), Instead: r.Instead, Off: r.Off,
		Source: wording.Sentence(r.Source), From: fromWords(in, r.From),
	}
	best := in.Say("early")
	switch r.Best {
	case calendar.BestMiddle:
		best = in.Say("midway")
	case calendar.BestLate:
		best = in.Say("late")
	}
	out.Often = in.Say("Once a season, best {1} in the window.", best)
	switch {
	case r.Once:
		out.Often = in.Say("Once in the life of a tree, best {1} in the window.", best)
	case r.Every > 0:
		out.Often = in.Say("Every {1} while the window is open.", wording.Amount{N: r.Every, Thing: "day"})
	}
	for i := range r.Needs {
		out.Needs = append(out.Needs, needWords(in, &r.Needs[i]))
	}
	out.Excludes = lowered(in, r.Excludes)
	if r.Rest > 0 {
		out.Rest = in.Say("The tree then rests from hard work for {1}.", seasons(in, r.Rest))
	}
	base := r.ID
	if r.Instead != "" {
		base = r.Instead
	}
	for i := range l.Rules {
		if o := &l.Rules[i]; o.ID != r.ID && (o.Instead == base || o.ID == r.Instead) {
			out.Variants = append(out.Variants, loreRule(in, o, w))
		}
	}
	return out
}

// fromWords says where something is from, then what it changes.
func fromWords(in *wording.Tongue, f *calendar.From) []string {
	var out []string
	for ; f != nil; f = f.Over {
		words := fromOf(in, f)
		if f.Layer == calendar.LayerBuiltIn {
			words += " (" + f.File + ")"
		}
		out = append(out, words)
	}
	return out
}

// fromOf says where something is from.
func fromOf(in *wording.Tongue, f *calendar.From) string {
	if f == nil {
		return ""
	}
	out := ""
	switch f.Layer {
	case calendar.LayerClub:
		out = in.Say("club {1}", f.Name)
	case calendar.LayerGrower:
		out = in.Say("your own")
	case calendar.LayerFile:
		return in.Say("the file {1}", f.File)
	default:
		return in.Say("built in")
	}
	if f.Since.Valid() {
		out = in.Say("{1} since {2}", out, in.Day(f.Since))
	}
	if f.By != "" {
		out = in.Say("{1}, by {2}", out, f.By)
	}
	return out
}

func seasons(in *wording.Tongue, n float64) string {
	if n == 1 {
		return in.Say("1 growing season")
	}
	return in.Say("{1} growing seasons", in.Number(n, 2))
}

// needWords says what must be true of a tree.
func needWords(in *wording.Tongue, n *calendar.Need) string {
	switch {
	case n.Strength != "":
		return in.Say("the tree is at least {1}", in.Lower(string(n.Strength)))
	case n.Stage != "":
		return in.Say("the tree has come to the stage: {1}", in.Lower(string(n.Stage)))
	case n.Done != "":
		return in.Say("done before: {1}", in.Lower(n.Done))
	case n.NotDone != "":
		return in.Say("not yet done: {1}", in.Lower(n.NotDone))
	case n.Wired != nil && *n.Wired:
		return in.Say("wire is on the tree")
	case n.Wired != nil:
		return in.Say("no wire is on the tree")
	case n.FieldSoil != nil && *n.FieldSoil:
		return in.Say("some field soil is left")
	case n.FieldSoil != nil:
		return in.Say("no field soil is left")
	case n.Weeks > 0:
		return in.Say("since {1}: {2} weeks", in.Lower(n.Since), in.Number(n.Weeks, 2))
	case n.Interval:
		return in.Say("since {1}: what the species asks for, or {2}", in.Lower(n.Since), seasons(in, n.Seasons))
	case n.Since != "":
		return in.Say("since {1}: {2}", in.Lower(n.Since), seasons(in, n.Seasons))
	}
	return in.Say("not in the same season: {1}", strings.Join(lowered(in, n.NotThisSeason), ", "))
}

// Lore writes the page.
func (p *Pages) Lore(w io.Writer, l *Lore) error { return p.write(w, "lore.html", l) }

// Rule writes the page of a rule.
func (p *Pages) Rule(w io.Writer, r *RulePage) error { return p.write(w, "lore-rule.html", r) }
