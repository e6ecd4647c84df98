package pages

import (
	"html/template"

	"budswell/calendar"
	"budswell/climate"
	"budswell/feeds/wording"
)

// Region is the public page of a region: groups of trees, and no one's.
type Region struct {
	Name  string
	Basis string
	Known string
	Web   string
	Cal   template.URL
	Weeks []string

	Groups []Group
}

// Group is what the next six weeks ask of the trees of a group.
type Group struct {
	ID, Name string
	Works    []Work
}

// RegionOf lays out a plan of groups. Web is the address of the region's feed.
func RegionOf(in *wording.Tongue, name string, p *calendar.Plan, known climate.Date, web string) *Region {
	link := NewLink(name, web)
	out := &Region{Name: name, Basis: in.Rests(p.Basis), Known: age(in, known, p.On), Web: link.Web, Cal: link.Webcal, Weeks: weeks(in, p.On)}
	for i := range p.Trees {
		t := &p.Trees[i]
		out.Groups = append(out.Groups, Group{ID: t.Tree.ID, Name: in.Group(t.Tree.ID), Works: worksOf(in, t.Works, p.On)})
	}
	return out
}
