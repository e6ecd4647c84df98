package calendar

import (
	"fmt"

	"github.com/goccy/go-yaml/ast"

	"budswell/climate"
)

// shows reads the shows that trees are entered for, and checks all of them but
// their days against today: see [File.CheckShows].
func (r *fileReader) shows(n ast.Node, at string, f *File) {
	var seen []string
	for i, item := range r.items(n, at) {
		s := Show{On: climate.NoDate}
		at := fmt.Sprintf("%s[%d]", at, i+1)
		before := len(r.faults)
		nodes := r.fields(item, at, map[string]func(ast.Node, string){
			"name": r.into(&s.Name), "on": r.into(&s.On), "look": r.into(&s.Look), "trees": r.into(&s.Trees),
		}, "name", "on", "look", "trees")
		if len(r.faults) > before {
			continue
		}
		for _, fault := range s.Check(r.lore, f.Trees) {
			node, field := nodes[fault.Field], at+"."+fault.Field
			if list, ok := node.(*ast.SequenceNode); ok && fault.Item >= 0 {
				node, field = list.Values[fault.Item], fmt.Sprintf("%s[%d]", field, fault.Item+1)
			}
			r.fault(node, field, fault.Value, fault.Want)
		}
		for k, slug := range seen {
			if slug == Slug(s.Name) {
				r.fault(nodes["name"], at+".name", s.Name, fmt.Sprintf("show %d has the same name; give another", k+1))
				break
			}
		}
		seen = append(seen, Slug(s.Name))
		line, column := where(nodes["on"])
		f.showDays = append(f.showDays, FileFault{File: r.name, Line: line, Column: column, Field: at + ".on"})
		f.Shows = append(f.Shows, s)
	}
}

// CheckShows reports every show of the file whose day cannot be on the day today,
// past or too far ahead, as [FileFaults].
func (f *File) CheckShows(today climate.Date) error {
	var faults FileFaults
	for i := range f.Shows {
		for _, fault := range f.Shows[i].CheckDay(today) {
			at := f.showDays[i]
			at.Value, at.Want = fault.Value, fault.Want
			faults = append(faults, at)
		}
	}
	if len(faults) == 0 {
		return nil
	}
	return faults
}
