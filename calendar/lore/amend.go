package lore

import (
	"maps"
	"reflect"
	"unicode/utf8"

	"github.com/goccy/go-yaml/ast"

	"budswell/calendar"
)

// amendsKey marks a row that changes one of a lower layer: the fields that it gives
// take the place of those there, and all others stay as they are, also when the
// lower layer is changed later.
const amendsKey = "amends"

// changedSince is the source of what an amendment changes and gives no source for.
const changedSince = "changed since, from memory"

// amends reports whether a row is marked so.
func amends(n ast.Node) bool {
	for _, v := range fields(n) {
		if k, ok := v.Key.(*ast.StringNode); ok && k.Value == amendsKey {
			return true
		}
	}
	return false
}

// fields returns the fields of a mapping, none of what is none.
func fields(n ast.Node) []*ast.MappingValueNode {
	switch m := n.(type) {
	case *ast.MappingNode:
		return m.Values
	case *ast.MappingValueNode:
		return []*ast.MappingValueNode{m}
	}
	return nil
}

// amended decodes a row that changes one of a lower layer.
func amended[T any](s *set, d *decoder, n ast.Node, it *item[T], kind, id, field string, lower []item[T]) {
	it.spot = d.spot(n, field)
	pairs, _ := d.pairs(n, it.spot)
	var rest []pair
	mark := false
	for _, p := range pairs {
		if p.key != amendsKey {
			rest = append(rest, p)
			continue
		}
		d.value(p.value, reflect.ValueOf(&mark).Elem(), join(field, amendsKey))
		if b, ok := p.value.(*ast.BoolNode); ok && !b.Value {
			s.faults.add(d.spot(p.value, join(field, amendsKey)), "want true, or the field left out where the row is whole")
		}
	}
	was, ok := s.known[handle(kind, id)]
	var over *item[T]
	for i := range lower {
		if ok && was.layer < d.layer && lower[i].spot == was.spot {
			over = &lower[i]
		}
	}
	if over == nil {
		if id != "" {
			s.faults.add(it.spot, "there is no such %s to amend%s; leave amends out and give all of it", kind, s.like(kind, id))
			it.spot.wrong = true // all that it does not give would be told besides
		}
		return
	}
	it.value = over.value
	d.fill(rest, reflect.ValueOf(&it.value).Elem(), it.spot)
	given := it.spot.fields
	it.spot.fields = maps.Clone(over.spot.fields)
	maps.Copy(it.spot.fields, given)
	from := *d.from
	from.Over = over.from
	it.from = &from
	tellSources(any(&it.value), any(&over.value), given)
}

// tellSources says of what an amendment gave without a source that it was changed.
func tellSources(v, over any, given map[string]*spot) {
	switch v := v.(type) {
	case *calendar.Rule:
		if given["source"] == nil {
			v.Source = withChange(v.Source)
		}
	case *calendar.Species:
		was, _ := over.(*calendar.Species)
		v.Sources = changedSources(v.Sources, was.Sources, given)
	case *calendar.Genus:
		was, _ := over.(*calendar.Genus)
		v.Sources = changedSources(v.Sources, was.Sources, given)
	}
}

func withChange(source string) string {
	long := source + "; " + changedSince
	if utf8.RuneCountInString(long) > 400 {
		return changedSince
	}
	return long
}

// changedSources joins the sources of a row with those of the one it amends.
func changedSources(own, was map[string]string, given map[string]*spot) map[string]string {
	out := maps.Clone(was)
	if out == nil {
		out = map[string]string{}
	}
	for f := range given {
		if f != "source" && f != "sources" && f != "name" {
			out[f] = changedSince
		}
	}
	if given["sources"] != nil {
		maps.Copy(out, own)
	}
	return out
}
