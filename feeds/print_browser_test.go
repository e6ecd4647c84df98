package feeds

import (
	"context"
	"fmt"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"

	"budswell/calendar"
)

// leaf is a dictionary of a page in a PDF, and not of the tree of pages.
var leaf = regexp.MustCompile(`/Type\s*/Page\b[^s]`)

// paper is in inches.
var papers = map[string][2]float64{"A4": {8.27, 11.69}, "letter": {8.5, 11}}

// TestPrintedPages prints the demo's month and cards on both kinds of paper: a month is one sheet,
// cards are four to a sheet.
func TestPrintedPages(t *testing.T) {
	tab := browser(t)
	b, _ := newDemo(t, time.Date(2027, time.April, 2, 7, 0, 0, 0, time.UTC))
	ctx, done := context.WithTimeout(tab, 2*time.Minute)
	defer done()
	if err := chromedp.Do(ctx, chromedp.Navigate(b.http.URL+"/enter/"+b.key)); err != nil {
		t.Fatal(err)
	}
	for _, p := range []struct {
		path   string
		sheets int
		says   []string
	}{
		{"/print/month", 1, []string{"April 2027", "Dates are forecasts of 2 April 2027: look at the tree first.", "Take care", "do"}},
		{"/print/month?month=2027-05", 2, []string{"May 2027", "May 2027, Quernthal bench: what found no room", "overleaf"}},
		{"/print/month?month=2027-10", 1, []string{"October 2027"}},
		{"/print/month?month=2028-02", 1, []string{"February 2028"}},
		{"/print/cards", 4, []string{"twin larch", "Larix decidua", "Next, and how sure"}},
		{"/trees/twin-larch/card", 1, []string{"twin larch", "look at the tree first"}},
	} {
		for name, size := range papers {
			pdf := printed(t, ctx, b.http.URL+p.path, size)
			if n := len(leaf.FindAll(pdf, -1)); n != p.sheets {
				t.Errorf("%s on %s: %d sheets, want %d", p.path, name, n, p.sheets)
			}
			file := filepath.Join(t.TempDir(), "page.pdf")
			if dir := os.Getenv("BUDSWELL_ARTIFACTS"); dir != "" {
				file = filepath.Join(dir, "print"+strings.NewReplacer("/", "-", "?", "-", "=", "-").Replace(p.path)+"-"+name+".pdf")
			}
			b.must(os.WriteFile(file, pdf, 0o644))
			text := textOf(t, file)
			for _, want := range p.says {
				if text != "" && !strings.Contains(text, want) {
					t.Errorf("%s on %s does not say %q:\n%s", p.path, name, want, text)
				}
			}
		}
	}
}

// TestMonthOfFortyTrees prints a month of forty trees with long names: the sheet for the wall stays one, and
// the list begins on the next.
func TestMonthOfFortyTrees(t *testing.T) {
	tab := browser(t)
	b, _ := newDemo(t, time.Date(2027, time.April, 2, 7, 0, 0, 0, time.UTC))
	trees, err := b.store.Trees(b.ctx(), "demo")
	b.must(err)
	for i := range 40 - len(trees) {
		more := trees[i%len(trees)]
		more.ID, more.Name = fmt.Sprintf("more-%d", i), fmt.Sprintf("Wintergreen mammoth %d of the mill", i)
		b.must(b.store.PutTree(b.ctx(), more))
	}
	ctx, done := context.WithTimeout(tab, 2*time.Minute)
	defer done()
	if err := chromedp.Do(ctx, chromedp.Navigate(b.http.URL+"/enter/"+b.key)); err != nil {
		t.Fatal(err)
	}
	for _, month := range []string{"2027-04", "2027-05", "2028-02"} {
		for name, size := range papers {
			pdf := printed(t, ctx, b.http.URL+"/print/month?month="+month, size)
			file := filepath.Join(t.TempDir(), "month.pdf")
			if dir := os.Getenv("BUDSWELL_ARTIFACTS"); dir != "" {
				file = filepath.Join(dir, "forty-"+month+"-"+name+".pdf")
			}
			b.must(os.WriteFile(file, pdf, 0o644))
			if leaves := len(leaf.FindAll(pdf, -1)); leaves < 1 || leaves > 3 {
				t.Errorf("%s on %s: %d sheets", month, name, leaves)
			} else if leaves > 1 {
				if text := textOf(t, file, "-f", "2"); text != "" && !strings.Contains(text[:min(len(text), 80)], "what found no room") {
					t.Errorf("%s on %s: the second sheet begins with %.80q", month, name, text)
				}
			}
		}
	}
}

// textOf returns the text of a PDF in one line, where a program that reads it is there.
func textOf(t *testing.T, file string, options ...string) string {
	t.Helper()
	program, err := exec.LookPath("pdftotext")
	if err != nil {
		t.Log("the text was not read: no pdftotext; apt-get install poppler-utils")
		return ""
	}
	out, err := exec.CommandContext(t.Context(), program, append(options, file, "-")...).Output()
	if err != nil {
		t.Fatal(err)
	}
	return strings.Join(strings.Fields(string(out)), " ")
}

func printed(t *testing.T, tab context.Context, address string, size [2]float64) (pdf []byte) {
	t.Helper()
	err := chromedp.Do(tab, chromedp.Navigate(address), chromedp.Func(func(ctx context.Context, tg *chromedp.Target) error {
		r, err := cdp.Call(ctx, tg, page.PrintToPDF, page.PrintToPDFParams{PreferCSSPageSize: new(true), PaperWidth: size[0], PaperHeight: size[1]})
		if err == nil {
			pdf = r.Data
		}
		return err
	}))
	if err != nil {
		t.Fatalf("%s: %v", address, err)
	}
	return pdf
}

func TestPrintedPagesAsked(t *testing.T) {
	b := newBed(t)
	if a := b.get("/print/month"); a.StatusCode != http.StatusForbidden {
		t.Errorf("a stranger gets %s", a.Status)
	}
	b.open()
	for path, want := range map[string]struct {
		status int
		words  string
	}{
		"/print/month":                           {http.StatusOK, "March 2027"},
		"/print/month?month=2027-10&place=north": {http.StatusOK, "October 2027"},
		"/print/month?month=2028-07":             {http.StatusOK, "July 2028"},
		"/print/month?month=2027-02":             {http.StatusUnprocessableEntity, "want one such as 2027-03, up to 2028-07"},
		"/print/month?month=2028-08":             {http.StatusUnprocessableEntity, "up to 2028-07"},
		"/print/month?month=July":                {http.StatusUnprocessableEntity, "July"},
		"/print/month?place=south":               {http.StatusNotFound, ""},
		"/print/cards":                           {http.StatusOK, "old pine"},
		"/print/cards?place=south":               {http.StatusNotFound, ""},
		"/trees/ridge-maple/card":                {http.StatusOK, "ridge maple"},
		"/trees/nobody/card":                     {http.StatusNotFound, ""},
	} {
		a := b.send(b.client, http.MethodGet, path, nil)
		if a.StatusCode != want.status || !strings.Contains(a.text, want.words) {
			t.Errorf("%s: %s, want %d with %q:\n%s", path, a.Status, want.status, want.words, a.text)
		}
		if a.StatusCode == http.StatusOK && a.Header.Get("Cache-Control") != "no-store" {
			t.Errorf("%s may be cached: %q", path, a.Header.Get("Cache-Control"))
		}
	}
}

// TestPrintedInGerman: longer words and a longer legend leave a month on its sheet; what
// finds no room there is all that stands on the second.
func TestPrintedInGerman(t *testing.T) {
	tab := browser(t)
	b, _ := newDemo(t, time.Date(2027, time.April, 2, 7, 0, 0, 0, time.UTC))
	b.must(b.store.PutLocale(b.ctx(), "demo", calendar.Locale{Language: "de", WeekStart: time.Monday}))
	ctx, done := context.WithTimeout(tab, 2*time.Minute)
	defer done()
	if err := chromedp.Do(ctx, chromedp.Navigate(b.http.URL+"/enter/"+b.key)); err != nil {
		t.Fatal(err)
	}
	for path, sheets := range map[string]int{"/print/month": 2, "/print/month?month=2027-05": 2, "/print/month?month=2028-02": 1, "/print/cards": 4} {
		for name, size := range papers {
			pdf := printed(t, ctx, b.http.URL+path, size)
			if n := len(leaf.FindAll(pdf, -1)); n != sheets {
				t.Errorf("%s on %s: %d sheets, want %d", path, name, n, sheets)
			}
			file := filepath.Join(t.TempDir(), "page.pdf")
			if dir := os.Getenv("BUDSWELL_ARTIFACTS"); dir != "" {
				file = filepath.Join(dir, "german"+strings.NewReplacer("/", "-", "?", "-", "=", "-").Replace(path)+"-"+name+".pdf")
			}
			b.must(os.WriteFile(file, pdf, 0o644))
			if sheets == 1 || path == "/print/cards" {
				continue
			}
			if text := textOf(t, file, "-f", "2"); text != "" && !strings.Contains(text[:min(len(text), 80)], "was keinen Platz fand") {
				t.Errorf("%s on %s: the second sheet begins with %.80q", path, name, text)
			}
		}
	}
}
