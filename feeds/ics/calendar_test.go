package ics

import (
	"bytes"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	ical "github.com/arran4/golang-ical"
	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"budswell/calendar"
	"budswell/climate"
	"budswell/feeds/ics/icstest"
	"budswell/feeds/wording"
)

var update = flag.Bool("update", false, "rewrite the golden files")

// empty shows a feed in which nothing is due.
func empty() *Calendar { return &Calendar{UID: "nothing@budswell", Name: "Repots only"} }

func TestGolden(t *testing.T) {
	public := feed(fixture())
	public.Source = "https://trees.example/r/valley/calendar.ics"
	feeds := map[string][]byte{}
	for name, c := range map[string]*Calendar{"all-work": feed(fixture()), "public": public, "empty": empty(), "years": years(), "hours": feed(withHours())} {
		got := render(t, c)
		feeds[name] = got
		file := filepath.Join("testdata", name+".ics")
		if *update {
			if err := os.WriteFile(file, got, 0o644); err != nil {
				t.Fatal(err)
			}
		}
		want, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(string(want), string(got)); diff != "" {
			t.Errorf("%s (-want +got):\n%s", file, diff)
		}
	}
	icstest.Check(t, feeds)
}

func TestLinesEndAndFoldAsTheStandardSays(t *testing.T) {
	b := render(t, feed(fixture()))
	if !bytes.HasSuffix(b, []byte("END:VCALENDAR\r\n")) {
		t.Errorf("does not end with END:VCALENDAR and CRLF: %q", b[len(b)-20:])
	}
	for i, l := range strings.Split(strings.TrimSuffix(string(b), "\r\n"), "\r\n") {
		if strings.ContainsAny(l, "\r\n") || len(l) > 75 {
			t.Errorf("line %d: %d octets, or a bare line end: %q", i+1, len(l), l)
		}
	}
}

func TestWhatIsShown(t *testing.T) {
	byWork := map[string]Entry{}
	for _, e := range Entries(wording.English, "grower", fixture(), "https://trees.example/") {
		byWork[e.Summary] = e
	}
	type row struct {
		first, last     climate.Date
		tentative, done bool
	}
	want := map[string]row{
		"Repot: ridge maple":                    {first: d(3, 9), last: d(3, 28)},
		"Trim shoots: ridge maple":              {first: d(5, 15), last: d(6, 8), tentative: true},    // blocked until the 15th
		"Winter shelter: ridge maple":           {first: d(12, 17), last: d(12, 23), tentative: true}, // long: the best week
		"Feed: ridge maple":                     {first: d(3, 12), last: d(3, 12)},                    // due
		"Take the wire off: ridge maple (done)": {first: d(2, 20), last: d(2, 20), done: true},
	}
	got := map[string]row{}
	for s, e := range byWork {
		got[s] = row{e.First, e.Last, e.Tentative, e.Done}
	}
	if diff := cmp.Diff(want, got, cmp.AllowUnexported(row{})); diff != "" {
		t.Errorf("events (-want +got):\n%s", diff)
	}
	desc := byWork["Repot: ridge maple"].Description
	for _, part := range []string{
		"Likely day: Sun 14 Mar 2027", "likely (80 %)", "Opens: 5 March 2027 (10 %), 9 March 2027 (50 %), 20 March 2027 (90 %)",
		"Closes: 20 March 2027 (10 %)", "41 of 60 units of warmth", "pumice, wire; raffia; about 2 hours", "once leaves are open",
		"Caution: Sharp tools", "Dates are forecasts: look at the tree first.", "12 seasons of measured weather and 18 generated seasons",
	} {
		if !strings.Contains(desc, part) {
			t.Errorf("description lacks %q:\n%s", part, desc)
		}
	}
	if s := byWork["Trim shoots: ridge maple"].Description; !strings.Contains(s, "Wait until 15 May 2027: roots rest after the repot.") {
		t.Errorf("what blocks is not said:\n%s", s)
	}
	if s := byWork["Winter shelter: ridge maple"].Description; !strings.Contains(s, "The window is long") {
		t.Errorf("a long window is not said to be one:\n%s", s)
	}
}

// TestTentativeUntilNear looks at the days about the limit.
func TestTentativeUntilNear(t *testing.T) {
	for before, tentative := range map[int]bool{22: true, 21: false, 0: false, -10: false} {
		p := fixture()
		p.On = d(3, 9) - climate.Date(before)
		for _, e := range Entries(wording.English, "grower", p, "") {
			if strings.HasPrefix(e.Summary, "Repot") && e.Tentative != tentative {
				t.Errorf("%d days before opening: tentative is %v, want %v", before, e.Tentative, tentative)
			}
		}
	}
}

func TestLongWindowWhoseBestWeekIsPast(t *testing.T) {
	p := fixture()
	p.On = climate.NewDate(2028, time.January, 10)
	for _, e := range Entries(wording.English, "grower", p, "") {
		if !strings.HasPrefix(e.Summary, "Winter shelter") {
			continue
		}
		if want := climate.NewDate(2028, time.February, 29); e.Last != want || e.First != want-6 || !strings.Contains(e.Description, "the best is past") {
			t.Errorf("%v to %v, want the week up to %v:\n%s", e.First, e.Last, want, e.Description)
		}
	}
}

func TestDigestMovesOnlyWithWhatIsSeen(t *testing.T) {
	digests := func(change func(*calendar.Plan)) map[string]string {
		p := fixture()
		change(p)
		out := map[string]string{}
		for _, e := range Entries(wording.English, "grower", p, "https://trees.example/") {
			out[e.UID] = e.Digest
		}
		return out
	}
	repot := UID("grower", "tree ridge-maple", "repot-deciduous/2027")
	before := digests(func(*calendar.Plan) {})
	same := digests(func(p *calendar.Plan) {
		p.On++
		p.Basis.Measured--
		p.Trees[0].Works[0].Window.Certainty += 0.01
		p.Trees[0].Works[0].SoFar = "42 parts have come." // it moves every day
	})
	if diff := cmp.Diff(before, same); diff != "" {
		t.Errorf("digests moved though nothing seen did:\n%s", diff)
	}
	later := digests(func(p *calendar.Plan) { p.Trees[0].Works[0].Window.Opens.P90++ })
	for uid := range before {
		if moved := before[uid] != later[uid]; moved != (uid == repot) {
			t.Errorf("event %s: moved is %v", uid, moved)
		}
	}
	c, gone := feed(fixture()), feed(fixture())
	gone.Entries = gone.Entries[1:]
	last := func(c *Calendar) string { ds := c.Digests(); return ds[len(ds)-1].Digest }
	if last(c) == last(gone) {
		t.Error("the calendar's digest does not move when an event leaves it")
	}
}

func TestUIDTellsOwnersTreesAndKeysApart(t *testing.T) {
	seen := map[string]bool{}
	for _, u := range []string{UID("a", "b", "c"), UID("ab", "", "c"), UID("", "ab", "c"), UID("a", "bc", ""), UID("b", "b", "c")} {
		if seen[u] || !strings.HasSuffix(u, "@budswell") {
			t.Errorf("%s: twice, or not ours", u)
		}
		seen[u] = true
	}
}

func TestBytesRefuses(t *testing.T) {
	good := Entry{UID: "a@budswell", Summary: "Repot", First: on, Last: on}
	for name, change := range map[string]func(*Calendar){
		"end before start":   func(c *Calendar) { c.Entries[0].Last = on - 1 },
		"no start":           func(c *Calendar) { c.Entries[0].First = climate.NoDate },
		"no summary":         func(c *Calendar) { c.Entries[0].Summary = "" },
		"twice":              func(c *Calendar) { c.Entries = append(c.Entries, c.Entries[0]) },
		"line end in a link": func(c *Calendar) { c.Entries[0].URL = "https://a/\r\nX:y" },
		"line end in source": func(c *Calendar) { c.Source = "https://a/\r\nX:y" },
	} {
		c := &Calendar{UID: "c@budswell", Name: "n", Entries: []Entry{good}}
		change(c)
		if b, err := c.Bytes(firstRevisions(c)); err == nil {
			t.Errorf("%s: written:\n%s", name, b)
		}
	}
	c := &Calendar{UID: "c@budswell", Name: "n", Entries: []Entry{good}}
	if _, err := c.Bytes(map[string]calendar.Revision{"c@budswell": {UID: "c@budswell", Modified: time.Unix(0, 0)}}); err == nil {
		t.Error("written without a revision of the event")
	}
}

var hostile = []string{
	"", "   ", "a\nb", "a\r\nb", "a\rb", "one, two; three: four", `back\slash\nand\, more\`, "\x00\x01\x1b[31m\x7f", "\xff\xfe broken",
	"שלום עולם", "\u202Eevil\u202C", "👨‍👩‍👧‍👦 family", "e\u0301\u0301\u0301", "\uFEFFbom", "\u2028sep\u2029", "\u00a0nbsp\u00a0", "\u200d",
	"BEGIN:VEVENT\r\nUID:x", `"quoted"`, "<b>&amp;", strings.Repeat("ä", 1000), strings.Repeat("😀 ", 500), strings.Repeat("a", 1000),
}

func hostileFeed(name, why string) *Calendar {
	p := fixture()
	p.Trees[0].Tree.Name = name
	p.Trees[0].Works[0].Why = why
	p.Trees[0].Works[0].Title = name
	p.Trees[0].Works[0].Cautions = []string{why, name}
	p.Basis.Source = name
	c := feed(p)
	c.Name, c.Description = name, why
	return c
}

func TestHostileNames(t *testing.T) {
	feeds := map[string][]byte{}
	for i, s := range hostile {
		feeds[fmt.Sprintf("hostile-%02d", i)] = render(t, hostileFeed(s, hostile[len(hostile)-1-i]))
	}
	icstest.Check(t, feeds)
}

func TestAnyTextGivesAValidFeed(t *testing.T) {
	piece := rapid.OneOf(rapid.String(), rapid.SampledFrom(hostile), rapid.Map(rapid.SliceOf(rapid.Byte()), func(b []byte) string { return string(b) }))
	feeds := map[string][]byte{}
	rapid.Check(t, func(rt *rapid.T) {
		name := piece.Draw(rt, "name") + piece.Draw(rt, "more")
		c := hostileFeed(name, piece.Draw(rt, "why"))
		b, err := c.Bytes(firstRevisions(c))
		if err != nil {
			rt.Fatal(err)
		}
		for _, l := range strings.Split(strings.TrimSuffix(string(b), "\r\n"), "\r\n") {
			if len(l) > 75 || strings.ContainsFunc(l, func(r rune) bool { return r < ' ' || r == 0x7F || r == '\uFFFE' }) {
				rt.Fatalf("line of %d octets, or with a control character: %q", len(l), l)
			}
		}
		read, err := ical.ParseCalendar(bytes.NewReader(b))
		if err != nil {
			rt.Fatal(err)
		}
		if got, want := len(read.Events()), len(c.Entries); got != want {
			rt.Fatalf("%d events read of %d written", got, want)
		}
		for _, e := range read.Events() {
			s := e.GetProperty(ical.ComponentPropertySummary).Value
			if s == "" || s != strings.TrimSpace(s) || strings.Contains(s, `\`) {
				rt.Fatalf("summary %q is empty, not trimmed or holds a backslash", s)
			}
		}
		if len(feeds) < 12 {
			feeds[fmt.Sprintf("drawn-%02d", len(feeds))] = b
		}
	})
	icstest.Check(t, feeds)
}

func TestSameInputsSameBytes(t *testing.T) {
	if a, b := render(t, feed(fixture())), render(t, feed(fixture())); !bytes.Equal(a, b) {
		t.Error("two renders differ")
	}
}

func BenchmarkBytes500(b *testing.B) {
	p := fixture()
	for len(p.Trees) < 100 { // five events each
		t := p.Trees[0]
		t.Tree = &calendar.Tree{ID: fmt.Sprint(len(p.Trees)), Name: fmt.Sprint("tree ", len(p.Trees))}
		p.Trees = append(p.Trees, t)
	}
	c := feed(p)
	if len(c.Entries) != 500 {
		b.Fatalf("%d events, want 500", len(c.Entries))
	}
	revisions := firstRevisions(c)
	b.ReportAllocs()
	for b.Loop() {
		out, err := c.Bytes(revisions)
		if err != nil {
			b.Fatal(err)
		}
		b.SetBytes(int64(len(out)))
	}
}
