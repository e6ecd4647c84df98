package pages

import (
	"fmt"
	"html/template"
	"maps"
	"slices"
	"strings"
	"testing"

	"budswell/calendar"
	"budswell/feeds/wording"
)

// units returns every unit of every template.
func units(t *testing.T, set *template.Template) []string {
	t.Helper()
	all := map[string]bool{}
	r := &rewriter{say: func(s string) (string, bool) {
		all[s] = true
		return "", false
	}}
	if err := r.rewrite(treesOf(set)); err != nil {
		t.Fatal(err)
	}
	return slices.Sorted(maps.Keys(all))
}

func parsed(t *testing.T, text string) *template.Template {
	t.Helper()
	set, err := template.New("x").Funcs(template.FuncMap{"style": func() string { return "" }, "lang": func() string { return "en" }, "named": named}).Parse(text)
	if err != nil {
		t.Fatal(err)
	}
	return set
}

// TestEveryUnitIsTranslated names, as lines to fill in, what a language lacks.
func TestEveryUnitIsTranslated(t *testing.T) {
	set, err := template.New("").Funcs(template.FuncMap{"style": func() string { return "" }, "lang": func() string { return "" }, "named": named}).ParseFS(templates, "templates/*.html")
	if err != nil {
		t.Fatal(err)
	}
	all := units(t, set)
	if len(all) < 200 {
		t.Fatalf("only %d units were found", len(all))
	}
	for _, l := range wording.Languages()[1:] {
		tongue := wording.In(calendar.Locale{Language: l.Tag}, "")
		var lacks strings.Builder
		for _, u := range all {
			if _, ok := tongue.Sentence(u); !ok {
				fmt.Fprintf(&lacks, "  %q: \"\"\n", u)
			}
		}
		if lacks.Len() > 0 {
			t.Errorf("feeds/wording/languages/%s.yaml lacks, under sentences:\n%s", l.Tag, lacks.String())
		}
	}
}
