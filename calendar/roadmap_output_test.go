package calendar

import (
	"bytes"
	"encoding/json"
	"strings"
	"testing"

	"budswell/climate"
)

func TestSeasonsOfTheYear(t *testing.T) {
	for _, test := range []struct {
		on       string
		southern bool
		want     string
	}{
		{"2029-03-01", false, "spring 2029"},
		{"2029-02-28", false, "winter 2028/29"},
		{"2028-12-01", false, "winter 2028/29"},
		{"2028-11-30", false, "autumn 2028"},
		{"2028-08-31", false, "summer 2028"},
		{"2000-01-01", false, "winter 1999/00"},
		{"2029-09-01", true, "spring 2029"},
		{"2029-12-01", true, "summer 2029/30"},
		{"2030-02-28", true, "summer 2029/30"},
		{"2029-06-01", true, "winter 2029"},
		{"2029-04-01", true, "autumn 2029"},
		{"2028-02-29", true, "summer 2027/28"},
	} {
		if got := SeasonOfYear(day(t, test.on), test.southern); got != test.want {
			t.Errorf("%s: %s, want %s", test.on, got, test.want)
		}
	}
	for _, test := range []struct{ day, show, want string }{
		{"2031-04-01", "2032-11-10", "two springs before"},
		{"2032-04-01", "2032-11-10", "the last spring before"},
		{"2030-01-10", "2032-11-10", "three winters before"},
		{"2032-10-10", "2032-11-10", "in the same season"},
		{"2020-03-31", "2032-11-10", "13 springs before"},
	} {
		if got := seasonsBefore(day(t, test.day), day(t, test.show), false); got != test.want {
			t.Errorf("%s for %s: %s, want %s", test.day, test.show, got, test.want)
		}
	}
	if d := nextQuarter(day(t, "2027-12-31")); d != day(t, "2028-03-01") {
		t.Errorf("after New Year's Eve: %v", d)
	}
	if d := nextQuarter(day(t, "2028-02-29")); d != day(t, "2028-03-01") {
		t.Errorf("after a leap day: %v", d)
	}
}

func sampleYears(t *testing.T) *Years {
	t.Helper()
	p := wayPlanner(t, temperate, "2026-04-10")
	p.outlook.Basis = climate.Basis{Source: "station 7", Years: 30, Measured: 351, Interpolated: 4, Typical: 10}
	y, err := p.Years([]Tree{
		{ID: "ridge", Name: "ridge maple", Species: maple.Name, Origin: Collected, Log: []Entry{did(t, "2023-03-20", "collected"), did(t, "2026-03-28", WorkRepot)}},
		{ID: "new", Name: "new pine", Species: pine.Name, Origin: Collected},
	}, RoadmapOptions{Years: 3, Draws: 40, ReadyBy: map[string][]ReadyBy{"ridge": {{On: date(2033, 11, 12), Name: "Autumn show", Look: "winter-silhouette"}, {On: date(2027, 5, 1)}}}})
	if err != nil {
		t.Fatal(err)
	}
	return y
}

func TestYearsAsText(t *testing.T) {
	var b bytes.Buffer
	if err := sampleYears(t).WriteText(&b); err != nil {
		t.Fatal(err)
	}
	for line := range strings.Lines(b.String()) {
		if n := len([]rune(line)) - 1; n > 80 {
			t.Errorf("%d characters wide: %s", n, line)
		}
	}
	golden(t, "years.txt", b.Bytes())
	if err := sampleYears(t).WriteText(full{}); err == nil {
		t.Error("a failed write was not told")
	}
}

func TestYearsAsJSON(t *testing.T) {
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetIndent("", "  ")
	if err := e.Encode(sampleYears(t)); err != nil {
		t.Fatal(err)
	}
	golden(t, "years.json", b.Bytes())
	if bytes.Contains(b.Bytes(), []byte(`: null`)) && !bytes.Contains(b.Bytes(), []byte(`"p90": null`)) {
		t.Error("something but a quantile is null")
	}
}
