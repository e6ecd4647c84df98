package pages

import (
	"html/template"
	"io"
)

// Home is the page of a grower: what to do now.
type Home struct {
	Left string // that own rules are left out, or trees that hang on them; empty: all hold

	CSRF    string
	Said    string
	Changed *Changed
	Body    template.HTML // that [Pages.Fortnight] wrote
}

// Home writes the page of a grower.
func (p *Pages) Home(w io.Writer, h *Home) error { return p.write(w, "home.html", h) }
