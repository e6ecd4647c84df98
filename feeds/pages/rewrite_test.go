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
	set, err := template.New("x").Funcs((&Pages{}).parts(wording.English)).Parse(text)
	if err != nil {
		t.Fatal(err)
	}
	return set
}

// TestEveryUnitIsTranslated names, as lines to fill in, what a language lacks.
func TestEveryUnitIsTranslated(t *testing.T) {
	set, err := template.New("").Funcs((&Pages{}).parts(wording.English)).ParseFS(templates, "templates/*.html")
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

func TestUnitsOfATemplate(t *testing.T) {
	for text, want := range map[string]string{
		`<h1>Your account</h1><p class="Big">{{.}}</p>`:                                "Your account",
		"<p>Opens in\n  about {{.A}}, or {{.B}}.</p>":                                  "Opens in about {1}, or {2}.",
		`<p>See <a href="/x?q={{.Q}}" title="The page">your <b>page</b></a>.</p>`:      "See <1>your <2>page</2></1>.|The page",
		`<p><a href="/">Your trees</a></p>`:                                            "Your trees",
		`<p>A{{if .X}} and <b>B</b>{{else}} or C{{end}} is.</p>`:                       "A{1} is.|and <1>B</1>|or C",
		`<p>{{if .X}}One.{{else}}Other.{{end}}</p>`:                                    "One.|Other.",
		`A {{if .X}}<p>b</p>{{end}} c`:                                                 "A|b|c",
		`<nav aria-label="Trees at {{.Name}}"></nav>`:                                  "Trees at {1}",
		`<input placeholder="Europe/Zurich" value="Not for people" name="Nor">`:        "Europe/Zurich",
		`<label>Mail <input name="m"{{if .X}} checked{{end}}> or not</label>`:          "Mail|or not",
		`{{template "y" "Your page"}}{{define "y"}}<title>{{.}}</title>{{end}}`:        "Your page",
		`{{template "y" "password"}}{{define "y"}}<b id="{{.}}">x</b>{{end}}`:          "x",
		`<input{{template "y" .}}>{{define "y"}} aria-label="Say it" class="z"{{end}}`: "Say it",
		`{{$x := .Y}}<li>{{range .Z}}{{if $x}}, {{end}}{{.}}{{end}}</li>`:              "",
		`<p>{{.A}} {{.B}}</p>`:                        "",
		`<a href="/">Open <div>closed</div> shut</a>`: "Open|closed|shut",
		`<p>It's 3 &lt; 4</p>`:                        "It's 3 &lt; 4",
	} {
		got := units(t, parsed(t, text))
		all := strings.Split(want, "|")
		if want == "" {
			all = nil
		}
		slices.Sort(all)
		if !slices.Equal(got, all) {
			t.Errorf("%s\n%q, want %q", text, got, all)
		}
	}
}

// said renders a template in another language.
func said(t *testing.T, text string, words map[string]string, data any) (string, error) {
	t.Helper()
	set := parsed(t, text)
	r := &rewriter{lang: "xx", say: func(s string) (string, bool) {
		w, ok := words[s]
		return w, ok
	}}
	if err := r.rewrite(treesOf(set)); err != nil {
		return "", err
	}
	var b strings.Builder
	err := set.Execute(&b, data)
	return b.String(), err
}

func TestAUnitMayChangeTheOrder(t *testing.T) {
	got, err := said(t, `<p> By {{.A}} <a href="/{{.B}}" title="Of {{.A}}">see {{.B}}</a> </p><p>Left as it is</p>`,
		map[string]string{"By {1} <1>see {2}</1>": `„<1>{2} sehen</1>“ bis {1}`, "Of {1}": "von {1}"}, map[string]string{"A": `<b>"`, "B": "x y"})
	// What is filled in is escaped for where it stands now.
	if want := `<p> „<a href="/x%20y" title="von &lt;b&gt;&#34;">x y sehen</a>“ bis &lt;b&gt;&#34; </p><p>Left as it is</p>`; err != nil || got != want {
		t.Errorf("%v\n%s\n%s", err, got, want)
	}
}

// TestABadUnitIsRefused when the service starts, and not when somebody opens the page.
func TestABadUnitIsRefused(t *testing.T) {
	const english = "By {1} <1>see <2>{2}</2></1>"
	for words, says := range map[string]string{
		"bis {1}":                       "has 1 of 6 marks",
		"{1} {1} <1><2>{2}</2></1>":     "{1} is there twice",
		"{1} {3} <1><2>{2}</2></1>":     "{3} stands for nothing",
		"{1} <1><2>{2}</1></2>":         "</1> ends what did not begin last",
		"{1} </1><1><2>{2}</2>":         "</1> ends what did not begin last",
		"{1} <1><2>{2}</2></1><script>": "HTML reads otherwise",
		"{1} <1><2>{2}</2></1> a > b":   "HTML reads otherwise",
	} {
		_, err := said(t, `<p>By {{.A}} <a href="/">see <b>{{.B}}</b></a></p>`, map[string]string{english: words}, nil)
		if err == nil || !strings.Contains(err.Error(), says) {
			t.Errorf("%q: %v, want %q", words, err, says)
		}
	}
	if _, err := said(t, `<nav aria-label="Trees"></nav>`, map[string]string{"Trees": `B"ume`}, nil); err == nil {
		t.Error("a quote in an attribute is taken")
	}
}
