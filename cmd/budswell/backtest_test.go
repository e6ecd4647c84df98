package main

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
)

// TestBacktestOpenData runs the command as documented on the open data, on one of
// its species (all of them take some ten seconds).
func TestBacktestOpenData(t *testing.T) {
	dir := os.Getenv("BUDSWELL_DATA")
	if dir == "" {
		dir = filepath.Join("..", "..", "..", "shared", "data")
	}
	dir = filepath.Join(dir, "harvard-forest")
	if _, err := os.Stat(filepath.Join(dir, "budbreak.csv")); err != nil {
		t.Skipf("no open data in %s: set BUDSWELL_DATA to a folder that holds harvard-forest with budbreak.csv and daily.csv, "+
			"made from the Harvard Forest Data Archive's HF003 and HF000 (https://harvardforest.fas.harvard.edu)", dir)
	}
	p, stdout, stderr := testProgram(time.Date(2026, 4, 12, 8, 0, 0, 0, time.UTC))
	args := []string{
		"backtest", "--weather", filepath.Join(dir, "daily.csv"), "--sightings", filepath.Join(dir, "budbreak.csv"),
		"--doy-column", "bb_doy", "--phase", "bud-break", "--species", "ACRU", "--lat", "42.54", "--lon", "-72.18", "--json",
	}
	if got := p.run(t.Context(), args); got != done {
		t.Fatalf("status %d: %s", got, stderr)
	}
	var report backtestReport
	in := json.NewDecoder(strings.NewReader(stdout.String()))
	in.DisallowUnknownFields()
	if err := in.Decode(&report); err != nil {
		t.Fatal(err)
	}
	t.Logf("%+v", report)
	if report.N != 65 || report.Years != 13 || len(report.Leads) != 4 || report.Hindcast.RMSE > report.Baseline.RMSE-1 {
		t.Errorf("%+v: want 13 springs of five trees, and better than the mean date by more than a day", report)
	}
}

// TestBar: the bar grows with the springs done, and leaves nothing when all are.
func TestBar(t *testing.T) {
	var b bytes.Buffer
	for done := range 3 {
		drawBar(&b, done, 2)
	}
	want := "\r[..............................] 0 of 2 springs" +
		"\r[###############...............] 1 of 2 springs" +
		"\r" + strings.Repeat(" ", 54) + "\r"
	if diff := cmp.Diff(want, b.String()); diff != "" {
		t.Error(diff)
	}
	if progress(&b) != nil {
		t.Error("a bar where there is no terminal")
	}
}
