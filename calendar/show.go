package calendar

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"budswell/climate"
	"budswell/climate/phenology"
)

// Show is a day on which trees are to be shown, and how.
type Show struct {
	Name  string       `json:"name"` // tells it from the grower's other shows
	On    climate.Date `json:"on"`   // its first day
	Look  Look         `json:"look"`
	Trees []string     `json:"trees"` // ids
}

// Look is the state in which a tree is shown.
type Look string

// The looks.
const (
	InLeaf           Look = "in-leaf"           // in green leaf, hardened and not yet colouring
	WinterSilhouette Look = "winter-silhouette" // bare
	AutumnColour     Look = "autumn-colour"
	Flowering        Look = "flowering"
	Evergreen        Look = "evergreen" // as it is all year, its growth of the season hardened
)

// Looks lists all looks.
func Looks() []Look { return []Look{InLeaf, WinterSilhouette, AutumnColour, Flowering, Evergreen} }

// Words says a look as people read it.
func (l Look) Words() string { return strings.ReplaceAll(string(l), "-", " ") }

// Looks lists the looks in which trees of s can be shown, anywhere.
func (s *Species) Looks() []Look {
	var out []Look
	switch s.Group {
	case phenology.Deciduous, phenology.DeciduousConifer:
		out = []Look{InLeaf, WinterSilhouette, AutumnColour}
	default:
		out = []Look{Evergreen}
	}
	if s.Shows(phenology.Flowering) {
		out = append(out, Flowering)
	}
	return out
}

// showsAhead is how many years before a show its trees may be entered.
const showsAhead = 15

// ShowFault is something about a show that cannot be.
type ShowFault struct {
	Field string // as a plan file names it: name, on, look, trees
	Item  int    // index among the trees, or -1
	Value string
	Want  string // what would be right
}

// Error returns field, value and what is wanted.
func (f ShowFault) Error() string { return fmt.Sprintf("%s: %q: %s", f.Field, f.Value, f.Want) }

// Unwrap makes a fault an ErrInvalid.
func (f ShowFault) Unwrap() error { return ErrInvalid }

// Check reports all that cannot be of a show for some of these trees: no name, a
// look that there is not or that a tree's species does not give, trees that are
// not there or given twice. See [Show.CheckDay] for its day.
func (s *Show) Check(l *Lore, trees []Tree) []ShowFault {
	var out []ShowFault
	no := func(field string, item int, value, format string, args ...any) {
		out = append(out, ShowFault{field, item, value, fmt.Sprintf(format, args...)})
	}
	if Slug(s.Name) == "" || len(s.Name) > 200 {
		no("name", -1, s.Name, "want a name of 1 to 200 letters")
	}
	known := slices.Contains(Looks(), s.Look)
	if !known {
		no("look", -1, string(s.Look), "want one of %s", nameLooks(Looks()))
	}
	if len(s.Trees) == 0 {
		no("trees", -1, "", "want the ids of the trees that are to be shown")
	}
	var ids []string
	for i := range trees {
		ids = append(ids, trees[i].ID)
	}
	for i, id := range s.Trees {
		at := slices.Index(ids, id)
		switch {
		case at < 0:
			want := meant(nearest(id, ids))
			for k := range trees {
				if trees[k].Name == id {
					want = "; did you mean " + ids[k] + "?"
				}
			}
			no("trees", i, id, "there is no tree of this id%s", want)
		case slices.Contains(s.Trees[:i], id):
			no("trees", i, id, "is given twice")
		case known:
			if sp, err := l.SpeciesNamed(trees[at].Species); err == nil && !slices.Contains(sp.Looks(), s.Look) {
				no("trees", i, id, "%s is never shown %q; want a show with a look that it gives: %s", sp.Name, s.Look, nameLooks(sp.Looks()))
			}
		}
	}
	return out
}

// CheckDay reports a day of the show that no tree can be prepared for on the day
// today: one that is past, or more than fifteen years ahead.
func (s *Show) CheckDay(today climate.Date) []ShowFault {
	last := climate.NewDate(today.Year()+showsAhead, today.Month(), today.Day())
	want := ""
	switch {
	case !s.On.Valid():
		return []ShowFault{{"on", -1, "", "want the day, written YYYY-MM-DD"}}
	case s.On < today:
		want = fmt.Sprintf("lies before today, %v; want a day to come (of a show that was, log did: show for each tree and take it out here)", today)
	case s.On > last:
		want = fmt.Sprintf("lies more than %d years ahead; want a day up to %v", showsAhead, last)
	default:
		return nil
	}
	return []ShowFault{{"on", -1, s.On.String(), want}}
}

func nameLooks(looks []Look) string {
	out := make([]string, len(looks))
	for i, l := range looks {
		out[i] = string(l)
	}
	return strings.Join(out, ", ")
}

// reason says that days are counted from the show.
func (s *Show) reason() string { return fmt.Sprintf("Counted from the show %q on %v", s.Name, s.On) }

// ForShow reports whether a rule hangs on a show: it is then for trees that are
// entered for one, and for no others.
func (r *Rule) ForShow() bool { return r.Opens.hangsOnShow() || r.Closes.hangsOnShow() }

// forShow reports whether r is a rule for trees of s at some stage that are to be
// shown with a look.
func (p *Planner) forShow(r *Rule, s *Species, origin Origin, look Look) bool {
	return r.ForShow() && (len(r.For.Looks) == 0 || slices.Contains(r.For.Looks, look)) &&
		slices.ContainsFunc(stages, func(at Stage) bool { return p.holds(r, s, at, origin) })
}

// showsOf returns the shows that a tree is entered for, by day.
func (p *Planner) showsOf(t *Tree) []Show {
	var out []Show
	for _, s := range p.Shows {
		if slices.Contains(s.Trees, t.ID) {
			out = append(out, s)
		}
	}
	slices.SortStableFunc(out, func(a, b Show) int { return cmp.Compare(a.On, b.On) })
	return out
}

// showSeasons returns the seasons in which a rule is looked for that hangs on
// the show at hand.
func (b *bench) showSeasons(r *Rule) []int {
	site := b.planner.outlook.Site
	at := site.Season(b.timing.show.On)
	if r.Opens.hangsOnWorkOnly() {
		day := b.timing.days(&r.Opens, at)[0]
		if !day.Valid() {
			return nil
		}
		return []int{site.Season(day)}
	}
	return []int{at - 2, at - 1, at, at + 1}
}

// addForShows adds the works that lead up to the shows that the tree is entered
// for, as far as the plan reaches.
func (b *bench) addForShows() {
	for i := range b.shows {
		b.timing.show = &b.shows[i]
		for k := range b.planner.lore.Rules {
			r := &b.planner.lore.Rules[k]
			w, ok := b.planner.lore.WorkByID(r.Work)
			if !ok || !b.planner.forShow(r, b.species, b.tree.Origin, b.shows[i].Look) {
				continue
			}
			for _, season := range b.showSeasons(r) {
				b.add(r, w, season)
			}
		}
	}
	b.timing.show = nil
}

// aroundShow is how many days before and after a show the works of a season of
// shows at large are not for a tree that is entered for it.
const aroundShow = 366

// worthShow is the chance of a window from which on a show is prepared for in it.
const worthShow = 0.5

// giveWayToShows takes away what the works for a show stand in place of: the same
// work at the same time, and showing at large around the day.
func (b *bench) giveWayToShows() {
	if len(b.shows) == 0 {
		return
	}
	found := slices.Clone(b.works)
	b.works = slices.DeleteFunc(b.works, func(c *candidate) bool {
		switch {
		case c.Done.Valid():
			return false
		case c.Show != nil:
			return c.Window.Chance < worthShow
		}
		if c.Work.Class == Showing {
			return slices.ContainsFunc(b.shows, func(s Show) bool {
				return c.Window.Opens.P50 <= s.On+aroundShow && c.Window.Closes.P50 >= s.On-aroundShow
			})
		}
		return slices.ContainsFunc(found, func(o *candidate) bool {
			return o.Show != nil && o.Work == c.Work && o.Window.Chance >= worthShow &&
				o.Window.Opens.P10 <= c.Window.Closes.P90 && c.Window.Opens.P10 <= o.Window.Closes.P90
		})
	})
}

// key names a work: stable as long as it is the same work, whatever the day.
func (b *bench) key(r *Rule, season int) string {
	if s := b.timing.show; s != nil {
		return fmt.Sprintf("%s/%d/%s", r.ID, season, Slug(s.Name))
	}
	return fmt.Sprintf("%s/%d", r.ID, season)
}

// spoilsShow: what the day of a show wants a tree to have behind it is not done
// in the time before it, and nothing hard just after it.
func spoilsShow(b *bench, c *candidate) objection {
	for i := range b.shows {
		s := &b.shows[i]
		switch {
		case c.Work.ID == WorkShow:
			continue
		case c.day > s.On:
			if o := b.restsAfter(s, c); o.reason != "" {
				return o
			}
			continue
		}
		for _, r := range b.showDay(s) {
			for _, n := range r.Needs {
				if n.Since == "" || !c.Work.Is(n.Since) {
					continue
				}
				wants := count(n.Weeks, "week")
				if n.Weeks > 0 && c.day+climate.Date(7*n.Weeks+0.5) <= s.On {
					continue
				}
				if n.Weeks == 0 {
					seasons := n.seasons(b.species, c.state.Stage)
					if b.history.growth.Passed(c.day, s.On, seasons) {
						continue
					}
					wants = count(seasons, "growing season")
				}
				return objection{
					reason: fmt.Sprintf("would spoil the show %q on %v, which wants it %s behind the tree", s.Name, s.On, wants),
					until:  s.On,
				}
			}
		}
	}
	return objection{}
}

// restsAfter: after a show that is to come a tree rests from hard work; one that
// was is in its log.
func (b *bench) restsAfter(s *Show, c *candidate) objection {
	if c.Work.Hard == HardOnNothing || s.On < b.planner.outlook.Issue {
		return objection{}
	}
	rest := 0.0
	for _, r := range b.showDay(s) {
		rest = max(rest, r.Rest)
	}
	if b.history.growth.Passed(s.On, c.day, rest) {
		return objection{}
	}
	return objection{
		reason: fmt.Sprintf("rests for %s after the show %q on %v", count(rest, "growing season"), s.Name, s.On),
		until:  b.history.growth.PassedBy(s.On, rest),
	}
}

// showDay returns the rules for the tree for the day of a show itself: their
// needs are what the show asks of it.
func (b *bench) showDay(s *Show) []*Rule {
	var out []*Rule
	for i := range b.planner.lore.Rules {
		if r := &b.planner.lore.Rules[i]; r.Work == WorkShow && b.planner.forShow(r, b.species, b.tree.Origin, s.Look) {
			out = append(out, r)
		}
	}
	return out
}
