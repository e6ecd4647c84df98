package feeds

import (
	"errors"
	"fmt"
	"go/ast"
	"go/constant"
	"go/parser"
	"go/token"
	"maps"
	"net/http"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/labstack/echo/v4"

	"budswell/calendar"
	"budswell/feeds/nudge"
	"budswell/feeds/wording"
)

// spoken are the functions to which sentences are handed in English, by which of their
// arguments it is.
var spoken = map[string]int{
	"Say": 0, "add": 0, "say": 0, "refuse": 1, "Fault": 1, "said": 1, "afresh": 2, "accountFault": 2, "putPlace": 2, "leavingWith": 3, "choicesOf": 1,
}

// TestEverySentenceIsTranslated names, as lines to fill in, the sentences of Go code that a
// language lacks.
func TestEverySentenceIsTranslated(t *testing.T) {
	all := map[string]bool{}
	for _, dir := range []string{".", "pages", "ics", "nudge", "wording"} {
		for s := range sentencesIn(t, dir) {
			all[s] = true
		}
	}
	for _, k := range nudge.Kinds() {
		all[k.Title] = true
	}
	for _, o := range offered {
		all[o.label] = true
	}
	for _, a := range answers {
		all[a.words] = true
	}
	for _, s := range []string{
		noAddress, takenAddress, notSignedIn, noName, signInFirst, signInAgain, signInKept,
		weak("\xff"), weak(""), weak(strings.Repeat("ab c", longestPassword)), weak("\x00 and some more words"), weak("abcabcabcabc"),
		badAddress(""), badAddress("https://a:b@example.org"), http.StatusText(http.StatusNotFound), http.StatusText(http.StatusForbidden), http.StatusText(http.StatusGone),
		http.StatusText(http.StatusUnprocessableEntity), http.StatusText(http.StatusConflict), http.StatusText(http.StatusTooManyRequests), http.StatusText(http.StatusInternalServerError), http.StatusText(http.StatusServiceUnavailable),
	} {
		all[s] = true
	}
	for _, code := range []int{http.StatusForbidden, http.StatusBadRequest, http.StatusRequestEntityTooLarge} {
		_, words := answer(echo.NewHTTPError(code))
		all[words] = true
	}
	_, words := answer(errors.New("unknown"))
	all[words] = true
	if len(all) < 250 {
		t.Fatalf("only %d sentences were found", len(all))
	}
	for _, l := range wording.Languages()[1:] {
		in := wording.In(calendar.Locale{Language: l.Tag}, "")
		var lacks strings.Builder
		for _, s := range slices.Sorted(maps.Keys(all)) {
			if _, ok := in.Sentence(s); !ok {
				fmt.Fprintf(&lacks, "  %q: \"\"\n", s)
			}
		}
		if lacks.Len() > 0 {
			t.Errorf("feeds/wording/languages/%s.yaml lacks, under sentences:\n%s", l.Tag, lacks.String())
		}
	}
}

// sentencesIn returns the sentences of a package that are written out where they are said.
func sentencesIn(t *testing.T, dir string) map[string]bool {
	t.Helper()
	fset := token.NewFileSet()
	var files []*ast.File
	names, err := filepath.Glob(filepath.Join(dir, "*.go"))
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range names {
		if strings.HasSuffix(name, "_test.go") {
			continue
		}
		text, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		f, err := parser.ParseFile(fset, name, text, 0)
		if err != nil {
			t.Fatal(err)
		}
		files = append(files, f)
	}
	known := map[string]ast.Expr{} // constants by name
	for _, f := range files {
		ast.Inspect(f, func(n ast.Node) bool {
			if d, ok := n.(*ast.GenDecl); ok && d.Tok == token.CONST {
				for _, spec := range d.Specs {
					v := spec.(*ast.ValueSpec)
					for i := range v.Values {
						known[v.Names[i].Name] = v.Values[i]
					}
				}
			}
			return true
		})
	}
	out := map[string]bool{}
	add := func(e ast.Expr) {
		if s, ok := literal(e, known); ok && s != "" && strings.ContainsFunc(s, func(r rune) bool { return r >= 'A' }) {
			out[s] = true
		}
	}
	for _, f := range files {
		ast.Inspect(f, func(n ast.Node) bool {
			switch n := n.(type) {
			case *ast.CallExpr:
				name := ""
				switch fun := n.Fun.(type) {
				case *ast.SelectorExpr:
					name = fun.Sel.Name
				case *ast.Ident:
					name = fun.Name
				}
				if at, ok := spoken[name]; ok && at < len(n.Args) {
					add(n.Args[at])
				}
			case *ast.CompositeLit: // a field of a form
				if s, ok := n.Type.(*ast.SelectorExpr); ok && s.Sel.Name == "Input" || n.Type == nil {
					for _, e := range n.Elts {
						if kv, ok := e.(*ast.KeyValueExpr); ok {
							if k, ok := kv.Key.(*ast.Ident); ok && (k.Name == "Label" || k.Name == "Hint") {
								add(kv.Value)
							}
						}
					}
				}
			}
			return true
		})
	}
	return out
}

// literal returns the value of an expression that is text known when it is compiled.
func literal(e ast.Expr, known map[string]ast.Expr) (string, bool) {
	switch e := e.(type) {
	case *ast.BasicLit:
		s, err := strconv.Unquote(e.Value)
		return s, err == nil && e.Kind == token.STRING
	case *ast.Ident:
		if v, ok := known[e.Name]; ok {
			return literal(v, nil)
		}
	case *ast.BinaryExpr:
		a, okA := literal(e.X, known)
		b, okB := literal(e.Y, known)
		if okA && okB && e.Op == token.ADD {
			return constant.StringVal(constant.BinaryOp(constant.MakeString(a), token.ADD, constant.MakeString(b))), true
		}
	case *ast.SelectorExpr:
		if e.Sel.Name == "LookFirst" {
			return wording.LookFirst, true
		}
	}
	return "", false
}
