// Package lore holds the trade's knowledge as data: the species, works, rules
// and cautions in its YAML files, which are part of the program, and those that
// a grower or club adds or puts in their place.
//
// A file holds any of the keys species, genera, works, rules, cautions, pests, stages
// and setbacks, each a list; the fields are those of [calendar.Species],
// [calendar.Genus], [calendar.Work], [calendar.Rule], [calendar.Caution],
// [calendar.Pest], [calendar.StageTime] and [calendar.Setback]. Every value is checked;
// see [Read]. What a genus says holds for those of its species whose rows say nothing,
// also for those that a grower adds.
package lore

import (
	"embed"
	"errors"
	"fmt"
	"io/fs"
	"reflect"
	"sync"
	"unicode/utf8"

	"github.com/goccy/go-yaml"
	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/lexer"
	"github.com/goccy/go-yaml/parser"
	"github.com/goccy/go-yaml/token"

	"budswell/calendar"
	"budswell/climate"
)

//go:embed works.yaml cautions.yaml stages.yaml genera.yaml pests.yaml rules species
var builtin embed.FS

// keys are those that a file may hold, as errors name them.
const keys = "species, genera, works, rules, cautions, pests, stages, setbacks"

// maxBytes is how large a file of lore may be; maxDepth how deep its values may
// lie in one another. Both are far above what lore needs, and keep a hostile
// file from taking the program down.
const (
	maxBytes = 1 << 20
	maxDepth = 64
)

// File is a file of lore.
type File struct {
	Name string // as errors name it
	Text []byte

	// From is whose it is; where it has no layer, that of a file of this name.
	From calendar.From
}

// Load returns the lore that is part of the program.
func Load() (*calendar.Lore, error) { return Read() }

// Read returns the lore that is part of the program with what the files add to
// it, or put in the place of what has the same id (of species: the same name).
// All faults of all files are returned at once, as [Faults]. What it returns must
// not be changed: parts of it are shared.
func Read(files ...File) (*calendar.Lore, error) {
	g, err := NewGround(files...)
	if err != nil {
		return nil, err
	}
	return g.Lore(), nil
}

// readBuiltin reads the files of the program, once: that takes far longer than
// checking them.
var readBuiltin = sync.OnceValues(func() (*set, error) {
	files, err := builtinFiles()
	s := &set{known: map[string]known{}}
	for _, f := range files {
		s.read(f, 0)
	}
	return s, err
})

// builtinFiles returns the files of the program in the order of their paths.
func builtinFiles() ([]File, error) {
	var out []File
	err := fs.WalkDir(builtin, ".", func(path string, e fs.DirEntry, err error) error {
		if err != nil || e.IsDir() {
			return err
		}
		text, err := builtin.ReadFile(path)
		out = append(out, File{Name: "lore/" + path, Text: text})
		return err
	})
	return out, err
}

// read adds what f holds to the set.
func (s *set) read(f File, layer int) {
	from := f.From
	switch {
	case from.Layer != "":
	case layer == 0:
		from = calendar.From{Layer: calendar.LayerBuiltIn, File: f.Name, Since: climate.NoDate}
	default:
		from = calendar.From{Layer: calendar.LayerFile, File: f.Name, Since: climate.NoDate}
	}
	s.files = append(s.files, f.Name)
	top := &spot{file: f.Name, line: 1, column: 1}
	root, err := parse(f.Text)
	if err != nil {
		var e yaml.Error
		if errors.As(err, &e) && e.GetToken() != nil && e.GetToken().Position != nil {
			top.line, top.column = max(1, e.GetToken().Position.Line), max(1, e.GetToken().Position.Column)
			s.faults.add(top, "is not YAML: %s", e.GetMessage())
			return
		}
		s.faults.add(top, "%v", err)
		return
	}
	if root == nil || root.Type() == ast.NullType {
		s.faults.add(top, "holds nothing; want one of the keys %s", keys)
		return
	}
	d := decoder{file: f.Name, faults: &s.faults, layer: layer, from: &from}
	pairs, _ := d.pairs(root, top)
	for _, p := range pairs {
		switch p.key {
		case "species":
			s.species = append(s.species, items(s, &d, p, "species", "name", s.species)...)
		case "works":
			s.works = append(s.works, items(s, &d, p, "work", "id", s.works)...)
		case "rules":
			s.rules = append(s.rules, items(s, &d, p, "rule", "id", s.rules)...)
		case "cautions":
			s.cautions = append(s.cautions, items(s, &d, p, "caution", "id", s.cautions)...)
		case "genera":
			s.genera = append(s.genera, items(s, &d, p, "genus", "name", s.genera)...)
		case "pests":
			s.pests = append(s.pests, items(s, &d, p, "pest", "id", s.pests)...)
		case "stages":
			s.stages = append(s.stages, items(s, &d, p, "stage", "id", s.stages)...)
		case "setbacks":
			s.setbacks = append(s.setbacks, items(s, &d, p, "setback", "id", s.setbacks)...)
		default:
			ks := d.spot(p.node, "")
			s.faults.add(ks, "there is no such key; the keys are %s", keys)
		}
	}
}

// parse returns the one document of text, or nil where it is empty.
func parse(text []byte) (root ast.Node, err error) {
	if len(text) > maxBytes {
		return nil, fmt.Errorf("has %d bytes; want at most %d", len(text), maxBytes)
	}
	if !utf8.Valid(text) {
		return nil, errors.New("is not UTF-8 text")
	}
	// The parser reads what people typed and outsiders sent; should it fail on
	// something, that is a fault of the file and must not end the program.
	defer func() {
		if r := recover(); r != nil {
			root, err = nil, fmt.Errorf("is not YAML that can be read: %v", r)
		}
	}()
	tokens := lexer.Tokenize(string(text))
	if !shallow(tokens) {
		return nil, fmt.Errorf("lists and fields lie in one another more than %d deep", maxDepth)
	}
	file, err := parser.Parse(tokens, 0, parser.AllowDuplicateMapKey())
	if err != nil {
		return nil, err
	}
	for _, doc := range file.Docs {
		switch {
		case doc == nil || doc.Body == nil:
		case root != nil:
			return nil, errors.New("holds several documents; want one")
		default:
			root = doc.Body
		}
	}
	return root, nil
}

// shallow reports whether nothing lies deeper than maxDepth: brackets in one
// another, or items and fields by their indent, which grows by a column or more
// with each level.
func shallow(tokens token.Tokens) bool {
	depth, line := 0, 0
	for _, tk := range tokens {
		switch tk.Type {
		case token.SequenceStartType, token.MappingStartType:
			depth++
		case token.SequenceEndType, token.MappingEndType:
			depth--
		}
		opens := tk.Position.Line > line || tk.Type == token.SequenceEntryType || tk.Type == token.MappingKeyType
		line = max(line, tk.Position.Line)
		if depth > maxDepth || depth == 0 && opens && tk.Position.Column > 2*maxDepth {
			return false
		}
	}
	return true
}

// items decodes the list of one key. An item that is none, or has the id of
// another of its layer, is left out. Lower are those that were read before.
func items[T any](s *set, d *decoder, p pair, kind, key string, lower []item[T]) []item[T] {
	ls := d.spot(p.value, p.key)
	list, ok := p.value.(*ast.SequenceNode)
	if !ok {
		s.faults.add(ls, "want a list, one item a line after a hyphen")
		return nil
	}
	var out []item[T]
	for _, n := range list.Values {
		id := name(n, key)
		field := kind + ":"
		if id != "" {
			field = kind + " " + id + ":"
		}
		it := item[T]{layer: d.layer, from: d.from}
		if amends(n) {
			amended(s, d, n, &it, kind, id, field, lower)
		} else {
			it.spot = d.value(n, reflect.ValueOf(&it.value).Elem(), field)
		}
		if s.enter(kind, key, id, it.spot, d.layer) {
			out = append(out, it)
		}
	}
	return out
}

// name returns the text of a field of n, or nothing.
func name(n ast.Node, field string) string {
	for _, v := range fields(n) {
		k, ok := v.Key.(*ast.StringNode)
		if !ok || k.Value != field {
			continue
		}
		if t, ok := v.Value.(*ast.StringNode); ok {
			return t.Value
		}
	}
	return ""
}
