package pages

import (
	"io"
	"slices"
	"strings"

	"budswell/calendar"
	"budswell/climate"
	"budswell/feeds/wording"
)

// Trees is the list of all trees of a grower, narrowed by what was asked for.
type Trees struct {
	CSRF    string
	Said    string
	Changed *Changed

	Find                  string // typed
	Where, Stages, States []Choice
	Narrowed              bool
	All, Shown            int
	Places                []TreesAt
	From                  string // address of this very list
}

// TreesAt is the trees of a place.
type TreesAt struct {
	ID, Name string
	Empty    bool // no tree stands there, whatever was asked for
	Trees    []TreeLine
}

// TreeLine is a tree of the list.
type TreeLine struct {
	TreeLink
	Species, Stage, Strength, Bench string
	State                           string   // one of TreeStates
	Works                           []string // titles of what is to be done these days
	First                           *Work    // of what is to be done in six weeks; nil: nothing
	Next                            string   // in its place
	Looks                           []Look
}

// States of a tree.
const (
	TreeAsks  = "asks"  // work is to be done these days
	TreeRests = "rests" // it is to be left alone
	TreeWaits = "waits" // something stands against work that would be in season
	TreeQuiet = "quiet"
)

// TreeStates are all states, in the order in which they are offered.
func TreeStates() []string { return []string{TreeAsks, TreeWaits, TreeRests, TreeQuiet} }

// Wanted narrows the list.
type Wanted struct{ Find, Place, Stage, State string }

// TreesOf lays out the list.
func TreesOf(in *wording.Tongue, g *Garden, want Wanted) *Trees {
	out := &Trees{Find: want.Find, Narrowed: want != Wanted{}}
	chosen := map[string][]string{}
	if g.Agenda != nil {
		for i := range g.Agenda.Days {
			d := &g.Agenda.Days[i]
			for k := range d.Works {
				if id := d.Works[k].Tree.Tree.ID; d.Day < g.Agenda.On+fortnightDays {
					chosen[id] = append(chosen[id], plannedTitle(in, d.Works[k].Work))
				}
			}
		}
	}
	stages := map[calendar.Stage]bool{}
	for i := range g.Plots {
		p := &g.Plots[i]
		out.Where = append(out.Where, Choice{Value: p.ID, Label: p.Plan.Site.Name, Picked: p.ID == want.Place})
		at := TreesAt{ID: p.ID, Name: p.Plan.Site.Name, Empty: len(p.Plan.Trees) == 0}
		for k := range p.Plan.Trees {
			t := &p.Plan.Trees[k]
			out.All++
			stages[t.State.Stage] = true
			l := lineOf(in, t, p, chosen[t.Tree.ID], g.Agenda != nil)
			if !want.takes(in, &l, t, p) {
				continue
			}
			l.Looks = slices.DeleteFunc(looksOf(in, t, p.Seasons[t.Tree.ID], p.Plan.On), func(l Look) bool { return !l.near(p.Plan.On) })
			at.Trees = append(at.Trees, l)
			out.Shown++
		}
		if len(at.Trees) > 0 || at.Empty && !out.Narrowed {
			out.Places = append(out.Places, at)
		}
	}
	for _, s := range calendar.Stages() {
		if stages[s] {
			out.Stages = append(out.Stages, Choice{Value: string(s), Label: in.Name(string(s)), Picked: string(s) == want.Stage})
		}
	}
	for _, s := range TreeStates() {
		out.States = append(out.States, Choice{Value: s, Picked: s == want.State})
	}
	return out
}

func lineOf(in *wording.Tongue, t *calendar.TreePlan, p *Plot, chosen []string, hours bool) TreeLine {
	l := TreeLine{
		TreeLink: linkTo(t), Species: t.Tree.Species, Stage: in.Name(string(t.State.Stage)), Strength: in.Lower(string(t.State.Strength)),
		Next: in.Told(t.Next), Works: chosen, State: TreeQuiet,
	}
	if t.Species != nil {
		l.Species = t.Species.Name
	}
	if t.Bench != nil {
		l.Bench = BenchOf(in, t.Bench)
	}
	l.First = firstOf(in, t.Works, p.Plan.On)
	blocked := false
	for i := range t.Works {
		w := &t.Works[i]
		s := standsOn(w, p.Plan.On, hours)
		blocked = blocked || s.where == notNow
		if title := plannedTitle(in, w); (s.where == onDay || s.where == mayWait) && !slices.Contains(l.Works, title) {
			l.Works = append(l.Works, title)
		}
	}
	switch {
	case len(l.Works) > 0:
		l.State = TreeAsks
	case t.State.RestAfter != "":
		l.State = TreeRests
	case blocked:
		l.State = TreeWaits
	}
	return l
}

// firstOf lays out the first work of the six weeks that nothing stands against; nil
// where there is none. It is the first of worksOf, without laying out the others.
func firstOf(in *wording.Tongue, all []calendar.Planned, on climate.Date) *Work {
	first := -1
	for i := range all {
		w := &all[i]
		if w.Done.Valid() || len(w.Blocked) > 0 || !shows(w, on) {
			continue
		}
		if first < 0 || w.Window.Likely < all[first].Window.Likely {
			first = i
		}
	}
	if first < 0 {
		return nil
	}
	out := workOf(in, &all[first], on)
	return &out
}

// takes reports whether a tree is wanted.
func (v *Wanted) takes(in *wording.Tongue, l *TreeLine, t *calendar.TreePlan, p *Plot) bool {
	if v.Place != "" && v.Place != p.ID || v.Stage != "" && v.Stage != string(t.State.Stage) || v.State != "" && v.State != l.State {
		return false
	}
	common := ""
	if t.Species != nil {
		common = strings.Join(append([]string{in.Common(t.Species.Name, t.Species.Common)}, t.Species.Common...), " ")
	}
	text := strings.ToLower(strings.Join([]string{l.Name, l.Species, common, t.Tree.Species, l.Bench, t.Tree.Note}, " "))
	for _, word := range strings.Fields(strings.ToLower(v.Find)) {
		if !strings.Contains(text, word) {
			return false
		}
	}
	return true
}

// Trees writes the page.
func (p *Pages) Trees(w io.Writer, t *Trees) error { return p.write(w, "trees.html", t) }
