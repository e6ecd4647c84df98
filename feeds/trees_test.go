package feeds

import (
	"net/http"
	"net/url"
	"slices"
	"strings"
	"testing"
	"time"

	"budswell/feeds/pages"
)

// listed returns the names of the trees on a page of the list.
func (b *bed) listed(query url.Values) []string {
	b.t.Helper()
	a := b.shown("/trees?" + query.Encode())
	if a.StatusCode != http.StatusOK {
		b.t.Fatalf("%v: %s", query, a.Status)
	}
	var out []string
	for _, l := range find(a.node(b.t), "ul", "class", "list") {
		for _, h := range find(l, "h3", "", "") {
			out = append(out, text(find(h, "a", "", "")[0]))
		}
	}
	return out
}

func TestTheListOfTreesIsNarrowed(t *testing.T) {
	b, _ := newDemo(t, time.Date(2027, time.April, 12, 7, 0, 0, 0, time.UTC))
	b.open()
	all := b.listed(nil)
	if len(all) != 15 {
		t.Fatalf("%d trees, want the demo's 15: %v", len(all), all)
	}
	for name, row := range map[string]struct {
		query url.Values
		want  []string
	}{
		"name":            {url.Values{"find": {"LARCH"}}, []string{"twin larch"}},
		"botanical name":  {url.Values{"find": {"pinus mugo"}}, []string{"snow pine"}},
		"words apart":     {url.Values{"find": {" pine  stair "}}, []string{"black pine of the stair"}},
		"nothing like it": {url.Values{"find": {"<b>"}}, nil},
		"nowhere":         {url.Values{"place": {"elsewhere"}}, nil},
		"stage":           {url.Values{"stage": {"exhibition"}}, []string{"bridge elm"}},
		"both":            {url.Values{"stage": {"exhibition"}, "find": {"larch"}}, nil},
		"no such state":   {url.Values{"state": {"magic"}}, nil},
	} {
		if got := b.listed(row.query); !slices.Equal(got, row.want) {
			t.Errorf("%s: %v, want %v", name, got, row.want)
		}
	}
	// Each tree is in one state, and each state is offered.
	n := 0
	for _, s := range pages.TreeStates() {
		n += len(b.listed(url.Values{"state": {s}}))
	}
	if n != len(all) {
		t.Errorf("%d trees in all states together, want %d", n, len(all))
	}
	a := b.shown("/trees?find=larch&stage=building&state=asks")
	for _, want := range []string{`value="larch"`, `<option value="building" selected>`, `<option value="asks" selected>`, "0 of 15 trees.", "No tree is like that."} {
		if !strings.Contains(a.text, want) {
			t.Errorf("what was asked for is lost: no %s", want)
		}
	}
	one := find(b.shown("/trees?find=larch").node(t), "ul", "class", "list")[0]
	for _, path := range []string{"/trees/twin-larch", "/trees/twin-larch/log", "/trees/twin-larch/edit"} {
		if len(find(one, "a", "href", path)) != 1 {
			t.Errorf("a tree does not lead to %s", path)
		}
	}
}

// The years of all trees say by which season each comes to the bench, and how sure that is.
func TestTheYearsOfAllTrees(t *testing.T) {
	b, _ := newDemo(t, time.Date(2027, time.April, 12, 7, 0, 0, 0, time.UTC))
	b.open()
	rows := find(find(b.shown("/years").node(t), "ul", "class", "roads")[0], "li", "", "")
	if len(rows) != 15 {
		t.Fatalf("%d roads, want 15", len(rows))
	}
	there := 0
	for _, r := range rows {
		says := text(r)
		links := find(r, "a", "", "")
		if len(links) != 1 || !strings.HasPrefix(attr(links[0], "href"), "/trees/") {
			t.Errorf("leads to %d pages: %s", len(links), says)
		}
		if strings.Contains(says, "stands on the bench") {
			there++
			continue
		}
		for _, want := range []string{"Now: ", "Next: ", "by 2035 ", "%)"} {
			if !strings.Contains(says, want) {
				t.Errorf("a road lacks %q: %s", want, says)
			}
		}
		if marks := find(r, "svg", "class", "road"); strings.Contains(says, "8 of 10") != (len(marks) == 1) {
			t.Errorf("%d pictures: %s", len(marks), says)
		}
	}
	if there != 1 || !strings.Contains(text(rows[0]), "bridge elm") {
		t.Errorf("%d trees stand on the bench; the first is %s", there, text(rows[0]))
	}
}
