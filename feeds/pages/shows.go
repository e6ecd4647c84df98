package pages

import (
	"io"
	"slices"
	"strconv"
	"strings"

	"budswell/calendar"
	"budswell/climate"
	"budswell/feeds/wording"
)

// Shows is the page of the shows that trees are entered for.
type Shows struct {
	CSRF        string
	Said, Fault string
	Today       string
	Shows       []Show

	// The form, as it was typed.
	Name, On string
	Looks    []Choice
	Trees    []Choice
}

// Show is one show with its trees.
type Show struct {
	ID, Name, On, Look string
	Past               bool
	Trees              []Entered
}

// Entered is a tree that is entered for a show.
type Entered struct{ ID, Name, Ready string }

// ShowsOf lists shows by their days. Names are those of the trees by id, ways those
// of the plans.
func ShowsOf(all []calendar.Show, names map[string]string, ways []calendar.ShowPlan, today climate.Date) []Show {
	all = slices.Clone(all)
	slices.SortStableFunc(all, func(a, b calendar.Show) int { return int(a.On - b.On) })
	var out []Show
	for i := range all {
		s := &all[i]
		v := Show{ID: calendar.Slug(s.Name), Name: s.Name, On: wording.WeekDay(s.On), Look: s.Look.Words(), Past: s.On < today}
		for _, id := range s.Trees {
			e := Entered{ID: id, Name: names[id]}
			if e.Name == "" {
				e.Name = id
			}
			for k := range ways {
				if ways[k].Tree.ID == id && ways[k].Show.Name == s.Name {
					e.Ready = readyInShort(ways[k].Ready)
				}
			}
			v.Trees = append(v.Trees, e)
		}
		out = append(out, v)
	}
	return out
}

// readyInShort counts the criteria, and names those that are out of reach.
func readyInShort(all []calendar.Criterion) string {
	var not []string
	n := 0
	for i := range all {
		switch all[i].Status {
		case calendar.Met:
			n++
		case calendar.OutOfReach:
			not = append(not, strings.ToLower(all[i].Title[:1])+all[i].Title[1:])
		}
	}
	out := strconv.Itoa(n) + " of " + strconv.Itoa(len(all)) + " met"
	if len(not) > 0 {
		out += "; out of reach as things stand: " + strings.Join(not, ", ")
	}
	return out
}

// ShowsPage writes the page.
func (p *Pages) ShowsPage(w io.Writer, s *Shows) error { return p.write(w, "shows.html", s) }
