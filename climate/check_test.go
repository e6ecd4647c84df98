package climate

import (
	"encoding/json"
	"math"
	"strings"
	"testing"
)

// TestCheckHarvardForest checks against the gaps and odd values that were found by
// hand and published with the copy of the file; see testdata/SOURCES.md.
func TestCheckHarvardForest(t *testing.T) {
	site, r := harvard(t)
	rep := Check(r, site)
	if rep.Days != 14061 || rep.MissingTmin != 384 || rep.MissingTmax != 288 || rep.MissingPrcp != 148 {
		t.Errorf("days %d, missing %d, %d, %d", rep.Days, rep.MissingTmin, rep.MissingTmax, rep.MissingPrcp)
	}
	for i, want := range []Gap{
		{NewDate(1995, 10, 2), NewDate(1996, 1, 10), 101, 101, 0},
		{NewDate(1992, 9, 11), NewDate(1992, 10, 20), 40, 0, 40},
		{NewDate(1994, 9, 1), NewDate(1994, 10, 2), 32, 32, 32},
		{NewDate(1965, 2, 25), NewDate(1965, 3, 20), 24, 0, 24},
		{NewDate(1992, 12, 27), NewDate(1993, 1, 12), 17, 0, 17},
	} {
		if rep.Gaps[i] != want {
			t.Errorf("gap %d: %+v, want %+v", i, rep.Gaps[i], want)
		}
	}
	odd := map[Date]bool{}
	for _, o := range rep.Odd {
		odd[o.Date] = true
	}
	for _, s := range []string{"1967-05-25", "1994-06-03", "1994-11-03", "1995-05-02", "1999-12-12", "2002-05-04"} {
		d, err := ParseDate(s)
		if err != nil {
			t.Fatal(err)
		}
		if !odd[d] {
			t.Errorf("%v is not among the odd values", d)
		}
	}
	if len(rep.Odd) > 20 {
		t.Errorf("%d odd values of 28,000", len(rep.Odd))
	}
	if len(rep.Seasons) != 39 || rep.Seasons[38].Measured > 181 || rep.Seasons[0].Length != 366 {
		t.Errorf("seasons %+v", rep.Seasons)
	}
	if len(rep.Frost) != 3 || rep.Frost[0].Spring.Seasons < 30 || rep.Typical == nil {
		t.Errorf("frost %+v, typical %v", rep.Frost, rep.Typical)
	}
}

func TestCheckOfLittle(t *testing.T) {
	site := north(50)
	if rep := Check(&Record{Source: "empty.csv"}, site); rep.Days != 0 || rep.First.Valid() {
		t.Errorf("empty: %+v", rep)
	}
	r := &Record{Source: "short.csv", First: NewDate(2025, 3, 1), Days: []Day{day(0, 12), day(nan, 14), day(2, 8)}, Notes: []string{"1 values refused"}}
	rep := Check(r, site)
	if !strings.Contains(rep.NoTypical, "0 days of January measured") || rep.LongestGap != 1 || rep.Seasons[0].DegreeDays != 1 {
		t.Errorf("short: %+v", rep)
	}
	b, err := json.Marshal(rep)
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{`"first":"2025-03-01"`, `"missing_tmin":1`, `"odd":[]`, `"gaps":[{"first":"2025-03-02","last":"2025-03-02","days":1,"tmin":1,"tmax":0}]`, `"notes":["1 values refused"]`} {
		if !strings.Contains(string(b), want) {
			t.Errorf("JSON lacks %s: %s", want, b)
		}
	}
}

func TestOddFindsWhatWasPutIn(t *testing.T) {
	site := north(45)
	r := invented(t, site, continental, NewDate(2000, 1, 1), NewDate(2009, 12, 31))
	at := NewDate(2004, 6, 15)
	r.Days[at-r.First].Tmin -= 20
	found := false
	for _, o := range Check(r, site).Odd {
		if o.Date == at && o.Field == "tmin" {
			found = math.Abs(o.Expected-o.Value) > 10 && strings.Contains(o.Why, "below")
		}
	}
	if !found {
		t.Error("a minimum 20 C too low was not found")
	}
}

func TestNormalsValidate(t *testing.T) {
	for _, tt := range []struct {
		name   string
		change func(*Normals)
		want   string
	}{
		{"as they are", func(*Normals) {}, ""},
		{"cold", func(n *Normals) { n.Tmin[0] = -71 }, "normals: tmin of January -71: want -70 to 45 C"},
		{"hot", func(n *Normals) { n.Tmax[6] = 56 }, "normals: tmax of July 56: want -60 to 55 C"},
		{"not a number", func(n *Normals) { n.Tmax[6] = nan }, "normals: tmax of July NaN: want -60 to 55 C"},
		{"crossed", func(n *Normals) { n.Tmin[3] = 30 }, "normals: tmin of April 30 is above its tmax 11.9: want the mean minimum first"},
		{"no spread", func(n *Normals) { n.TminSD = new([12]float64) }, "normals: tmin_sd of January 0: want 0.1 to 20 C"},
		{"wide", func(n *Normals) { n.TmaxSD = &[12]float64{4, 4, 40} }, "normals: tmax_sd of March 40: want 0.1 to 20 C"},
	} {
		n := maritime
		tt.change(&n)
		got := ""
		if err := n.Validate(); err != nil {
			got = err.Error()
		}
		if got != tt.want {
			t.Errorf("%s: %q, want %q", tt.name, got, tt.want)
		}
	}
}
