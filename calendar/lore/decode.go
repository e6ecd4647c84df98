package lore

import (
	"encoding"
	"maps"
	"reflect"
	"sort"
	"strings"

	"github.com/goccy/go-yaml"
	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/token"

	"budswell/calendar"
)

// decoder fills values from YAML, strictly, and notes where each stands. Unlike
// a decoder that stops at the first error it finds them all.
type decoder struct {
	file   string
	faults *faultList
	layer  int
	from   *calendar.From
}

var textType = reflect.TypeFor[encoding.TextUnmarshaler]()

// value fills v, which must be settable, from n, and returns where n stands.
func (d *decoder) value(n ast.Node, v reflect.Value, field string) *spot {
	s := d.spot(n, field)
	if n == nil || n.Type() == ast.NullType {
		d.reject(s, "has no value; give one or leave the field out")
		return s
	}
	switch n.(type) {
	case *ast.AnchorNode, *ast.AliasNode, *ast.TagNode, *ast.MergeKeyNode:
		d.reject(s, "anchors, aliases and tags of YAML are not read here; write the value out")
		return s
	}
	switch {
	case reflect.PointerTo(v.Type()).Implements(textType):
		d.scalar(n, v, s)
	case v.Kind() == reflect.Pointer:
		v.Set(reflect.New(v.Type().Elem()))
		return d.value(n, v.Elem(), field)
	case v.Kind() == reflect.Struct:
		d.mapping(n, v, s)
	case v.Kind() == reflect.Map:
		d.table(n, v, s)
	case v.Kind() == reflect.Slice:
		d.sequence(n, v, s)
	default:
		d.scalar(n, v, s)
	}
	return s
}

// reject notes that the value at s is not of the kind that it must be.
func (d *decoder) reject(s *spot, format string, args ...any) {
	d.faults.add(s, format, args...)
	s.wrong = true
}

// mapping fills a struct.
func (d *decoder) mapping(n ast.Node, v reflect.Value, s *spot) {
	if pairs, ok := d.pairs(n, s); ok {
		d.fill(pairs, v, s)
	}
}

// fill fills the fields of a struct, which are given anew where they hold something.
func (d *decoder) fill(pairs []pair, v reflect.Value, s *spot) {
	known := fieldsOf(v)
	for _, p := range pairs {
		f, ok := known[p.key]
		if !ok {
			names := make([]string, 0, len(known))
			for name := range known {
				names = append(names, name)
			}
			sort.Strings(names)
			ks := d.spot(p.node, s.field)
			ks.value = p.key
			d.faults.add(ks, "there is no such field; the fields are %s", strings.Join(names, ", "))
			continue
		}
		f.SetZero()
		s.fields[p.key] = d.value(p.value, f, join(s.field, p.key))
	}
}

// fieldsOf returns the fields of a struct by their names in YAML, those of structs
// within it that are read inline among them.
func fieldsOf(v reflect.Value) map[string]reflect.Value {
	out := map[string]reflect.Value{}
	for i := range v.NumField() {
		if v.Type().Field(i).Anonymous {
			maps.Copy(out, fieldsOf(v.Field(i)))
			continue
		}
		if name := v.Type().Field(i).Tag.Get("yaml"); name != "-" {
			out[name] = v.Field(i)
		}
	}
	return out
}

// table fills a map of strings.
func (d *decoder) table(n ast.Node, v reflect.Value, s *spot) {
	pairs, ok := d.pairs(n, s)
	if !ok {
		return
	}
	v.Set(reflect.MakeMap(v.Type()))
	for _, p := range pairs {
		item := reflect.New(v.Type().Elem()).Elem()
		s.fields[p.key] = d.value(p.value, item, join(s.field, p.key))
		v.SetMapIndex(reflect.ValueOf(p.key), item)
	}
}

type pair struct {
	key         string
	node, value ast.Node
}

// pairs returns the fields of n, each once.
func (d *decoder) pairs(n ast.Node, s *spot) ([]pair, bool) {
	var values []*ast.MappingValueNode
	switch m := n.(type) {
	case *ast.MappingNode:
		values = m.Values
	case *ast.MappingValueNode:
		values = []*ast.MappingValueNode{m}
	default:
		d.reject(s, "want fields, each written name: value")
		return nil, false
	}
	s.fields = map[string]*spot{}
	seen := map[string]bool{}
	var out []pair
	for _, v := range values {
		name, ok := v.Key.(*ast.StringNode)
		if !ok {
			d.faults.add(d.spot(v.Key, s.field), "want the name of a field")
			continue
		}
		if seen[name.Value] {
			ks := d.spot(v.Key, join(s.field, name.Value))
			ks.value = ""
			d.faults.add(ks, "is given twice; give it once")
			continue
		}
		seen[name.Value] = true
		out = append(out, pair{name.Value, v.Key, v.Value})
	}
	return out, true
}

// sequence fills a slice.
func (d *decoder) sequence(n ast.Node, v reflect.Value, s *spot) {
	seq, ok := n.(*ast.SequenceNode)
	if !ok {
		d.reject(s, "want a list, written [a, b] or one item a line after a hyphen")
		return
	}
	v.Set(reflect.MakeSlice(v.Type(), len(seq.Values), len(seq.Values)))
	for i, item := range seq.Values {
		s.items = append(s.items, d.value(item, v.Index(i), s.field))
	}
}

// scalar fills a text, a number or a yes or no.
func (d *decoder) scalar(n ast.Node, v reflect.Value, s *spot) {
	text := reflect.PointerTo(v.Type()).Implements(textType) || v.Kind() == reflect.String
	var right bool
	var want string
	switch t := n.Type(); {
	case text:
		right, want = t == ast.StringType || t == ast.LiteralType, "want text; put it in quotes if it looks like a number"
	case v.Kind() == reflect.Bool:
		right, want = t == ast.BoolType, "want true or false"
	case v.Kind() == reflect.Float64:
		right, want = t == ast.FloatType || t == ast.IntegerType, "want a number"
	default:
		right, want = t == ast.IntegerType, "want a whole number"
	}
	if !right {
		d.reject(s, "%s", want)
		return
	}
	if err := yaml.NodeToValue(n, v.Addr().Interface(), yaml.Strict()); err != nil {
		// The library's message repeats the source; its cause is on the first line.
		why, _, _ := strings.Cut(err.Error(), "\n")
		if u, ok := v.Addr().Interface().(encoding.TextUnmarshaler); ok {
			if e := u.UnmarshalText([]byte(s.value)); e != nil {
				why = e.Error()
			}
		}
		d.reject(s, "%s", why)
	}
}

// spot returns where n stands.
func (d *decoder) spot(n ast.Node, field string) *spot {
	s := &spot{file: d.file, line: 1, column: 1, field: field}
	if n == nil {
		return s
	}
	tk := first(n)
	if tk != nil && tk.Position != nil {
		s.line, s.column = max(1, tk.Position.Line), max(1, tk.Position.Column)
	}
	switch t := n.(type) {
	case *ast.StringNode:
		s.value = t.Value
	case *ast.LiteralNode:
		s.value = t.Value.Value
	case *ast.IntegerNode, *ast.FloatNode, *ast.BoolNode, *ast.InfinityNode, *ast.NanNode:
		s.value = tk.Value
	}
	return s
}

// first returns the token with which n begins.
func first(n ast.Node) *token.Token {
	switch t := n.(type) {
	case *ast.MappingNode:
		if !t.IsFlowStyle && len(t.Values) > 0 {
			return first(t.Values[0].Key)
		}
	case *ast.MappingValueNode:
		return first(t.Key)
	}
	return n.GetToken()
}
