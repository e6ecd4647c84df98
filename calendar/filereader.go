package calendar

import (
	"cmp"
	"encoding"
	"errors"
	"fmt"
	"reflect"
	"slices"
	"strings"

	"github.com/goccy/go-yaml"
	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/parser"

	"budswell/climate"
)

// FileFault is one thing that is wrong in a plan file.
type FileFault struct {
	File         string
	Line, Column int    // counted from 1
	Field        string // such as "trees[2].log[1].on"; empty for the file as a whole
	Value        string // as written; empty where there is none
	Want         string // what would be right
}

// Error returns file:line:column: field: value: what would be right.
func (f FileFault) Error() string {
	s := fmt.Sprintf("%s:%d:%d: ", f.File, f.Line, f.Column)
	if f.Field != "" {
		s += f.Field + ": "
	}
	if f.Value != "" {
		s += fmt.Sprintf("%q: ", f.Value)
	}
	return s + f.Want
}

// FileFaults are all things that are wrong in a plan file, in its order.
type FileFaults []FileFault

// Error returns one fault a line.
func (f FileFaults) Error() string {
	lines := make([]string, len(f))
	for i := range f {
		lines[i] = f[i].Error()
	}
	return strings.Join(lines, "\n")
}

// Unwrap makes faults an ErrInvalid.
func (f FileFaults) Unwrap() error { return ErrInvalid }

// fileReader reads the nodes of a YAML document strictly, goes on after faults
// and notes them all.
type fileReader struct {
	name   string
	lore   *Lore
	today  climate.Date
	faults FileFaults

	benches []Bench
}

// Bounds that no honest plan file comes near, and which keep a hostile one from
// taking the program down.
const (
	fileBytes = 4 << 20
	fileDepth = 64
)

func (r *fileReader) err() error {
	if len(r.faults) == 0 {
		return nil
	}
	slices.SortStableFunc(r.faults, func(a, b FileFault) int {
		return cmp.Or(cmp.Compare(a.Line, b.Line), cmp.Compare(a.Column, b.Column))
	})
	return r.faults
}

// parse returns the one document of text; nil, having noted why, where there is
// none.
func (r *fileReader) parse(text []byte) (root ast.Node) {
	whole := func(format string, args ...any) ast.Node {
		r.faults = append(r.faults, FileFault{File: r.name, Line: 1, Column: 1, Want: fmt.Sprintf(format, args...)})
		return nil
	}
	if len(text) > fileBytes {
		return whole("has %d bytes; want at most %d", len(text), fileBytes)
	}
	if deep(text) {
		return whole("lists and fields lie in one another more than %d deep", fileDepth)
	}
	// Should the parser fail on something odd, that is a fault of the file.
	defer func() {
		if p := recover(); p != nil {
			root = whole("is not YAML that can be read: %v", p)
		}
	}()
	file, err := parser.ParseBytes(text, 0, parser.AllowDuplicateMapKey())
	if err != nil {
		why := whole("is not YAML: %v", err)
		var e yaml.Error
		if errors.As(err, &e) && e.GetToken() != nil && e.GetToken().Position != nil {
			last := &r.faults[len(r.faults)-1]
			last.Line, last.Column = max(1, e.GetToken().Position.Line), max(1, e.GetToken().Position.Column)
			last.Want = "is not YAML: " + e.GetMessage()
		}
		return why
	}
	for _, doc := range file.Docs {
		switch {
		case doc == nil || doc.Body == nil || doc.Body.Type() == ast.NullType:
		case root != nil:
			return whole("holds several documents; want one")
		default:
			root = doc.Body
		}
	}
	if root == nil {
		return whole("holds nothing; want version, site, weather and trees")
	}
	return root
}

// deep reports whether things in text may lie deeper than fileDepth: brackets in
// one another, list items on one line, or indents.
func deep(text []byte) bool {
	depth := 0
	for _, b := range text {
		switch b {
		case '[', '{':
			depth++
		case ']', '}':
			depth = max(0, depth-1)
		}
		if depth > fileDepth {
			return true
		}
	}
	for line := range strings.Lines(string(text)) {
		rest := strings.TrimLeft(line, " ")
		if len(line)-len(rest) > 2*fileDepth || strings.Count(rest, "- ") > fileDepth || strings.Count(rest, "? ") > fileDepth {
			return true
		}
	}
	return false
}

// no notes what is wrong with n.
func (r *fileReader) no(n ast.Node, field, format string, args ...any) {
	value := ""
	switch t := n.(type) {
	case *ast.StringNode:
		value = t.Value
	case *ast.IntegerNode, *ast.FloatNode, *ast.BoolNode, *ast.InfinityNode, *ast.NanNode:
		value = t.GetToken().Value
	}
	r.fault(n, field, value, fmt.Sprintf(format, args...))
}

func (r *fileReader) fault(n ast.Node, field, value, want string) {
	line, column := where(n)
	r.faults = append(r.faults, FileFault{r.name, line, column, field, value, want})
}

// where returns the line and column at which n begins.
func where(n ast.Node) (line, column int) {
	for {
		switch t := n.(type) {
		case *ast.MappingNode:
			if !t.IsFlowStyle && len(t.Values) > 0 {
				n = t.Values[0]
				continue
			}
		case *ast.MappingValueNode:
			if t.Key != nil {
				n = t.Key
				continue
			}
		}
		break
	}
	if n == nil || n.GetToken() == nil || n.GetToken().Position == nil {
		return 1, 1
	}
	p := n.GetToken().Position
	return max(1, p.Line), max(1, p.Column)
}

// fields reads the fields of n, each with its function, which is given the name
// of the field with those around it. It returns the nodes of the fields.
func (r *fileReader) fields(n ast.Node, at string, known map[string]func(ast.Node, string), must ...string) map[string]ast.Node {
	var values []*ast.MappingValueNode
	switch m := n.(type) {
	case *ast.MappingNode:
		values = m.Values
	case *ast.MappingValueNode:
		values = []*ast.MappingValueNode{m}
	default:
		r.no(n, at, "want fields, each written name: value")
		return nil
	}
	names := make([]string, 0, len(known))
	for k := range known {
		names = append(names, k)
	}
	slices.Sort(names)
	inner := func(name string) string {
		if at == "file" {
			return name
		}
		return at + "." + name
	}
	nodes := map[string]ast.Node{}
	for _, v := range values {
		key, ok := v.Key.(*ast.StringNode)
		if !ok {
			r.no(v.Key, at, "want the name of a field")
			continue
		}
		read, ok := known[key.Value]
		switch {
		case !ok:
			r.no(key, at, "there is no such field%s; the fields are %s", meant(nearest(key.Value, names)), strings.Join(names, ", "))
		case nodes[key.Value] != nil:
			r.fault(key, inner(key.Value), "", "is given twice; give it once")
		case v.Value == nil || v.Value.Type() == ast.NullType:
			nodes[key.Value] = key
			r.fault(key, inner(key.Value), "", "has no value; give one or leave the field out")
		default:
			nodes[key.Value] = v.Value
			read(v.Value, inner(key.Value))
		}
	}
	for _, name := range must {
		if nodes[name] == nil {
			r.fault(n, inner(name), "", "is missing")
		}
	}
	return nodes
}

func meant(name string) string {
	if name == "" {
		return ""
	}
	return "; did you mean " + name + "?"
}

// items returns the items of a list.
func (r *fileReader) items(n ast.Node, at string) []ast.Node {
	s, ok := n.(*ast.SequenceNode)
	if !ok {
		r.no(n, at, "want a list, written [a, b] or one item a line after a hyphen")
		return nil
	}
	return s.Values
}

// into returns a reader of a single value or a list of such.
func (r *fileReader) into(v any) func(ast.Node, string) {
	return func(n ast.Node, at string) { r.value(n, at, v) }
}

// value reads n into the value that v points to, and reports whether it could.
func (r *fileReader) value(n ast.Node, at string, v any) bool {
	e := reflect.ValueOf(v).Elem()
	if e.Kind() == reflect.Slice {
		items := r.items(n, at)
		e.Set(reflect.MakeSlice(e.Type(), len(items), len(items)))
		ok := items != nil
		for i, item := range items {
			ok = r.value(item, fmt.Sprintf("%s[%d]", at, i+1), e.Index(i).Addr().Interface()) && ok
		}
		return ok
	}
	text, isText := v.(encoding.TextUnmarshaler)
	kind := n.Type()
	switch {
	case isText || e.Kind() == reflect.String:
		var s string
		switch t := n.(type) {
		case *ast.StringNode:
			s = t.Value
		case *ast.LiteralNode:
			s = t.Value.Value
		default:
			r.no(n, at, "want text; put it in quotes if it looks like a number")
			return false
		}
		if isText {
			if err := text.UnmarshalText([]byte(s)); err != nil {
				r.no(n, at, "%v", err)
				return false
			}
			return true
		}
		e.SetString(s)
		return true
	case e.Kind() == reflect.Float64 && kind != ast.FloatType && kind != ast.IntegerType:
		r.no(n, at, "want a number")
		return false
	case e.Kind() == reflect.Int && kind != ast.IntegerType:
		r.no(n, at, "want a whole number")
		return false
	}
	if err := yaml.NodeToValue(n, v); err != nil {
		why, _, _ := strings.Cut(err.Error(), "\n")
		r.no(n, at, "%s", why)
		return false
	}
	return true
}

// wrong notes what a check of several fields found, at the field that its text
// names first.
func (r *fileReader) wrong(nodes map[string]ast.Node, n ast.Node, at string, err error, fields ...string) {
	for _, f := range fields {
		if node := nodes[f]; node != nil && strings.Contains(err.Error(), f+" ") {
			r.fault(node, at+"."+f, "", err.Error())
			return
		}
	}
	r.fault(n, at, "", err.Error())
}
