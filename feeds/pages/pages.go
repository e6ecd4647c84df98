// Package pages holds what people see in a browser: templates, the style sheet
// and the pictures of windows, all embedded and all made on the server. The
// pages need no JavaScript and load nothing from elsewhere; where charts are drawn, a table
// beside each says the same.
package pages

import (
	"bytes"
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"fmt"
	"html/template"
	"io"
	"maps"
	"slices"
	"text/template/parse"

	"budswell/calendar"
	"budswell/feeds/wording"
)

//go:embed templates/*.html
var templates embed.FS

//go:embed static/style.css
var style []byte

// charts is made by .ci/charts/run from charts/season.js.
//
//go:embed static/charts.js
var charts []byte

//go:embed static/print.css
var sheets []byte

// Pages renders every page, in the language of one tongue.
type Pages struct {
	sets                  map[string]*template.Template // by language
	lang                  string
	style, charts, sheets string // paths
}

// New reads the embedded templates.
func New() (*Pages, error) {
	p := &Pages{style: hashed(style, ".css"), charts: hashed(charts, ".js"), sheets: hashed(sheets, ".css")}
	p.sets, p.lang = map[string]*template.Template{}, wording.English.Lang()
	for _, l := range wording.Languages() {
		t := wording.In(calendar.Locale{Language: l.Tag}, "")
		set, err := template.New("").Funcs(p.parts(t)).ParseFS(templates, "templates/*.html")
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

// parts are the functions of templates in a language.
func (p *Pages) parts(t *wording.Tongue) template.FuncMap {
	out := template.FuncMap{
		"style": func() string { return p.style }, "charts": func() string { return p.charts }, "sheets": func() string { return p.sheets },
		"lang": t.Lang, "named": named, "lookForm": newLookForm, "answer": newAnswer, "tasks": newTaskList, "folded": folded,
		"first": wording.First, "minus": func(n int) int { return -n },
	}
	maps.Copy(out, seasonParts)
	return out
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

// hashed is the path of what is served unchanged for good.
func hashed(content []byte, ending string) string {
	h := sha256.Sum256(content)
	return "/static/" + hex.EncodeToString(h[:6]) + ending
}

// Charts returns the script that draws charts from the tables of a page, and its path.
func (p *Pages) Charts() (path string, script []byte) { return p.charts, charts }

// Style returns the style sheet and its path, which changes with it.
func (p *Pages) Style() (path string, css []byte) { return p.style, style }

// Sheets returns the style sheet of pages that are made to be printed, and its path.
func (p *Pages) Sheets() (path string, css []byte) { return p.sheets, sheets }

// Region writes the public page of a region, or of one of its bands.
func (p *Pages) Region(w io.Writer, r *Region) error { return p.write(w, "region.html", r) }

// RegionSheet writes a region's season for paper.
func (p *Pages) RegionSheet(w io.Writer, r *RegionSheet) error {
	return p.write(w, "region-sheet.html", r)
}

// RegionFrame writes what others may put into their pages.
func (p *Pages) RegionFrame(w io.Writer, r *Region) error { return p.write(w, "region-frame.html", r) }

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

// lookForm is the form that the buttons of signs belong to.
type lookForm struct{ CSRF, From string }

func newLookForm(csrf, from string) lookForm { return lookForm{csrf, from} }

// answer is a sign that may be seen on a tree.
type answer struct {
	Sign string
	TreeLink
}

func newAnswer(sign string, t TreeLink) answer { return answer{sign, t} }

// taskList is tasks with the headings of their pictures.
type taskList struct {
	Tasks []Task
	Weeks []string
}

func newTaskList(tasks []Task, weeks []string) taskList { return taskList{tasks, weeks} }

// named trees, the first of them.
type treeNames struct {
	First []TreeLink
	More  int
}

func folded(all []TreeLink) treeNames {
	n := min(len(all), shownTrees)
	return treeNames{all[:n], len(all) - n}
}

// Message is a page that says one thing, such as an error.
type Message struct {
	Title   string
	Text    string
	Regions []Choice // public regions to go to
	SignIn  bool     // shows the way in
}
