package feeds

import (
	"fmt"
	"net/http"
	"strings"
	"testing"
	"time"

	"golang.org/x/net/html"

	"budswell/calendar"
	"budswell/climate"
)

// table returns the cells of the rows of a table of the season's page.
func table(t *testing.T, n *html.Node, name string) (rows [][]string) {
	t.Helper()
	for _, table := range find(n, "table", "data-table", name) {
		for _, r := range find(find(table, "tbody", "", "")[0], "tr", "", "") {
			var cells []string
			for c := range r.ChildNodes() {
				if c.Type == html.ElementNode {
					cells = append(cells, text(c))
				}
			}
			rows = append(rows, cells)
		}
	}
	return rows
}

// TestSeasonPage reads the demo's season: its tables say what climate does.
func TestSeasonPage(t *testing.T) {
	b, _ := newDemo(t, time.Date(2027, time.April, 12, 7, 0, 0, 0, time.UTC))
	b.open()
	a := b.send(b.client, http.MethodGet, "/places/demo/season", nil)
	n := a.node(t)
	if a.StatusCode != http.StatusOK || text(find(n, "h1", "", "")[0]) != "The season 2027 at Quernthal bench" || a.Header.Get("Cache-Control") != "no-store" {
		t.Fatalf("%s, %q", a.Status, text(find(n, "h1", "", "")[0]))
	}
	g, err := b.server.newest(b.ctx(), "demo")
	b.must(err)
	p, err := g.plots[0].sofar.progress()
	b.must(err)

	nights := table(t, n, "nights")
	if len(nights) < 100+30 {
		t.Fatalf("%d rows of nights", len(nights))
	}
	written := func(v float64) string {
		return strings.Replace(strings.Replace(fmt.Sprintf("%.1f", v), "-0.0", "0.0", 1), "-", "−", 1)
	}
	for k, row := range nights[:100] { // all days up to today are measured, or shown by the week
		day := p.Days[k]
		if k > 0 && row[0] != (p.First+climate.Date(k)).Time().Format("2 Jan") {
			t.Fatalf("row %d is of %s", k, row[0])
		}
		if row[1] != written(p.Tmin.P10[k]) || row[2] != written(p.Tmin.P50[k]) || row[3] != written(p.Tmin.P90[k]) || row[4] != written(day.Tmin) {
			t.Fatalf("%s: %q, want %v %v %v %v", row[0], row[1:], p.Tmin.P10[k], p.Tmin.P50[k], p.Tmin.P90[k], day.Tmin)
		}
	}
	sums := table(t, n, "warmth")
	var last []string
	for _, row := range sums {
		if row[4] != "" {
			last = row
		}
	}
	if want := fmt.Sprintf("%.0f", p.Warmth.Lead.Sum); last[0] != "12 Apr" || last[4] != want {
		t.Errorf("the last sum is %q, want %s on 12 Apr", last, want)
	}
	words := text(n)
	l := p.Warmth.Lead
	for _, want := range []string{
		fmt.Sprintf("%.0f degree-days by 12 Apr: %.0f fewer than in the middle year, which had as many %d days earlier.", l.Sum, l.Middle-l.Sum, -l.Days),
		fmt.Sprintf("in 8 of 10 cases this season is %d to %d days behind.", -l.High, -l.Low),
		fmt.Sprintf("By that day %d of %d other years had fewer.", l.Less, l.Others),
		"Bud swell was seen on 29 Mar , 1 day after the middle of what was foretold on 1 Jan, within 8 of 10 cases (11 Mar to 6 Apr).",
		"Dates are forecasts: look at the tree first.",
	} {
		if !strings.Contains(strings.ReplaceAll(words, "29 Mar,", "29 Mar ,"), want) {
			t.Errorf("the page does not say %q", want)
		}
	}
	if got := table(t, n, "cold"); len(got) < 35 || got[0][0] != "13 Apr" {
		t.Errorf("nights ahead: %q", got[:1])
	}

	// Nothing stands in the page that its policy forbids, and each chart has its table.
	script := find(n, "script", "", "")
	if len(script) != 1 || attr(script[0], "src") == "" || script[0].FirstChild != nil || len(find(n, "style", "", "")) > 0 {
		t.Errorf("%d scripts, %d style elements", len(script), len(find(n, "style", "", "")))
	}
	for d := range n.Descendants() {
		if hasAttr(d.Attr, "style") {
			t.Errorf("%s has a style of its own", d.Data)
		}
	}
	if charts, trees := len(find(n, "", "class", "chart")), len(find(n, "article", "class", "tree")); trees != seasonTrees || charts != 5+trees || len(find(n, "details", "class", "numbers")) != charts {
		t.Errorf("%d charts, %d trees", charts, trees)
	}
	drawn := b.get(attr(script[0], "src"), "Accept-Encoding", "gzip")
	if drawn.StatusCode != http.StatusOK || !strings.Contains(drawn.Header.Get("Cache-Control"), "immutable") || drawn.Header.Get("Content-Encoding") != "gzip" || !strings.HasPrefix(drawn.Header.Get("Content-Type"), "text/javascript") {
		t.Errorf("script: %s %v", drawn.Status, drawn.Header)
	}
	// Only pages that show charts load it.
	if places := b.send(b.client, http.MethodGet, "/places", nil); len(find(places.node(t), "script", "", "")) > 0 || len(find(places.node(t), "a", "href", "/places/demo/season")) != 1 {
		t.Error("the page of places loads a script, or does not lead to the season")
	}
	if place := b.send(b.client, http.MethodGet, "/places/demo", nil); len(find(place.node(t), "a", "href", "/places/demo/season")) != 1 {
		t.Error("the place does not lead to its season")
	}

	// The trees after these are on a page of their own.
	later := b.send(b.client, http.MethodGet, "/places/demo/season?from=13", nil)
	if got := len(find(later.node(t), "article", "class", "tree")); got != len(g.plots[0].plan.Trees)-seasonTrees || got == 0 {
		t.Errorf("%d trees after the first", got)
	}
	for from, say := range map[string]string{"0": "want a number from 1 to", "99": "want a number from 1 to", "x": "want a number from 1 to"} {
		if a := b.send(b.client, http.MethodGet, "/places/demo/season?from="+from, nil); a.StatusCode/100 != 4 || !strings.Contains(a.text, say) {
			t.Errorf("from=%s: %s", from, a.Status)
		}
	}
}

// A season is its grower's own.
func TestSeasonIsOwn(t *testing.T) {
	b := newBed(t)
	b.grower("bea", "south")
	b.open()
	for path, want := range map[string]int{"/places/south/season": http.StatusOK, "/places/north/season": http.StatusNotFound, "/places/nowhere/season": http.StatusNotFound} {
		if a := b.send(b.client, http.MethodGet, path, nil); a.StatusCode != want {
			t.Errorf("%s: %s, want %d", path, a.Status, want)
		}
	}
	if a := b.get("/places/south/season"); strings.Contains(a.text, "south bench") {
		t.Errorf("a stranger sees it: %s", a.Status)
	}
}

// Places without a record, of the other hemisphere, the tropics and the far north are ordinary.
func TestSeasonAroundTheWorld(t *testing.T) {
	b := newcomer(t)
	b.set(time.Date(2027, time.February, 20, 6, 0, 0, 0, time.UTC))
	const warmest, coldest = 31, 23
	hot, arctic := climate.Normals{}, climate.Normals{}
	southern := climate.Normals{
		Tmin: [12]float64{13.2, 13.1, 10.7, 6.7, 3.2, 1, -0.1, 1, 3.3, 6.1, 8.8, 11.4},
		Tmax: [12]float64{28, 27.1, 24.5, 20, 15.6, 12.3, 11.4, 13, 16.2, 19.4, 22.7, 26.1},
	}
	for m := range 12 {
		hot.Tmin[m], hot.Tmax[m] = coldest, warmest
		arctic.Tmin[m], arctic.Tmax[m] = float64(-30+3*min(m, 11-m)), float64(-24+3*min(m, 11-m))
	}
	for _, tt := range []struct {
		id            string
		site          climate.Site
		normals       *climate.Normals
		trees         []string // species
		says, saysNot []string
		first         string
	}{
		{
			"range",
			climate.Site{Name: "range bench", Lat: -35.3, Lon: 149.1, Elevation: 580, Zone: "Australia/Sydney"},
			&southern,
			[]string{"Acer campestre"},
			[]string{"The season 2026/27", "Nothing of this season was measured here", "40 other years, made from the usual year", "Of this year nothing is told", "First frost of autumn"},
			[]string{"this year, measured", "forecast, °C"},
			"2026-07-01",
		},
		{
			"island",
			climate.Site{Name: "island bench", Lat: 1.3, Lon: 103.8, Elevation: 15, Zone: "Asia/Singapore"},
			&hot,
			[]string{"Ficus carica"},
			[]string{"The season 2027", "No frost is to be expected here", "No chill portions come together here", "none in any of these years"},
			[]string{"Chance of frost"},
			"2027-01-01",
		},
		{
			"far-north",
			climate.Site{Name: "far bench", Lat: 78.2, Lon: 15.6, Elevation: 20, Zone: "Arctic/Longyearbyen"},
			&arctic, nil,
			[]string{"No degree-days come together here", "No trees stand here yet", "Chance of frost"},
			[]string{"No frost is to be expected"},
			"2027-01-01",
		},
	} {
		b.must(b.store.PutPlace(b.ctx(), calendar.Place{ID: tt.id, Grower: "new", Site: tt.site, Weather: climate.Weather{Normals: tt.normals}}))
		for i, species := range tt.trees {
			b.must(b.store.PutTree(b.ctx(), calendar.Kept{Tree: calendar.Tree{ID: fmt.Sprint(tt.id, i), Name: "tree", Species: species, Origin: calendar.Collected}, Grower: "new", Place: tt.id}))
		}
		a := b.sees("/places/" + tt.id + "/season")
		if a.StatusCode != http.StatusOK {
			t.Fatalf("%s: %s\n%s", tt.id, a.Status, b.log.String())
		}
		n := a.node(t)
		words := text(n)
		for _, want := range tt.says {
			if !strings.Contains(words, want) {
				t.Errorf("%s does not say %q", tt.id, want)
			}
		}
		for _, not := range tt.saysNot {
			if strings.Contains(words, not) {
				t.Errorf("%s says %q", tt.id, not)
			}
		}
		if got := attr(find(n, "main", "", "")[0], "data-first"); got != tt.first {
			t.Errorf("%s begins on %s, want %s", tt.id, got, tt.first)
		}
		for _, row := range table(t, n, "days") {
			if row[4] != "" {
				t.Errorf("%s has measured days: %q", tt.id, row)
			}
		}
	}
	// Late in a spring of which nothing was measured its last frost is over, whenever it was; the first is of next year.
	b.set(time.Date(2027, time.November, 28, 6, 0, 0, 0, time.UTC))
	b.open()
	words := text(b.sees("/places/range/season").node(t))
	for _, want := range []string{"over by now; in 8 of 10 years", "The season 2027/28", " 2028 in 8 of 10 cases"} {
		if !strings.Contains(words, want) {
			t.Errorf("late in spring the page does not say %q", want)
		}
	}
}
