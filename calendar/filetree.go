package calendar

import (
	"cmp"
	"fmt"
	"strings"
	"unicode"

	"github.com/goccy/go-yaml/ast"

	"budswell/climate"
)

// tree reads one tree and checks it.
func (r *fileReader) tree(n ast.Node, at string, site climate.Site) Tree {
	t := Tree{}
	var log []ast.Node
	before := len(r.faults)
	var container map[string]ast.Node
	nodes := r.fields(n, at, map[string]func(ast.Node, string){
		"id": r.into(&t.ID), "name": r.into(&t.Name), "species": r.into(&t.Species), "origin": r.into(&t.Origin),
		"field_soil": func(n ast.Node, at string) { t.FieldSoil = new(float64); r.value(n, at, t.FieldSoil) },
		"container": func(n ast.Node, at string) {
			container = r.fields(n, at, map[string]func(ast.Node, string){
				"kind": r.into(&t.Container.Kind), "litres": r.into(&t.Container.Litres),
				"shape": r.into(&t.Container.Shape), "length": r.into(&t.Container.Length), "width": r.into(&t.Container.Width),
				"depth": r.into(&t.Container.Depth), "mix": r.into(&t.Container.Mix),
			})
		},
		"bench": func(n ast.Node, at string) { r.bench(n, at, &t.Bench) },
		"note":  r.into(&t.Note),
		"log":   func(n ast.Node, at string) { log = r.items(n, at) },
	}, "name", "species", "origin")
	entries := make([]map[string]ast.Node, len(log))
	for i, e := range log {
		var entry Entry
		entries[i] = r.entry(e, fmt.Sprintf("%s.log[%d]", at, i+1), &entry)
		t.Log = append(t.Log, entry)
	}
	if t.ID == "" {
		t.ID = cmp.Or(Slug(t.Name), "tree")
	} else if t.ID != Slug(t.ID) {
		r.no(nodes["id"], at+".id", "want small letters, digits and hyphens")
	}
	if len(r.faults) > before {
		return t // what was not read cannot be checked
	}
	for _, f := range t.Check(r.lore, site, r.today) {
		where, field := nodes, at+"."+f.Field
		from := n
		if f.Entry >= 0 {
			where, from = entries[f.Entry], log[f.Entry]
			field = fmt.Sprintf("%s.log[%d].%s", at, f.Entry+1, f.Field)
		}
		outer, inner, nested := strings.Cut(f.Field, ".")
		if node := where[outer]; node != nil {
			from = node
		}
		if node := container[inner]; nested && outer == "container" && node != nil {
			from = node
		}
		r.fault(from, field, f.Value, f.Want)
	}
	return t
}

func (r *fileReader) entry(n ast.Node, at string, e *Entry) map[string]ast.Node {
	e.On = climate.NoDate
	return r.fields(n, at, map[string]func(ast.Node, string){
		"moved": func(n ast.Node, at string) { r.bench(n, at, &e.Moved) },
		"on":    r.into(&e.On), "did": r.into(&e.Did), "saw": r.into(&e.Saw), "not_yet": r.into(&e.NotYet),
		"judged": func(n ast.Node, at string) {
			e.Judged = &Judgement{}
			r.fields(n, at, map[string]func(ast.Node, string){
				"stage": r.into(&e.Judged.Stage), "strength": r.into(&e.Judged.Strength),
			})
		},
		"field_soil_left": func(n ast.Node, at string) { e.FieldSoilLeft = new(float64); r.value(n, at, e.FieldSoilLeft) },
		"note":            r.into(&e.Note),
	}, "on")
}

// unique reports trees whose id another has.
func (r *fileReader) unique(trees []Tree, nodes []ast.Node) {
	seen := map[string]int{}
	for i := range trees {
		if k, ok := seen[trees[i].ID]; ok {
			r.fault(nodes[i], fmt.Sprintf("trees[%d].name", i+1), trees[i].Name,
				fmt.Sprintf("tree %d, %q, has the same id, %q; give another name, or an id", k+1, trees[k].Name, trees[i].ID))
			continue
		}
		seen[trees[i].ID] = i
	}
}

// Slug makes an id of a name: its letters and digits, small, with a hyphen for
// everything between; empty where it has neither.
func Slug(name string) string {
	var b strings.Builder
	gap := false
	for _, c := range strings.ToLower(name) {
		if !unicode.IsLetter(c) && !unicode.IsDigit(c) {
			gap = true
			continue
		}
		if gap && b.Len() > 0 {
			b.WriteByte('-')
		}
		gap = false
		b.WriteRune(c)
	}
	return b.String()
}
