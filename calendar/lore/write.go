package lore

import (
	"encoding"
	"fmt"
	"reflect"
	"regexp"
	"strconv"
	"strings"

	"budswell/calendar"
)

// WriteRule writes a rule as the text of a file that [Read] reads as the same rule.
func WriteRule(r *calendar.Rule) string { return "rules:\n" + row(reflect.ValueOf(r).Elem()) }

// WriteSpecies does the same for a species.
func WriteSpecies(s *calendar.Species) string { return "species:\n" + row(reflect.ValueOf(s).Elem()) }

// row writes a struct as an item of a list, one field a line.
func row(v reflect.Value) string {
	var b strings.Builder
	head := "  - "
	for _, f := range given(v) {
		b.WriteString(head + f.name + ":")
		head = "    "
		if f.v.Kind() == reflect.Slice && f.v.Len() > 0 && f.v.Type().Elem().Kind() == reflect.Struct {
			for i := range f.v.Len() {
				b.WriteString("\n      - " + flow(f.v.Index(i)))
			}
			b.WriteByte('\n')
			continue
		}
		b.WriteString(" " + flow(f.v) + "\n")
	}
	return b.String()
}

type givenField struct {
	name string
	v    reflect.Value
}

// given lists the fields of a struct that hold something, in their order.
func given(v reflect.Value) []givenField {
	var out []givenField
	for i := range v.NumField() {
		f, name := v.Field(i), v.Type().Field(i).Tag.Get("yaml")
		switch {
		case v.Type().Field(i).Anonymous:
			out = append(out, given(f)...)
		case name != "-" && !f.IsZero():
			out = append(out, givenField{name, f})
		}
	}
	return out
}

// flow writes a value on one line.
func flow(v reflect.Value) string {
	if t, ok := v.Interface().(encoding.TextMarshaler); ok && v.Kind() != reflect.Pointer {
		text, err := t.MarshalText()
		if err == nil {
			return quote(string(text))
		}
	}
	var parts []string
	switch v.Kind() {
	case reflect.Pointer:
		return flow(v.Elem())
	case reflect.Struct:
		for _, f := range given(v) {
			parts = append(parts, f.name+": "+flow(f.v))
		}
		return "{" + strings.Join(parts, ", ") + "}"
	case reflect.Slice:
		for i := range v.Len() {
			parts = append(parts, flow(v.Index(i)))
		}
		return "[" + strings.Join(parts, ", ") + "]"
	case reflect.Map:
		m, _ := v.Interface().(map[string]string)
		for _, k := range sorted(m) {
			parts = append(parts, k+": "+quote(m[k]))
		}
		return "{" + strings.Join(parts, ", ") + "}"
	case reflect.String:
		return quote(v.String())
	case reflect.Float64:
		return strconv.FormatFloat(v.Float(), 'f', -1, 64)
	}
	return fmt.Sprint(v.Interface())
}

// plain are texts that mean themselves without quotes, wherever they stand.
var plain = regexp.MustCompile(`^[A-Za-z]([A-Za-z0-9 ;()/°%+.'-]*[A-Za-z0-9.)])?$|^\d\d-\d\d$`)

// words are texts that without quotes would be something else.
var words = regexp.MustCompile(`^(?i:true|false|yes|no|on|off|null|y|n|inf|nan)$`)

func quote(s string) string {
	if plain.MatchString(s) && !words.MatchString(s) {
		return s
	}
	return `"` + strings.NewReplacer(`\`, `\\`, `"`, `\"`, "\n", `\n`).Replace(s) + `"`
}

// AmendRule writes what makes one rule of another as an amendment of it; empty where
// nothing does.
func AmendRule(was, is *calendar.Rule) string {
	w := *was
	if is.Source == withChange(was.Source) {
		w.Source = is.Source
	}
	return amendment("rules", "id", is.ID, reflect.ValueOf(&w).Elem(), reflect.ValueOf(is).Elem())
}

// AmendSpecies does the same for a species.
func AmendSpecies(was, is *calendar.Species) string {
	i := *is
	i.Sources = map[string]string{}
	for f, s := range is.Sources {
		if s != changedSince && s != was.Sources[f] {
			i.Sources[f] = s
		}
	}
	w := *was
	w.Sources = map[string]string{}
	return amendment("species", "name", is.Name, reflect.ValueOf(&w).Elem(), reflect.ValueOf(&i).Elem())
}

func amendment(list, key, id string, was, is reflect.Value) string {
	a, b := fieldsOf(was), fieldsOf(is)
	var out strings.Builder
	for _, name := range inOrder(is) {
		if name == key || reflect.DeepEqual(a[name].Interface(), b[name].Interface()) {
			continue
		}
		if b[name].Kind() == reflect.Pointer && b[name].IsNil() {
			continue // that something is not known cannot be said by an amendment
		}
		out.WriteString("    " + name + ": " + flow(b[name]) + "\n")
	}
	if out.Len() == 0 {
		return ""
	}
	return list + ":\n  - " + key + ": " + quote(id) + "\n    " + amendsKey + ": true\n" + out.String()
}

// inOrder lists the names of the fields of a struct in their order.
func inOrder(v reflect.Value) []string {
	var out []string
	for i := range v.NumField() {
		name := v.Type().Field(i).Tag.Get("yaml")
		switch {
		case v.Type().Field(i).Anonymous:
			out = append(out, inOrder(v.Field(i))...)
		case name != "-":
			out = append(out, name)
		}
	}
	return out
}
