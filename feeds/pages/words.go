package pages

import (
	"io"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"budswell/calendar"
	"budswell/calendar/lore"
	"budswell/climate"
	"budswell/feeds/wording"
)

// Desk is the page on which a grower, or a club, sees what they say in the place of the rules.
type Desk struct {
	CSRF, Said string
	Path       string
	Club       string // its name; empty: a grower's own
	ClubPath   string
	Editor     bool
	Follows    bool // of a club: the reader's trees are planned by its rules
	Standing   []Standing
	Without    []string // trees that cannot be planned, and why
	Versions   []Version
}

// Standing is one thing that stands.
type Standing struct {
	Title, Link, Since, By, Why string
	Subject                     string
	Number                      int
	Text                        string
	Faults                      []LookSay // why it is left out; none: it holds
	TextLink                    string
	Opens, Closes               string // of a rule that holds, in words
}

// Version is one line of the history.
type Version struct {
	Number                     int
	At, By, Why, Title, Status string
	Text, Subject              string
}

// VersionPage is one version as it was written.
type VersionPage struct {
	Path     string
	Editor   bool
	Version  Version
	Newest   bool
	Withdraw bool
}

// Words is the form in which a rule, a species or a text is changed.
type Words struct {
	CSRF, Path string
	Club       string
	Title      string
	Mode       string // rule, species, text or withdraw
	Subject    string
	After      string // number of the version that was seen
	Problem    string
	Faults     []LookSay
	Inputs     []Input
	Ends       []WordsEnd
	Text       *Input
	Why        Input
	Other      string // the path of the text of the same
	Below      []string
	Example    bool
}

// WordsEnd is an end of a window that may hang on something else.
type WordsEnd struct {
	Title  string
	Open   bool
	Inputs []Input
}

// Preview is what a change would do.
type Preview struct {
	CSRF, Path, Title string
	Club              string
	Text              string
	Withdraw          bool
	Trees             []LookTree
	Nothing           bool
	NoTrees           bool
	Lost              []string // of one's own words that no longer hold then
	Without           []string // trees that could not be planned then
	Hidden            []Choice // what was typed
	Refused           bool
}

// LookTree is what changes for a tree, or for a group of a region.
type LookTree struct {
	ID, Name string
	Changes  []LookChange
}

// LookChange is what changes in one work.
type LookChange struct {
	Kind          string // comes, goes, moves or stays
	Does          string // the same in words
	Title, Season string
	Rows          []LookRow
	Says          []LookSay
}

// LookSay is a remark, and what the lore or the calendar says of it in English.
type LookSay struct{ Words, English string }

// LookRow is a window before or after.
type LookRow struct{ When, Opens, Closes, Likely string }

// LookTreesOf lays out what changes; of what a region shows, its name stands before.
func LookTreesOf(in *wording.Tongue, d *calendar.Difference, region string) []LookTree {
	var out []LookTree
	for i := range d.Trees {
		t := &d.Trees[i]
		p := t.After
		if p == nil {
			p = t.Before
		}
		v := LookTree{ID: "t" + strconv.Itoa(len(out)), Name: p.Tree.Name}
		if region != "" {
			v.Name = region + ": " + subjectName(in, p.Tree.ID, p.Species)
			v.ID = calendar.Slug(region) + "-" + p.Tree.ID
		}
		for k := range t.Works {
			v.Changes = append(v.Changes, lookChange(in, &t.Works[k]))
		}
		out = append(out, v)
	}
	return out
}

func lookChange(in *wording.Tongue, w *calendar.WorkDifference) LookChange {
	is := w.Work()
	out := LookChange{Title: plannedTitle(in, is), Season: in.Say("season {1}", is.Season)}
	switch {
	case w.Before == nil:
		out.Kind, out.Does = "comes", in.Say("comes")
	case w.After == nil:
		out.Kind, out.Does = "goes", in.Say("goes")
	case w.Moves():
		out.Kind, out.Does = "moves", in.Say("moves")
	default:
		out.Kind, out.Does = "stays", in.Say("stays on its days")
	}
	if w.Before == nil || w.After == nil || w.Moves() {
		if w.Before != nil {
			out.Rows = append(out.Rows, lookRow(in, in.Say("Now"), w.Before))
		}
		if w.After != nil {
			out.Rows = append(out.Rows, lookRow(in, in.Say("Then"), w.After))
		}
	}
	say := func(words, english string) { out.Says = append(out.Says, LookSay{words, english}) }
	if w.Before == nil {
		for _, c := range in.Cautions(is.Cautions) {
			say(in.Say("Caution: {1}", wording.First(c)), "")
		}
	}
	switch {
	case w.Before == nil && len(is.Blocked) > 0:
		say(in.Say("It waits:"), reason(in, is.Blocked[0]))
	case w.Blocks():
		say(in.Say("It waits from then on:"), reason(in, is.Blocked[0]))
	case w.Frees():
		say(in.Say("It no longer waits:"), reason(in, w.Before.Blocked[0]))
	}
	for _, c := range in.Cautions(w.Warns()) {
		say(in.Say("A caution more: {1}", c), "")
	}
	for _, c := range in.Cautions(w.Unwarns()) {
		say(in.Say("No longer said: {1}", c), "")
	}
	if w.Says() {
		say(in.Say("Said of it then: {1}, about {2} for a tree.", plannedTitle(in, w.After), in.Effort(w.After.Rule.Minutes)), "")
	}
	return out
}

func lookRow(in *wording.Tongue, when string, p *calendar.Planned) LookRow {
	if p.Due.Valid() {
		return LookRow{When: when, Opens: in.Say("Due {1}", in.Day(p.Due)), Closes: in.Say("every {1}", wording.Amount{N: p.Rule.Every, Thing: "day"})}
	}
	w := &p.Window
	return LookRow{when, spans(in, w.Opens), spans(in, w.Closes), in.Say("{1}, open {2}", in.Day(w.Likely), in.HowSure(w.Certainty))}
}

// spans writes the 10, 50 and 90 % days in short.
func spans(in *wording.Tongue, s climate.Spread) string {
	if s.P10 == s.P90 {
		return in.Day(s.P50)
	}
	return in.Say("{1} (10 to 90 %: {2} to {3})", in.Day(s.P50), in.ShortDay(s.P10), in.ShortDay(s.P90))
}

// mostFaults is how many faults of a text are told: who mends those sees the rest.
const mostFaults = 50

// FaultsOf says what is wrong with a text, one thing a line; own is the name of that text.
func FaultsOf(in *wording.Tongue, faults lore.Faults, own string) []LookSay {
	var out []LookSay
	for i, f := range faults {
		if i == mostFaults {
			return append(out, LookSay{in.Say("And {1} more.", len(faults)-i), ""})
		}
		where := in.Say("Line {1}:", f.Line)
		if f.File != own {
			where = in.Say("By this, in {1}, line {2}:", f.File, f.Line)
		}
		if f.Field != "" {
			where += " " + f.Field + ":"
		}
		if f.Value != "" {
			where += " “" + f.Value + "”:"
		}
		out = append(out, LookSay{where, f.Wrong + "."})
	}
	return out
}

// HiddenOf lays out what was typed, to be sent again.
func HiddenOf(typed url.Values, leave ...string) []Choice {
	var out []Choice
	for name, values := range typed {
		if slices.Contains(leave, name) {
			continue
		}
		for _, v := range values {
			out = append(out, Choice{Value: v, Label: name})
		}
	}
	slices.SortFunc(out, func(a, b Choice) int { return strings.Compare(a.Label+a.Value, b.Label+b.Value) })
	return out
}

// Desk writes the page.
func (p *Pages) Desk(w io.Writer, d *Desk) error { return p.write(w, "lore-desk.html", d) }

// Version writes the page of a version.
func (p *Pages) Version(w io.Writer, v *VersionPage) error { return p.write(w, "lore-version.html", v) }

// Words writes the form.
func (p *Pages) Words(w io.Writer, v *Words) error { return p.write(w, "lore-words.html", v) }

// Preview writes what a change would do.
func (p *Pages) Preview(w io.Writer, v *Preview) error { return p.write(w, "lore-look.html", v) }

// StandingOf lays out what stands; by is who wrote it, empty where that need not be said.
func StandingOf(in *wording.Tongue, a *calendar.Amendment, l *calendar.Lore, by string) Standing {
	out := Standing{
		Title: SubjectWords(in, a.Subject, l), Since: in.Day(climate.DateOf(a.At.UTC())), By: by, Why: a.Why,
		Subject: a.Subject, Number: a.Number, Text: a.Text,
	}
	switch kind, name, _ := strings.Cut(a.Subject, " "); kind {
	case "rule":
		out.Link = "/lore/rules/" + name
		if r, ok := l.RuleByID(name); ok {
			out.Opens, out.Closes = wording.Sentence(wording.Capital(r.Opens.Words())), wording.Sentence(wording.Capital(r.Closes.Words()))
		}
	case "species":
		out.Link = "/lore/species/" + calendar.Slug(name)
	}
	return out
}

// SubjectWords makes a heading of a subject: "Repot (rule repot-deciduous)" where the lore
// knows the rule, "Caution my-own".
func SubjectWords(in *wording.Tongue, subject string, l *calendar.Lore) string {
	kind, name, _ := strings.Cut(subject, " ")
	if r, ok := l.RuleByID(name); ok && kind == "rule" {
		if w, ok := l.WorkByID(r.Work); ok {
			return titleOf(in, r, w) + " (" + subject + ")"
		}
	}
	return SubjectName(in, subject)
}

// SubjectName makes a heading of a subject by its name alone.
func SubjectName(in *wording.Tongue, subject string) string {
	switch kind, name, _ := strings.Cut(subject, " "); kind {
	case "rule":
		return in.Say("Rule {1}", name)
	case "species":
		return in.Say("Species {1}", name)
	case "caution":
		return in.Say("Caution {1}", name)
	}
	return wording.Capital(subject)
}

// VersionOf lays out a version; newest says that none of its subject came after it.
func VersionOf(in *wording.Tongue, a *calendar.Amendment, l *calendar.Lore, by string, newest bool) Version {
	out := Version{Number: a.Number, At: in.Day(climate.DateOf(a.At.UTC())), By: by, Why: a.Why, Title: SubjectWords(in, a.Subject, l), Text: a.Text, Subject: a.Subject}
	switch {
	case a.Withdrawn:
		out.Status = in.Say("taken back")
	case newest:
		out.Status = in.Say("written, and stands")
	default:
		out.Status = in.Say("written")
	}
	return out
}
