package wording

import (
	"embed"
	"fmt"
	"strconv"
	"strings"

	"github.com/goccy/go-yaml"
	"golang.org/x/text/feature/plural"
	xlanguage "golang.org/x/text/language"

	"budswell/calendar"
)

// Tongue puts things into words in the language, units and form of dates that
// somebody reads. What a language does not have is said in English.
type Tongue struct {
	*language
	locale calendar.Locale
}

// language is what a file of languages holds.
type language struct {
	Tag     string `yaml:"language"` // BCP 47
	Called  string `yaml:"called"`   // its name in itself
	Decimal string `yaml:"decimal"`  // between a number and its fraction

	Months        []string            `yaml:"months"` // January first
	ShortMonths   []string            `yaml:"short_months"`
	Weekdays      []string            `yaml:"weekdays"` // Sunday first
	ShortWeekdays []string            `yaml:"short_weekdays"`
	Seasons       []string            `yaml:"seasons"` // winter first
	Dates         map[string]dateForm `yaml:"dates"`   // by calendar's forms of dates

	Things   map[string]cases  `yaml:"things"`   // what is counted, by its English name
	Names    map[string]string `yaml:"names"`    // of ids: stages, phases, groups, classes
	Works    map[string]string `yaml:"works"`    // titles by id of the work
	Cautions map[string]string `yaml:"cautions"` // texts by id of the caution
	Species  map[string]string `yaml:"species"`  // common names by botanical name

	// Sentences are those of pages and of Go code, by the English. What stands in braces
	// is filled in, {1} the first; {1 dative} asks for a case of what is counted. In a
	// page's, <1> and </1> are its first element within the line and that one's end. All
	// may change places.
	Sentences map[string]string `yaml:"sentences"`

	titles   map[string]string // of works, by the English
	cautions map[string]string // by the English
	tag      xlanguage.Tag
}

// dateForm is how a day is written: with its year, without, and with its weekday.
type dateForm struct {
	Day   string `yaml:"day"`
	Short string `yaml:"short"`
	Week  string `yaml:"week"`
}

// cases are the forms of a noun: by case, "plain" where none is asked for, and by form
// of number as CLDR names them.
type cases map[string]map[string]string

//go:embed languages/*.yaml
var files embed.FS

var (
	// languages are all there are; English, which always holds, is the first.
	languages = mustLoad("en", "de")
	matcher   = newMatcher(languages)

	// English is the tongue of those who chose nothing.
	English = In(calendar.DefaultLocale(), "")
)

// mustLoad reads the embedded languages; tests read them all, so none fails later.
func mustLoad(tags ...string) []*language {
	var out []*language
	for _, tag := range tags {
		text, err := files.ReadFile("languages/" + tag + ".yaml")
		if err != nil {
			panic(err)
		}
		l := &language{}
		if err := yaml.UnmarshalWithOptions(text, l, yaml.Strict()); err != nil {
			panic(fmt.Errorf("languages/%s.yaml: %w", tag, err))
		}
		l.tag = xlanguage.MustParse(l.Tag)
		l.titles, l.cautions = map[string]string{}, map[string]string{}
		out = append(out, l)
		for id, english := range out[0].Works {
			l.titles[english] = l.Works[id]
		}
		for id, english := range out[0].Cautions {
			l.cautions[english] = l.Cautions[id]
		}
	}
	return out
}

func newMatcher(all []*language) xlanguage.Matcher {
	var tags []xlanguage.Tag
	for _, l := range all {
		tags = append(tags, l.tag)
	}
	return xlanguage.NewMatcher(tags)
}

// longestAccept is how much of an Accept-Language header is read; browsers send less.
const longestAccept = 500

// In returns the tongue of a locale. Where that names no language, it is the one of
// those here that an Accept-Language header likes best, and else English.
func In(l calendar.Locale, accept string) *Tongue {
	want := []xlanguage.Tag{}
	if tag, err := xlanguage.Parse(l.Language); err == nil && l.Language != "" {
		want = append(want, tag)
	} else if l.Language == "" && len(accept) <= longestAccept {
		want, _, _ = xlanguage.ParseAcceptLanguage(accept) // a bad one asks for nothing
	}
	_, i, sure := matcher.Match(want...)
	if sure == xlanguage.No {
		i = 0
	}
	return &Tongue{languages[i], l}
}

// Lang returns the language's tag, as the lang attribute of a page names it.
func (t *Tongue) Lang() string { return t.Tag }

// Locale returns how its reader reads.
func (t *Tongue) Locale() calendar.Locale { return t.locale }

// Spoken is a language to choose.
type Spoken struct{ Tag, Name string }

// Languages lists those that there are, English first.
func Languages() []Spoken {
	var out []Spoken
	for _, l := range languages {
		out = append(out, Spoken{l.Tag, l.Called})
	}
	return out
}

// Amount is a number of things, so that a sentence can ask for its case.
type Amount struct {
	N     int
	Thing string // as [Count] takes it
}

// Sentence returns what the language has for an English sentence or a unit of a page,
// and false where it has nothing.
func (t *Tongue) Sentence(english string) (string, bool) {
	s, ok := t.Sentences[english]
	return s, ok
}

// Say says a sentence that is written in English in Go code, its braces filled in: {1}
// is the first of what to fill in.
func (t *Tongue) Say(english string, fill ...any) string {
	s, ok := t.Sentence(english)
	if !ok {
		s = english
	}
	if len(fill) == 0 {
		return s
	}
	var b strings.Builder
	for {
		at := strings.IndexByte(s, '{')
		end := strings.IndexByte(s, '}')
		if at < 0 || end < at {
			break
		}
		b.WriteString(s[:at])
		number, inCase, _ := strings.Cut(s[at+1:end], " ")
		if n, err := strconv.Atoi(number); err == nil && n >= 1 && n <= len(fill) {
			b.WriteString(t.filled(fill[n-1], inCase))
		} else {
			b.WriteString(s[at : end+1])
		}
		s = s[end+1:]
	}
	return b.String() + s
}

func (t *Tongue) filled(v any, inCase string) string {
	switch v := v.(type) {
	case string:
		return v
	case Amount:
		return t.amount(v.N, v.Thing, inCase)
	}
	return fmt.Sprint(v)
}

// amount writes a number of things in a case.
func (t *Tongue) amount(n int, thing, inCase string) string {
	words := t.Things[thing]
	form := "other"
	if plural.Cardinal.MatchPlural(t.tag, max(n, -n), 0, 0, 0, 0) == plural.One {
		form = "one"
	}
	word := words[inCase][form]
	if word == "" {
		word = words["plain"][form]
	}
	if word == "" { // a thing that the language does not know
		if word = thing; n != 1 {
			word += "s"
		}
	}
	return strconv.Itoa(n) + " " + word
}

// Number writes a number with so many decimals at most, and a true minus.
func (t *Tongue) Number(x float64, decimals int) string {
	s := strconv.FormatFloat(x, 'f', decimals, 64)
	if strings.Contains(s, ".") {
		s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	}
	if s == "-0" {
		s = "0"
	}
	return strings.NewReplacer(".", t.Decimal, "-", "\u2212").Replace(s)
}

// Name makes a heading of an id: "bud-swell" becomes "Bud swell".
func (t *Tongue) Name(id string) string { return Capital(t.Lower(id)) }

// Lower makes words of an id, as they stand within a sentence: "bud-swell" becomes
// "bud swell".
func (t *Tongue) Lower(id string) string {
	if s := t.Names[id]; s != "" {
		return s
	}
	if s := t.Works[id]; s != "" && t.Foreign() {
		return s
	}
	return strings.ReplaceAll(id, "-", " ")
}

// Title translates the title of a work or of a rule where it is one that budswell
// itself has; one that somebody wrote stays.
func (t *Tongue) Title(title string) string {
	if s := t.titles[title]; s != "" {
		return s
	}
	return t.Say(title)
}

// Common returns the common name of a species in the language: that of the language's
// file, else the English one in an English tongue, else nothing.
func (t *Tongue) Common(botanical string, english []string) string {
	switch s := t.Species[botanical]; {
	case s != "":
		return s
	case t.language == languages[0] && len(english) > 0:
		return english[0]
	}
	return ""
}

// Botanical returns the botanical name of a species that somebody calls by its common name
// in the language; what is no such name stays.
func (t *Tongue) Botanical(name string) string {
	for botanical, common := range t.Species {
		if strings.EqualFold(common, strings.TrimSpace(name)) {
			return botanical
		}
	}
	return name
}

// Group names the trees of a growth group: "Deciduous trees", "Single flush pines".
func (t *Tongue) Group(id string) string {
	if s := t.Names["group "+id]; s != "" {
		return s
	}
	switch n := t.Name(id); {
	case strings.HasSuffix(id, "pine"), strings.HasSuffix(id, "conifer"), strings.HasSuffix(id, "evergreen"):
		return n + "s"
	case id == "spruce-fir":
		return "Spruces, firs, hemlocks, yews and cedars"
	case id == "juniper-cypress":
		return "Junipers and cypresses"
	default:
		return n + " trees"
	}
}

// Subject names a growth group by its id or, where a species is named, that with what people
// call it: "Field maple (Acer campestre)".
func (t *Tongue) Subject(group, species string, common []string) string {
	if species == "" {
		return t.Group(group)
	}
	if called := t.Common(species, common); called != "" {
		return Capital(called) + " (" + species + ")"
	}
	return species
}

// AsEnglish returns the tongue in which the same reader is told what there is in English
// only: in their form of dates and their units.
func (t *Tongue) AsEnglish() *Tongue { return &Tongue{languages[0], t.locale} }

// Foreign reports whether what budswell itself wrote in English is not of the language.
func (t *Tongue) Foreign() bool { return t.language != languages[0] }

// Cautions returns the sentences of cautions, without one that says no more than
// [LookFirst].
func (t *Tongue) Cautions(texts []string) []string {
	var out []string
	for _, s := range texts {
		if strings.Contains(strings.ToLower(s), "look at the tree first") {
			continue
		}
		out = append(out, s)
	}
	return t.EachCaution(out)
}

// EachCaution returns the sentences of cautions, of each.
func (t *Tongue) EachCaution(texts []string) []string {
	var out []string
	for _, s := range texts {
		if here := t.cautions[s]; here != "" {
			s = here
		}
		if s = Sentence(s); s != "" {
			out = append(out, s)
		}
	}
	return out
}

// And joins words: "a", "a and b", "a, b and c".
func (t *Tongue) And(words []string) string {
	if n := len(words); n > 1 {
		return t.Say("{1} and {2}", strings.Join(words[:n-1], ", "), words[n-1])
	}
	return strings.Join(words, "")
}
