package pages

import (
	"encoding/xml"
	"errors"
	"flag"
	"io"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"budswell/calendar"
	"budswell/climate"
	"budswell/feeds/wording"
)

var update = flag.Bool("update", false, "write the golden files")

// sampleRoadmap is a tree that is being built, over eight years, with two shows.
func sampleRoadmap() *calendar.Roadmap {
	day := func(y int, m time.Month) *calendar.SeasonDay {
		d := climate.NewDate(y, m, 15)
		return &calendar.SeasonDay{Day: d, Season: calendar.SeasonOfYear(d, false)}
	}
	r := &calendar.Roadmap{
		Tree: "ridge maple/1", Name: `Ridge <maple> & "co"`, Species: "Acer campestre", On: on, Until: on + 2922, Stage: calendar.StageBuilding, Strength: calendar.Strong,
		Stages: []calendar.StageAhead{
			{Stage: calendar.StageSecondStyling, Ahead: calendar.Ahead{P10: day(2028, 9), P50: day(2029, 6), P90: day(2030, 8), Reached: 1}},
			{Stage: calendar.StageRefining, Ahead: calendar.Ahead{P10: day(2030, 7), P50: day(2031, 7), P90: day(2032, 7), Reached: 0.99}},
			{Stage: calendar.StageExhibition, Ahead: calendar.Ahead{P10: day(2032, 9), P50: day(2034, 8), Reached: 0.72}},
		},
		Shows: []calendar.ShowAhead{
			{ReadyBy: calendar.ReadyBy{On: climate.NewDate(2033, 11, 12), Name: "Autumn show"}, Season: "autumn 2033", Chance: 0.41},
			{ReadyBy: calendar.ReadyBy{On: climate.NewDate(2036, 11, 12)}, Season: "autumn 2036", Chance: 1},
		},
	}
	for d := on; d <= r.Until; d += 91 {
		x := float64(d-on) / 2922
		in := func(from, to float64) float64 { return min(max((x-from)/(to-from), 0), 1) }
		second, refining, shown := in(0.18, 0.45), in(0.42, 0.68), 0.75*in(0.66, 1)
		r.Course = append(r.Course, calendar.CoursePart{
			SeasonDay: calendar.SeasonDay{Day: d},
			Shares:    []float64{0, 0, 0, 0, 1 - second, second - refining, refining - shown, shown},
		})
	}
	return r
}

func TestYearsPicture(t *testing.T) {
	got := string(YearsPicture(wording.English, sampleRoadmap(), 50))
	path := filepath.Join("testdata", "years.svg")
	if *update {
		if err := os.MkdirAll("testdata", 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if got != string(want) {
		t.Errorf("%s differs (go test -update writes it anew); got\n%s", path, got)
	}
}

// The picture is well-formed, keeps to what the pages' content security policy allows,
// escapes what people wrote, and says in words what it shows.
func TestYearsPictureIsSafeAndTold(t *testing.T) {
	r := sampleRoadmap()
	got := string(YearsPicture(wording.English, r, 50))
	d := xml.NewDecoder(strings.NewReader(got))
	ids, refs, texts := map[string]bool{}, []string{}, strings.Builder{}
	for {
		tok, err := d.Token()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			t.Fatalf("%v in\n%s", err, got)
		}
		switch e := tok.(type) {
		case xml.StartElement:
			if e.Name.Local == "style" || e.Name.Local == "script" || e.Name.Local == "maple" {
				t.Errorf("an element %s", e.Name.Local)
			}
			for _, a := range e.Attr {
				switch {
				case a.Name.Local == "style" || strings.HasPrefix(a.Name.Local, "on"):
					t.Errorf("an attribute %s", a.Name.Local)
				case a.Name.Local == "id":
					if ids[a.Value] {
						t.Errorf("the id %s twice", a.Value)
					}
					ids[a.Value] = true
				case a.Name.Local == "aria-labelledby":
					refs = append(refs, strings.Fields(a.Value)...)
				case strings.HasPrefix(a.Value, "url(#"):
					refs = append(refs, strings.TrimSuffix(strings.TrimPrefix(a.Value, "url(#"), ")"))
				}
				if strings.Contains(a.Value, "NaN") || strings.Contains(a.Value, "Inf") {
					t.Errorf("%s is %s", a.Name.Local, a.Value)
				}
			}
		case xml.CharData:
			texts.Write(e)
		}
	}
	for _, ref := range refs {
		if !ids[ref] {
			t.Errorf("nothing has the id %s", ref)
		}
	}
	for _, words := range []string{`Ridge <maple> & "co"`, "building", "now", "autumn 2028 to summer 2030", "from autumn 2032, 72 % in these years", "Autumn show, autumn 2033: ready in 41 %", "Show, autumn 2036: ready in 99 % →", "2028", "2034"} {
		if !strings.Contains(texts.String(), words) {
			t.Errorf("does not say %q", words)
		}
	}
	if regexp.MustCompile(`#[0-9a-fA-F]{3,6}["; ]|rgb\(`).MatchString(got) {
		t.Error("has a colour of its own; want that of the page")
	}
}

// Pictures of trees that stand at the end of their way, or of one year only, are whole.
func TestYearsPictureOfFew(t *testing.T) {
	for name, r := range map[string]*calendar.Roadmap{
		"at the bench": {Tree: "t", Name: "t", On: on, Until: on + 365, Stage: calendar.StageExhibition, Course: []calendar.CoursePart{{SeasonDay: calendar.SeasonDay{Day: on}, Shares: []float64{0, 0, 0, 0, 0, 0, 0, 1}}}},
		"no course":    {Tree: "", Name: "", On: on, Until: on, Stage: calendar.StageCollected},
		"15 years":     {Tree: "t", Name: "t", On: on, Until: on + 5479, Stage: calendar.StageCollected, Stages: []calendar.StageAhead{{Stage: calendar.StageRecovering}}},
	} {
		got := string(YearsPicture(wording.English, r, 50))
		if err := xml.Unmarshal([]byte(got), new(struct{})); err != nil {
			t.Errorf("%s: %v", name, err)
		}
		if strings.Contains(got, "NaN") || !strings.Contains(got, "now") {
			t.Errorf("%s: %s", name, got)
		}
	}
}
