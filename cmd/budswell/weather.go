package main

import (
	"fmt"
	"io"

	"budswell/climate"
)

type weatherCommand struct {
	Check weatherCheckCommand `cmd:"" help:"Say what a station file holds: span, gaps, odd values, frost dates, degree-days."`
}

type weatherCheckCommand struct {
	File  string `arg:"" type:"existingfile" help:"Weather record: CSV, GHCN-Daily station CSV or .dly."`
	South bool   `help:"The station lies in the southern hemisphere, so that seasons begin in July."`
	JSON  bool   `name:"json" help:"Print JSON."`
}

// weatherReport is the public form of the answer, version 1.
type weatherReport struct {
	Version int    `json:"version"`
	File    string `json:"file"`
	climate.Report
}

// Run prints what the file holds.
func (c *weatherCheckCommand) Run(p program) error {
	record, err := readWeather(c.File)
	if err != nil {
		return err
	}
	// Only the hemisphere matters to the checks.
	site := climate.Site{Lat: 45, Zone: "UTC"}
	if c.South {
		site.Lat = -45
	}
	report := weatherReport{Version: 1, File: c.File, Report: climate.Check(record, site)}
	if c.JSON {
		return writeJSON(p.stdout, report)
	}
	report.write(p.stdout)
	return nil
}

// Lists longer than these are cut on the terminal; the JSON has them whole.
const (
	gapsShown = 8
	oddShown  = 15
)

func (r weatherReport) write(w io.Writer) {
	fmt.Fprintf(w, "%s: %s to %s, %d days\n", r.File, r.First, r.Last, r.Days)
	for _, note := range r.Notes {
		fmt.Fprintf(w, "  %s\n", note)
	}
	fmt.Fprintf(w, "missing: minimum %d days, maximum %d, precipitation %d\n", r.MissingTmin, r.MissingTmax, r.MissingPrcp)
	for i, g := range r.Gaps {
		if i == gapsShown {
			fmt.Fprintf(w, "  and %d shorter gaps\n", len(r.Gaps)-gapsShown)
			break
		}
		fmt.Fprintf(w, "  %s to %s, %d days (minimum missing on %d, maximum on %d)\n", g.First, g.Last, g.Days, g.Tmin, g.Tmax)
	}
	fmt.Fprintf(w, "values that look odd: %d (they are kept)\n", len(r.Odd))
	for i, o := range r.Odd {
		if i == oddShown {
			fmt.Fprintf(w, "  and %d more\n", len(r.Odd)-oddShown)
			break
		}
		fmt.Fprintf(w, "  %s %s %.1f: %s\n", o.Date, o.Field, o.Value, o.Why)
	}
	fmt.Fprintf(w, "\n%-22s %-8s %-8s %-8s %s\n", "frost", "10 %", "50 %", "90 %", "seasons with it")
	for _, f := range r.Frost {
		writeFrost(w, fmt.Sprintf("last at %g °C", f.Level), f.Spring)
		writeFrost(w, fmt.Sprintf("first at %g °C", f.Level), f.Autumn)
	}
	fmt.Fprintf(w, "\n%-8s %-24s %s\n", "season", "degree-days above 5 °C", "days read")
	for _, s := range r.Seasons {
		fmt.Fprintf(w, "%-8d %-24.0f %d of %d\n", s.Season, s.DegreeDays, s.Measured, s.Length)
	}
	if r.Typical == nil {
		fmt.Fprintf(w, "\nno typical year: %s\n", r.NoTypical)
		return
	}
	fmt.Fprintf(w, "\ntypical year, °C, by month from January\n")
	for _, row := range []struct {
		name   string
		values [12]float64
	}{{"minimum", r.Typical.Tmin}, {"maximum", r.Typical.Tmax}} {
		fmt.Fprintf(w, "%-8s", row.name)
		for _, v := range row.values {
			fmt.Fprintf(w, " %5.1f", v)
		}
		fmt.Fprintln(w)
	}
}

func writeFrost(w io.Writer, name string, f climate.FrostHalf) {
	day := func(d *climate.MonthDay) string {
		if d == nil {
			return "none"
		}
		return d.String()
	}
	fmt.Fprintf(w, "%-22s %-8s %-8s %-8s %d of %d\n", name, day(f.P10), day(f.P50), day(f.P90), f.Frosts, f.Seasons)
}
