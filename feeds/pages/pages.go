// Package pages holds what people see in a browser: templates, the style sheet
// and the pictures of windows, all embedded and all made on the server. The
// pages need no JavaScript and load nothing from elsewhere.
package pages

import (
	"bytes"
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"fmt"
	"html/template"
	"io"
	"slices"
	"text/template/parse"

	"budswell/calendar"
	"budswell/feeds/wording"
)

//go:embed templates/*.html
var templates embed.FS

//go:embed static/style.css
var style []byte

// Pages renders every page, in the language of one tongue.
type Pages struct {
	sets  map[string]*template.Template // by language
	lang  string
	style string
}

// New reads the embedded templates.
func New() (*Pages, error) {
	h := sha256.Sum256(style)
	p := &Pages{style: "/static/" + hex.EncodeToString(h[:6]) + ".css"}
	p.sets, p.lang = map[string]*template.Template{}, wording.English.Lang()
	for _, l := range wording.Languages() {
		t := wording.In(calendar.Locale{Language: l.Tag}, "")
		set, err := template.New("").Funcs(template.FuncMap{"style": func() string { return p.style }, "lang": t.Lang, "named": named}).ParseFS(templates, "templates/*.html")
		if err != nil {
			return nil, fmt.Errorf("pages: %w", err)
		}
		r := &rewriter{say: t.Sentence, lang: t.Lang()}
		if err := r.rewrite(treesOf(set)); err != nil {
			return nil, err
		}
		p.sets[l.Tag] = set
	}
	return p, nil
}

// treesOf returns the parse trees of a set by name.
func treesOf(set *template.Template) map[string]*parse.Tree {
	out := map[string]*parse.Tree{}
	for _, t := range set.Templates() {
		if t.Tree != nil {
			out[t.Name()] = t.Tree
		}
	}
	return out
}

// In returns the pages in the language of a tongue.
func (p *Pages) In(t *wording.Tongue) *Pages {
	out := *p
	out.lang = t.Lang()
	return &out
}

// Style returns the style sheet and its path, which changes with it.
func (p *Pages) Style() (path string, css []byte) { return p.style, style }

// Home writes the page of a grower.
func (p *Pages) Home(w io.Writer, h *Home) error { return p.write(w, "home.html", h) }

// Region writes the public page of a region.
func (p *Pages) Region(w io.Writer, r *Region) error { return p.write(w, "region.html", r) }

// Message writes a page that says one thing.
func (p *Pages) Message(w io.Writer, m *Message) error { return p.write(w, "message.html", m) }

// write renders in memory first, so that a fault shows no half of a page.
func (p *Pages) write(w io.Writer, name string, data any) error {
	var b bytes.Buffer
	if err := p.sets[p.lang].ExecuteTemplate(&b, name, data); err != nil {
		return fmt.Errorf("pages: %s: %w", name, err)
	}
	_, err := b.WriteTo(w)
	return err
}

// choices is a named list to pick from.
type choices struct {
	Name, Title string
	Choices     []Choice
}

func named(name, title string, list []Choice) choices { return choices{name, title, list} }

// Picked reports whether anything in the list is picked.
func (c choices) Picked() bool {
	return slices.ContainsFunc(c.Choices, func(c Choice) bool { return c.Picked })
}

// Message is a page that says one thing, such as an error.
type Message struct {
	Title   string
	Text    string
	Regions []Choice // public regions to go to
	SignIn  bool     // shows the way in
}
