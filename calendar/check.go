package calendar

import (
	"fmt"
	"slices"
	"strings"

	"budswell/climate"
	"budswell/climate/phenology"
)

// TreeFault is something about a tree or its log that cannot be.
type TreeFault struct {
	Entry int    // index in the log, or -1
	Field string // as a plan file names it
	Value string // as people write it
	Want  string // what would be right
}

// Error returns the entry (counted from 1), field, value and what is wanted.
func (f TreeFault) Error() string {
	s := fmt.Sprintf("%s: %q: %s", f.Field, f.Value, f.Want)
	if f.Entry >= 0 {
		s = fmt.Sprintf("log entry %d: %s", f.Entry+1, s)
	}
	return s
}

// Unwrap makes a fault an ErrInvalid.
func (f TreeFault) Unwrap() error { return ErrInvalid }

// longestText is how long a name or note may be, in bytes.
const longestText = 2000

// Check reports all that cannot be true of a tree: values out of range, works and
// phases that are not known, a log that contradicts itself. Entries after today
// are faults too, unless today is NoDate.
func (t *Tree) Check(l *Lore, site climate.Site, today climate.Date) []TreeFault {
	c := &checker{tree: t, lore: l, site: site, today: today}
	c.head()
	for i := range t.Log {
		c.entry(i)
	}
	c.order()
	return c.faults
}

type checker struct {
	tree    *Tree
	lore    *Lore
	site    climate.Site
	today   climate.Date
	species *Species // nil where not known
	faults  []TreeFault
}

func (c *checker) no(entry int, field string, value any, format string, args ...any) {
	c.faults = append(c.faults, TreeFault{entry, field, fmt.Sprint(value), fmt.Sprintf(format, args...)})
}

// oneOf reports a value that is none of the allowed.
func oneOf[T ~string](c *checker, entry int, field string, v T, allowed []T) {
	if v != "" && !slices.Contains(allowed, v) {
		names := make([]string, len(allowed))
		for i, a := range allowed {
			names[i] = string(a)
		}
		c.no(entry, field, v, "want one of %s", strings.Join(names, ", "))
	}
}

func (c *checker) share(entry int, field string, v *float64) {
	if v != nil && !(*v >= 0 && *v <= 1) {
		c.no(entry, field, *v, "want a share from 0 to 1")
	}
}

func (c *checker) head() {
	t := c.tree
	if !ValidName(t.Name, 200) || len(t.Name) > 200 {
		c.no(-1, "name", t.Name, "want a name of 1 to 200 letters, in one line that shows as it is written")
	}
	if len(t.Note) > longestText {
		c.no(-1, "note", t.Note[:40]+"...", "want at most %d letters", longestText)
	}
	s, err := c.lore.SpeciesNamed(t.Species)
	if err != nil {
		want := err.Error()
		if _, after, ok := strings.Cut(want, ErrNotFound.Error()+": "); ok {
			want = after
		}
		if n := c.lore.nearestSpecies(t.Species); !strings.Contains(want, n) {
			want += meant(n)
		}
		c.no(-1, "species", t.Species, "%s", want)
	}
	c.species = s
	if t.Origin == "" {
		c.no(-1, "origin", "", "want one of %s", "collected, field-grown, nursery, cutting, layered, grafted, seedling")
	}
	oneOf(c, -1, "origin", t.Origin, Origins())
	c.share(-1, "field_soil", t.FieldSoil)
	oneOf(c, -1, "container.kind", t.Container.Kind, []string{Box, TrainingPot, FinalPot})
	if v := t.Container.Litres; v != 0 && !(v >= 0.05 && v <= 500) {
		c.no(-1, "container.litres", v, "want 0.05 to 500 litres, or nothing where it is not known")
	}
	c.container()
}

func (c *checker) entry(i int) {
	e := &c.tree.Log[i]
	switch {
	case !e.On.Valid():
		c.no(i, "on", "", "want the day, written YYYY-MM-DD")
	case c.today.Valid() && e.On > c.today:
		c.no(i, "on", e.On, "lies after today, %v; a log holds what was done and seen", c.today)
	}
	var given []string
	for _, f := range []struct {
		name string
		is   bool
	}{{"did", e.Did != ""}, {"saw", e.Saw != ""}, {"not_yet", e.NotYet != ""}, {"judged", e.Judged != nil}, {"moved", e.Moved != ""}} {
		if f.is {
			given = append(given, f.name)
		}
	}
	if len(given) != 1 {
		c.no(i, "entry", strings.Join(given, ", "), "want exactly one of did, saw, not_yet, judged and moved")
	}
	if len(e.Note) > longestText {
		c.no(i, "note", e.Note[:40]+"...", "want at most %d letters", longestText)
	}
	c.phase(i, "saw", e.Saw)
	c.phase(i, "not_yet", e.NotYet)
	if j := e.Judged; j != nil {
		oneOf(c, i, "judged.stage", j.Stage, Stages())
		oneOf(c, i, "judged.strength", j.Strength, Strengths())
		if j.Stage == "" && j.Strength == "" {
			c.no(i, "judged", "", "want a stage, a strength, or both")
		}
	}
	var work *Work
	if e.Did != "" {
		w, ok := c.lore.WorkByID(e.Did)
		if !ok {
			c.no(i, "did", e.Did, "want a work of the lore%s", c.lore.nearWork(e.Did))
		}
		work = w
	}
	c.share(i, "field_soil_left", e.FieldSoilLeft)
	if e.FieldSoilLeft != nil && e.Did == "" || work != nil && e.FieldSoilLeft != nil && work.Class != Roots && work.Class != Collecting {
		c.no(i, "field_soil_left", *e.FieldSoilLeft, "belongs to work on the roots, such as repot")
	}
}

func (c *checker) phase(i int, field string, p phenology.Phase) {
	if p == "" || c.species == nil || c.species.Shows(p) || slices.Contains(c.species.Group.Phases(), p) {
		return
	}
	names := make([]string, 0, 8)
	for _, q := range c.species.Group.Phases() {
		names = append(names, string(q))
	}
	c.no(i, field, p, "want a phase that %s shows: %s", c.species.Name, strings.Join(names, ", "))
}

// order reports entries that contradict one another.
func (c *checker) order() {
	dug := -1
	seen := map[string]int{}
	for _, i := range c.byDay() {
		e := &c.tree.Log[i]
		if w, ok := c.lore.WorkByID(e.Did); ok {
			c.contradicts(i)
			switch {
			case w.ID == WorkCollect && dug >= 0:
				c.no(i, "did", e.Did, "the tree was collected on %v already", c.tree.Log[dug].On)
			case w.ID == WorkCollect:
				dug = i
				c.beforeDug(i)
			}
		}
		if c.species == nil {
			continue
		}
		season := c.site.Season(e.On)
		if e.NotYet != "" {
			if k, ok := seen[fmt.Sprint(e.NotYet, season)]; ok {
				c.no(i, "not_yet", e.NotYet, "was seen on %v already", c.tree.Log[k].On)
			}
		}
		if e.Saw != "" {
			c.afterLater(i, seen, season)
			seen[fmt.Sprint(e.Saw, season)] = i
		}
	}
}

// byDay returns the indexes of the log in the order of days; on one day, what
// had not come stands before what had.
func (c *checker) byDay() []int {
	return byDay(c.tree.Log)
}

// beforeDug reports works on the potted tree that come before entry i, in which
// it was dug. That a tree was seen or judged before it was dug is nothing odd.
func (c *checker) beforeDug(i int) {
	for k := range c.tree.Log {
		if e := &c.tree.Log[k]; e.Did != "" && k != i && e.On.Valid() && e.On < c.tree.Log[i].On {
			c.no(k, "on", e.On, "lies before the day on which the tree was collected, %v", c.tree.Log[i].On)
		}
	}
}

// afterLater reports a phase that was seen although a later one of the same
// season had been seen before. Flowers and second flushes have their own time.
func (c *checker) afterLater(i int, seen map[string]int, season int) {
	free := func(p phenology.Phase) bool { return p == phenology.Flowering || p == phenology.SecondFlush }
	e := &c.tree.Log[i]
	phases := c.species.Group.Phases()
	at := slices.Index(phases, e.Saw)
	if at < 0 || free(e.Saw) {
		return
	}
	for _, later := range phases[at+1:] {
		if k, ok := seen[fmt.Sprint(later, season)]; ok && !free(later) && c.tree.Log[k].On < e.On {
			c.no(i, "saw", e.Saw, "comes before %s, which was seen on %v", later, c.tree.Log[k].On)
			return
		}
	}
}

// nearestSpecies returns the name in the lore that is spelt most like name, or
// nothing when none is near.
func (l *Lore) nearestSpecies(name string) string {
	var names []string
	for i := range l.Species {
		s := &l.Species[i]
		names = append(append(append(names, s.Name), s.Synonyms...), s.Common...)
	}
	return nearest(name, names)
}

// nearWork names works that may be meant.
func (l *Lore) nearWork(name string) string {
	var names []string
	for i := range l.Works {
		names = append(append(names, l.Works[i].ID), l.Works[i].Also...)
	}
	if n := nearest(name, names); n != "" {
		return meant(n)
	}
	return ", such as repot, wire or feed"
}

// nearest returns the name with the smallest edit distance to s, the first of
// equals, or nothing where more than a third of it would change.
func nearest(s string, names []string) string {
	best, least := "", len([]rune(s))/3+1
	for _, n := range names {
		if d := distance([]rune(strings.ToLower(s)), []rune(strings.ToLower(n))); d < least {
			best, least = n, d
		}
	}
	return best
}

// distance is Levenshtein's: the insertions, deletions and replacements that
// make b of a.
func distance(a, b []rune) int {
	row := make([]int, len(b)+1)
	for j := range row {
		row[j] = j
	}
	for i := range a {
		diagonal := row[0]
		row[0] = i + 1
		for j := range b {
			cost := diagonal
			if a[i] != b[j] {
				cost++
			}
			diagonal = row[j+1]
			row[j+1] = min(cost, row[j]+1, row[j+1]+1)
		}
	}
	return row[len(b)]
}
