package pages

import (
	"net/url"
	"strings"

	"budswell/feeds/wording"
)

// Form is what was typed into a form, and what is wrong with it by field.
type Form struct {
	Typed  url.Values
	Faults map[string]string // by the field's name; that of the form as a whole under ""
	In     *wording.Tongue   // of whoever fills it in; nil: English
}

// Fault adds what is wrong with a field, written in English where it is a sentence of the
// code; the first thing said of one stays.
func (f *Form) Fault(name, words string) {
	if f.Faults == nil {
		f.Faults = map[string]string{}
	}
	if f.Faults[name] == "" {
		f.Faults[name] = f.Tongue().Say(words)
	}
}

// Tongue returns that of whoever fills the form in.
func (f *Form) Tongue() *wording.Tongue {
	if f.In == nil {
		return wording.English
	}
	return f.In
}

// Get returns what was typed into a field, without the blanks around it.
func (f *Form) Get(name string) string { return strings.TrimSpace(f.Typed.Get(name)) }

// Whole is what is wrong with the form as a whole.
func (f *Form) Whole() string {
	switch {
	case f.Faults[""] != "":
		return f.Faults[""]
	case len(f.Faults) > 0:
		return f.Tongue().Say("Not kept yet: see the lines that are marked below.")
	}
	return ""
}

// Input is one field of a form, with its label.
type Input struct {
	Name, Label, Hint string
	Value, Fault      string
	ID                string // where a page has several of the name; else the name

	Type, Mode, Complete string // of the element, where they are not those of plain text
	List                 string // id of a list of suggestions
	Required             bool
	Most                 int      // letters; 0: 200
	Rows                 int      // of a text of several lines; 0: one line
	Choices              []Choice // to choose one of
}

// Input lays out a field, its label and hint given in English, with what was typed into it.
func (f *Form) Input(in Input) Input {
	in.Label, in.Hint = f.Tongue().Say(in.Label), f.Tongue().Say(in.Hint)
	in.Value, in.Fault = f.Typed.Get(in.Name), f.Faults[in.Name]
	if in.ID == "" {
		in.ID = strings.ReplaceAll(in.Name, " ", "-")
	}
	if in.Type == "" {
		in.Type = "text"
	}
	if in.Most == 0 {
		in.Most = 200
	}
	if in.Complete == "" {
		in.Complete = "off"
	}
	for i := range in.Choices {
		in.Choices[i].Picked = in.Choices[i].Value == in.Value
	}
	return in
}

// Described names the elements that say more about the field, for aria-describedby.
func (in Input) Described() string {
	var ids []string
	if in.Fault != "" {
		ids = append(ids, in.ID+"-fault")
	}
	if in.Hint != "" {
		ids = append(ids, in.ID+"-hint")
	}
	return strings.Join(ids, " ")
}
