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
	Faults                      []string // why it is left out; none: it holds
	TextLink                    string
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
	Faults     []string
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
	Kind, Title, Season string
	Rows                []LookRow
	Says                []string
}

// LookRow is a window before or after.
type LookRow struct{ When, Opens, Closes, Likely string }

// LookTreesOf lays out what changes; of what a region shows, its name stands before.
func LookTreesOf(d *calendar.Difference, region string) []LookTree {
	var out []LookTree
	for i := range d.Trees {
		t := &d.Trees[i]
		p := t.After
		if p == nil {
			p = t.Before
		}
		v := LookTree{ID: "t" + strconv.Itoa(len(out)), Name: p.Tree.Name}
		if region != "" {
			v.Name = region + ": " + wording.Group(p.Tree.ID)
			v.ID = calendar.Slug(region) + "-" + p.Tree.ID
		}
		for k := range t.Works {
			v.Changes = append(v.Changes, lookChange(&t.Works[k]))
		}
		out = append(out, v)
	}
	return out
}

func lookChange(w *calendar.WorkDifference) LookChange {
	is := w.Work()
	out := LookChange{Title: is.Title, Season: "season " + strconv.Itoa(is.Season)}
	switch {
	case w.Before == nil:
		out.Kind = "comes"
	case w.After == nil:
		out.Kind = "goes"
	case w.Moves():
		out.Kind = "moves"
	default:
		out.Kind = "stays on its days"
	}
	if w.Before == nil || w.After == nil || w.Moves() {
		if w.Before != nil {
			out.Rows = append(out.Rows, lookRow("Now", w.Before))
		}
		if w.After != nil {
			out.Rows = append(out.Rows, lookRow("Then", w.After))
		}
	}
	if w.Before == nil {
		for _, c := range wording.Cautions(is.Cautions) {
			out.Says = append(out.Says, "Caution: "+wording.First(c))
		}
	}
	switch {
	case w.Before == nil && len(is.Blocked) > 0:
		out.Says = append(out.Says, "It waits: "+reason(is.Blocked[0]))
	case w.Blocks():
		out.Says = append(out.Says, "It waits from then on: "+reason(is.Blocked[0]))
	case w.Frees():
		out.Says = append(out.Says, "It no longer waits: "+reason(w.Before.Blocked[0]))
	}
	for _, c := range w.Warns() {
		out.Says = append(out.Says, "A caution more: "+wording.Sentence(c))
	}
	for _, c := range w.Unwarns() {
		out.Says = append(out.Says, "No longer said: "+wording.Sentence(c))
	}
	if w.Says() {
		out.Says = append(out.Says, "Said of it then: "+w.After.Title+", about "+wording.Effort(w.After.Rule.Minutes)+" for a tree.")
	}
	return out
}

func lookRow(when string, p *calendar.Planned) LookRow {
	if p.Due.Valid() {
		return LookRow{When: when, Opens: "Due " + wording.Day(p.Due), Closes: "every " + wording.Count(p.Rule.Every, "day")}
	}
	w := &p.Window
	return LookRow{when, spans(w.Opens), spans(w.Closes), wording.Day(w.Likely) + ", open " + wording.HowSure(w.Certainty)}
}

// spans writes the 10, 50 and 90 % days in short.
func spans(s climate.Spread) string {
	if s.P10 == s.P90 {
		return wording.Day(s.P50)
	}
	return wording.Day(s.P50) + " (10 to 90 %: " + wording.ShortDay(s.P10) + " to " + wording.ShortDay(s.P90) + ")"
}

// mostFaults is how many faults of a text are told: who mends those sees the rest.
const mostFaults = 50

// FaultsOf says what is wrong with a text, one thing a line; own is the name of that text.
func FaultsOf(faults lore.Faults, own string) []string {
	var out []string
	for i, f := range faults {
		if i == mostFaults {
			return append(out, "And "+strconv.Itoa(len(faults)-i)+" more.")
		}
		where := "Line " + strconv.Itoa(f.Line) + ": "
		if f.File != own {
			where = "By this, in " + f.File + ", line " + strconv.Itoa(f.Line) + ": "
		}
		if f.Field != "" {
			where += f.Field + ": "
		}
		if f.Value != "" {
			where += "“" + f.Value + "”: "
		}
		out = append(out, where+f.Wrong+".")
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
func StandingOf(a *calendar.Amendment, l *calendar.Lore, by string) Standing {
	out := Standing{
		Title: SubjectWords(a.Subject, l), Since: wording.Day(climate.DateOf(a.At.UTC())), By: by, Why: a.Why,
		Subject: a.Subject, Number: a.Number, Text: a.Text,
	}
	switch kind, name, _ := strings.Cut(a.Subject, " "); kind {
	case "rule":
		out.Link = "/lore/rules/" + name
	case "species":
		out.Link = "/lore/species/" + calendar.Slug(name)
	}
	return out
}

// SubjectWords makes a heading of a subject: "Repot (rule repot-deciduous)" where the lore
// knows the rule, "Caution my-own".
func SubjectWords(subject string, l *calendar.Lore) string {
	kind, name, _ := strings.Cut(subject, " ")
	if r, ok := l.RuleByID(name); ok && kind == "rule" {
		if w, ok := l.WorkByID(r.Work); ok {
			return titleOf(r, w) + " (" + subject + ")"
		}
	}
	return wording.Capital(subject)
}

// VersionOf lays out a version; newest says that none of its subject came after it.
func VersionOf(a *calendar.Amendment, l *calendar.Lore, by string, newest bool) Version {
	out := Version{Number: a.Number, At: wording.Day(climate.DateOf(a.At.UTC())), By: by, Why: a.Why, Title: SubjectWords(a.Subject, l), Text: a.Text, Subject: a.Subject}
	switch {
	case a.Withdrawn:
		out.Status = "taken back"
	case newest:
		out.Status = "written, and stands"
	default:
		out.Status = "written"
	}
	return out
}
