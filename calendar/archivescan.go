package calendar

import (
	"bytes"
	"encoding/json"
	"fmt"
	"reflect"
	"slices"
	"strings"
)

// Bounds of how many objects an archive may hold: in memory an object takes more than
// a hundred times the two letters that it can be written with. An honest one is
// longer than this, apart from a few.
const (
	objectLetters = 16
	fewObjects    = 1000
)

// objectLists are the lists of objects in an archive, each as the name of the object or
// list that it is in, a dot, and its own.
var objectLists = listsOf("", reflect.TypeFor[Archive]())

func listsOf(in string, t reflect.Type) (lists []string) {
	for i := range t.NumField() {
		f := t.Field(i)
		name, _, _ := strings.Cut(f.Tag.Get("json"), ",")
		of := f.Type
		if of.Kind() == reflect.Pointer || of.Kind() == reflect.Slice {
			of = of.Elem()
		}
		switch {
		case of.Kind() != reflect.Struct, name == "" && !f.Anonymous: // the latter is not written
			continue
		case f.Anonymous:
			name = in
		case f.Type.Kind() == reflect.Slice:
			lists = append(lists, in+"."+name)
		}
		lists = append(lists, listsOf(name, of)...)
	}
	return lists
}

// open is an object or a list that is being read.
type open struct {
	name    string // its own; of an object in a list, the list's
	object  bool
	named   bool // of an object: the next token is a value, whose name was read
	objects bool // of a list: it holds objects
}

// scanArchive reads through an archive without keeping any of it, and reports what
// would take memory out of proportion: too many objects, or something else in a list
// of objects, where the decoder would make room for one all the same.
func scanArchive(text []byte) error {
	d := json.NewDecoder(bytes.NewReader(text))
	d.UseNumber()
	most := fewObjects + len(text)/objectLetters
	objects, name := 0, ""
	in := []open{{}} // the outermost stands for the file
	for {
		token, err := d.Token()
		if err != nil {
			return nil //nolint:nilerr // the end, or a fault of which the decoder says more
		}
		at := &in[len(in)-1]
		end := token == json.Delim('}') || token == json.Delim(']')
		switch {
		case end:
			in = in[:len(in)-1]
			continue
		case at.objects && token != json.Delim('{'):
			line := 1 + bytes.Count(text[:d.InputOffset()], []byte("\n"))
			return fmt.Errorf("%d: %s: %.40q: want an object: %w", line, at.name, fmt.Sprint(token), ErrInvalid)
		case at.object && !at.named:
			name, at.named = token.(string), true
			continue
		case !at.object:
			name = at.name
		}
		at.named = false
		switch token {
		case json.Delim('{'):
			if objects++; objects > most {
				return fmt.Errorf(" more than %d objects in %d bytes: %w", most, len(text), ErrInvalid)
			}
			in = append(in, open{name: name, object: true})
		case json.Delim('['):
			list := at.name + "." + name
			holds := func(known string) bool { return at.object && strings.EqualFold(known, list) } // as the decoder takes names
			in = append(in, open{name: name, objects: slices.ContainsFunc(objectLists, holds)})
		}
	}
}
