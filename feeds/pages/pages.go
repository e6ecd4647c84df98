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
)

//go:embed templates/*.html
var templates embed.FS

//go:embed static/style.css
var style []byte

//go:embed static/print.css
var sheets []byte

// Pages renders every page.
type Pages struct {
	set           *template.Template
	style, sheets string // paths
}

// New reads the embedded templates.
func New() (*Pages, error) {
	p := &Pages{style: staticPath(style, ".css"), sheets: staticPath(sheets, ".css")}
	set, err := template.New("").Funcs(template.FuncMap{"style": func() string { return p.style }, "sheets": func() string { return p.sheets }, "named": named}).ParseFS(templates, "templates/*.html")
	if err != nil {
		return nil, fmt.Errorf("pages: %w", err)
	}
	p.set = set
	return p, nil
}

// staticPath returns the path of a static file, which changes with it.
func staticPath(content []byte, ending string) string {
	h := sha256.Sum256(content)
	return "/static/" + hex.EncodeToString(h[:6]) + ending
}

// Style returns the style sheet and its path, which changes with it.
func (p *Pages) Style() (path string, css []byte) { return p.style, style }

// Sheets returns the style sheet of pages that are made to be printed, and its path.
func (p *Pages) Sheets() (path string, css []byte) { return p.sheets, sheets }

// Home writes the page of a grower.
func (p *Pages) Home(w io.Writer, h *Home) error { return p.write(w, "home.html", h) }

// Region writes the public page of a region.
func (p *Pages) Region(w io.Writer, r *Region) error { return p.write(w, "region.html", r) }

// Message writes a page that says one thing.
func (p *Pages) Message(w io.Writer, m *Message) error { return p.write(w, "message.html", m) }

// write renders in memory first, so that a fault shows no half of a page.
func (p *Pages) write(w io.Writer, name string, data any) error {
	var b bytes.Buffer
	if err := p.set.ExecuteTemplate(&b, name, data); err != nil {
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
