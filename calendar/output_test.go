package calendar

import (
	"bytes"
	"encoding/json"
	"errors"
	"flag"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"budswell/climate"
)

var update = flag.Bool("update", false, "write the golden files")

// samplePlan is a plan with every kind of work in it: free, blocked, due, done.
func samplePlan(t *testing.T) *Plan {
	t.Helper()
	p := smallPlanner(t, temperate, "2026-04-10")
	p.outlook.Basis = climate.Basis{Source: "station 7", Years: 30, Measured: 351, Interpolated: 4, Typical: 10}
	p.outlook.Supply = climate.Supply{
		Until: p.outlook.Issue - 3, From: []climate.Share{{Source: "station 7", Kind: climate.FromStation, Days: 351, Last: p.outlook.Issue - 3}},
		Notes: []string{"4 values refused that the station's quality control had flagged"},
	}
	plan, err := p.Plan([]Tree{
		{ID: "ridge", Name: "ridge maple", Species: maple.Name, Origin: Collected, Log: []Entry{did(t, "2023-03-20", "collected"), did(t, "2026-03-28", WorkRepot)}},
		{ID: "new", Name: "new pine", Species: pine.Name, Origin: Collected, Log: []Entry{did(t, "2026-03-20", "collected")}},
	})
	if err != nil {
		t.Fatal(err)
	}
	return plan
}

func golden(t *testing.T, name string, got []byte) {
	t.Helper()
	path := filepath.Join("testdata", name)
	if *update {
		if err := os.MkdirAll("testdata", 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, got, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(got, want) {
		t.Errorf("%s differs (go test -update writes it anew); got\n%s", path, got)
	}
}

func TestWriteText(t *testing.T) {
	var b bytes.Buffer
	if err := samplePlan(t).WriteText(&b); err != nil {
		t.Fatal(err)
	}
	for line := range strings.Lines(b.String()) {
		if n := len([]rune(line)) - 1; n > 80 {
			t.Errorf("%d characters wide: %s", n, line)
		}
	}
	golden(t, "plan.txt", b.Bytes())
	if err := samplePlan(t).WriteText(full{}); !errors.Is(err, errFull) {
		t.Errorf("error of the writer is lost: %v", err)
	}
}

var errFull = errors.New("full")

type full struct{}

func (full) Write([]byte) (int, error) { return 0, errFull }

func TestPlanAsJSON(t *testing.T) {
	b, err := json.MarshalIndent(samplePlan(t), "", "  ")
	if err != nil {
		t.Fatal(err)
	}
	golden(t, "plan.json", append(b, '\n'))
	if strings.Contains(string(b), `"none"`) || strings.Contains(string(b), `: ""`) {
		t.Error("holds a day that is no day, or an empty text")
	}
	var empty struct{ Trees []struct{} }
	b, err = json.Marshal(&Plan{})
	if err != nil || json.Unmarshal(b, &empty) != nil || empty.Trees == nil {
		t.Errorf("a plan without trees: %s, %v", b, err)
	}
}

// TestSoFarIsShown: how far the season has come is told after the reason, where it is known.
func TestSoFarIsShown(t *testing.T) {
	plan := samplePlan(t)
	for i := range plan.Trees {
		for k := range plan.Trees[i].Works {
			plan.Trees[i].Works[k].SoFar = "41 of the 100 parts of warmth have come."
		}
	}
	var text bytes.Buffer
	if err := plan.WriteText(&text); err != nil {
		t.Fatal(err)
	}
	data, err := json.Marshal(plan)
	if err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(text.String(), "\n    So far: 41 of the 100") || !strings.Contains(string(data), `"so_far":"41 of the 100`) {
		t.Errorf("text:\n%s\nJSON:\n%s", text.String(), data)
	}
}
