package calendar

import (
	"cmp"
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"

	"budswell/climate"
)

// Draft is a tree as a person writes it into a form or a row of a sheet, not yet read.
// Name, species and origin are wanted; all others may be empty.
type Draft struct {
	Name, Species, Origin string

	// HadSince is the day on which a collected or field-grown tree was dug; of others
	// it is kept as a note. Repotted is the day of the last repot. Both may be a day,
	// YYYY-MM-DD, a month, YYYY-MM, or a year, YYYY, which is then taken for its spring.
	HadSince, Repotted string

	Strength, Stage   string // as the tree is today
	Bench             string // its name or id
	Container, Litres string
	Note              string
}

// DraftField is a field of a [Draft]: its name as forms and sheets have it, and where it is kept.
type DraftField struct {
	Name string
	Of   func(*Draft) *string
}

// DraftFields lists the fields in the order in which people read them.
func DraftFields() []DraftField {
	return []DraftField{
		{"name", func(d *Draft) *string { return &d.Name }},
		{"species", func(d *Draft) *string { return &d.Species }},
		{"origin", func(d *Draft) *string { return &d.Origin }},
		{"had since", func(d *Draft) *string { return &d.HadSince }},
		{"last repot", func(d *Draft) *string { return &d.Repotted }},
		{"strength", func(d *Draft) *string { return &d.Strength }},
		{"stage", func(d *Draft) *string { return &d.Stage }},
		{"bench", func(d *Draft) *string { return &d.Bench }},
		{"container", func(d *Draft) *string { return &d.Container }},
		{"litres", func(d *Draft) *string { return &d.Litres }},
		{"note", func(d *Draft) *string { return &d.Note }},
	}
}

// DraftFault says what is wrong with a field of a draft.
type DraftFault struct {
	Field string // of [DraftFields]
	Value string
	Want  string // what would be right
}

// Empty reports whether nothing was written.
func (d *Draft) Empty() bool {
	return !slices.ContainsFunc(DraftFields(), func(f DraftField) bool { return strings.TrimSpace(*f.Of(d)) != "" })
}

// Tree reads the draft of a tree that is to stand at a place, beside others that are kept
// already; today is the day there. It returns all that is wrong, and then no tree.
func (d *Draft) Tree(l *Lore, at *Place, others []Kept, today climate.Date) (*Tree, []DraftFault) {
	r := draftReader{draft: d, site: at.Site, today: today}
	t := &Tree{
		Name: strings.Join(strings.Fields(d.Name), " "), Species: strings.TrimSpace(d.Species), Origin: Origin(word(d.Origin)),
		Note: strings.TrimSpace(d.Note), Container: Container{Kind: strings.ToLower(strings.TrimSpace(d.Container))},
	}
	t.ID = freeTreeID(t.Name, others)
	for _, f := range DraftFields() {
		if v := *f.Of(d); !utf8.ValidString(v) || strings.ContainsRune(v, 0) {
			r.no(f.Name, strings.ToValidUTF8(v, "?"), "want text in UTF-8")
		}
	}
	for i := range others {
		if o := others[i].Name; t.Name != "" && strings.EqualFold(o, t.Name) {
			r.no("name", d.Name, "there is a tree of this name; want another, such as "+strconv.Quote(nextName(t.Name, others)))
			break
		}
	}
	r.litres(t)
	t.Bench = r.bench(at.Benches)
	had, repotted := r.day("had since", d.HadSince), r.day("last repot", d.Repotted)
	if repotted.Valid() && had.Valid() && t.Origin.dug() && repotted < had {
		r.no("last repot", d.Repotted, "want a day after that on which the tree was dug, "+had.String())
	}
	switch {
	case had.Valid() && t.Origin.dug():
		t.Log = append(t.Log, Entry{On: had, Did: WorkCollect})
	case had.Valid():
		t.Note = strings.TrimSpace(t.Note + "\nHad since " + strings.TrimSpace(d.HadSince) + ".")
	}
	if repotted.Valid() {
		t.Log = append(t.Log, Entry{On: repotted, Did: WorkRepot})
	}
	if j := (Judgement{Stage: Stage(word(d.Stage)), Strength: Strength(word(d.Strength))}); j != (Judgement{}) {
		t.Log = append(t.Log, Entry{On: today, Judged: &j})
	}
	for _, f := range t.Check(l, at.Site, today) {
		r.take(f)
	}
	if s, err := l.SpeciesNamed(t.Species); err == nil && s.Name != "" {
		t.Species = s.Name
	}
	if len(r.faults) > 0 {
		return nil, r.faults
	}
	return t, nil
}

// word is an id as people write it: "Field grown" is field-grown.
func word(s string) string { return strings.Join(strings.Fields(strings.ToLower(s)), "-") }

type draftReader struct {
	draft  *Draft
	site   climate.Site
	today  climate.Date
	faults []DraftFault
}

func (r *draftReader) no(field, value, want string) {
	if !slices.ContainsFunc(r.faults, func(f DraftFault) bool { return f.Field == field }) {
		r.faults = append(r.faults, DraftFault{field, value, want})
	}
}

// take tells a fault of the tree as one of the field that it comes from.
func (r *draftReader) take(f TreeFault) {
	name := map[string]string{
		"judged.stage": "stage", "judged.strength": "strength", "container.kind": "container", "container.litres": "litres",
		"did": "had since", "on": "last repot",
	}[f.Field]
	name = cmp.Or(name, f.Field)
	value := f.Value
	for _, d := range DraftFields() {
		if d.Name == name {
			value = *d.Of(r.draft)
		}
	}
	// A page has a list in place of the command.
	r.no(name, value, strings.Replace(f.Want, "that budswell lore show lists", "of the list", 1))
}

var draftDay = regexp.MustCompile(`^(\d{4})(?:-(\d{2}))?(?:-(\d{2}))?$`)

// The day that a year, or a month, is taken for.
const springMonth, midMonth = time.March, 15

func (r *draftReader) day(field, value string) climate.Date {
	text := strings.TrimSpace(value)
	if text == "" {
		return climate.NoDate
	}
	const want = "want a day that exists, a month or a year: 2021-03-20, 2021-03 or 2021"
	m := draftDay.FindStringSubmatch(text)
	if m == nil {
		r.no(field, value, want)
		return climate.NoDate
	}
	var on climate.Date
	switch {
	case m[3] != "":
		d, err := climate.ParseDate(text)
		if err != nil {
			r.no(field, value, want)
			return climate.NoDate
		}
		on = d
	case m[2] != "":
		month, _ := strconv.Atoi(m[2])
		year, _ := strconv.Atoi(m[1])
		if month < 1 || month > 12 {
			r.no(field, value, want)
			return climate.NoDate
		}
		if on = climate.NewDate(year, time.Month(month), midMonth); on > r.today {
			on = climate.NewDate(year, time.Month(month), 1)
		}
	default:
		year, _ := strconv.Atoi(m[1])
		if on = r.site.Turn(climate.MonthDay{Month: springMonth, Day: midMonth}, year); on > r.today {
			on = climate.NewDate(year, time.January, 1)
		}
	}
	const oldest = 150 * 366 // days: no one has had a tree for longer
	switch {
	case on > r.today:
		r.no(field, value, "want a day up to today, "+r.today.String())
		return climate.NoDate
	case on < r.today-oldest:
		r.no(field, value, "want a day within the last 150 years")
		return climate.NoDate
	}
	return on
}

func (r *draftReader) litres(t *Tree) {
	text := strings.TrimSpace(strings.Replace(r.draft.Litres, ",", ".", 1))
	if text == "" {
		return
	}
	v, err := strconv.ParseFloat(text, 64)
	if err != nil || !(v >= 0.05 && v <= 500) {
		r.no("litres", r.draft.Litres, "want 0.05 to 500 litres, or nothing where it is not known")
		return
	}
	t.Container.Litres = v
}

func (r *draftReader) bench(benches []Bench) string {
	name := strings.TrimSpace(r.draft.Bench)
	if name == "" {
		return ""
	}
	var names []string
	for _, b := range benches {
		if b.ID == name || strings.EqualFold(b.Name, name) {
			return b.ID
		}
		names = append(names, b.Name)
	}
	want := "there are no benches here yet; want nothing, for in the open"
	if len(names) > 0 {
		want = "want one of " + strings.Join(names, ", ") + ", or nothing, for in the open"
	}
	r.no("bench", r.draft.Bench, want)
	return ""
}

// freeTreeID makes an id of a name that no other tree has.
func freeTreeID(name string, others []Kept) string {
	slug := cmp.Or(Slug(name), "tree")
	id := slug
	for n := 2; slices.ContainsFunc(others, func(o Kept) bool { return o.ID == id }); n++ {
		id = fmt.Sprintf("%s-%d", slug, n)
	}
	return id
}

// nextName is a name like the one given that no other tree has.
func nextName(name string, others []Kept) string {
	for n := 2; ; n++ {
		next := fmt.Sprintf("%s %d", name, n)
		if !slices.ContainsFunc(others, func(o Kept) bool { return strings.EqualFold(o.Name, next) }) {
			return next
		}
	}
}
