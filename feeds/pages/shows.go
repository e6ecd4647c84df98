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
func ShowsOf(in *wording.Tongue, all []calendar.Show, names map[string]string, ways []calendar.ShowPlan, today climate.Date) []Show {
	all = slices.Clone(all)
	slices.SortStableFunc(all, func(a, b calendar.Show) int { return int(a.On - b.On) })
	var out []Show
	for i := range all {
		s := &all[i]
		v := Show{ID: calendar.Slug(s.Name), Name: s.Name, On: in.WeekDay(s.On), Look: in.Lower(string(s.Look)), Past: s.On < today}
		for _, id := range s.Trees {
			e := Entered{ID: id, Name: names[id]}
			if e.Name == "" {
				e.Name = id
			}
			for k := range ways {
				if ways[k].Tree.ID == id && ways[k].Show.Name == s.Name {
					e.Ready = readyInShort(in, ways[k].Ready)
				}
			}
			v.Trees = append(v.Trees, e)
		}
		out = append(out, v)
	}
	return out
}

// readyInShort counts the criteria, and names those that are out of reach.
func readyInShort(in *wording.Tongue, all []calendar.Criterion) string {
	var not []string
	n := 0
	for i := range all {
		switch all[i].Status {
		case calendar.Met:
			n++
		case calendar.OutOfReach:
			not = append(not, withinSentence(in, all[i].Title))
		}
	}
	out := in.Say("{1} of {2} met", strconv.Itoa(n), strconv.Itoa(len(all)))
	if len(not) > 0 {
		out += in.Say("; out of reach as things stand: {1}", strings.Join(not, ", "))
	}
	return out
}

// ShowsPage writes the page.
func (p *Pages) ShowsPage(w io.Writer, s *Shows) error { return p.write(w, "shows.html", s) }

// withinSentence writes a title as it stands within a sentence: in English small, in
// other languages as it is.
func withinSentence(in *wording.Tongue, title string) string {
	if in.Foreign() {
		return in.Title(title)
	}
	return strings.ToLower(title[:1]) + title[1:]
}
