package main

import (
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"strings"

	"github.com/mattn/go-isatty"

	"budswell/climate"
	"budswell/climate/phenology"
)

type backtestCommand struct {
	Weather   string   `help:"Weather record: CSV, GHCN-Daily station CSV or .dly." required:"" type:"existingfile" placeholder:"FILE"`
	Sightings string   `help:"CSV of what was seen at the place: date,tree,species,phase or year,doy,tree,species,phase; tree, species and phase may be left out where they are all the same." required:"" type:"existingfile" placeholder:"FILE"`
	Phase     string   `help:"The phase to forecast, such as bud-break, leaf-out or flowering." required:"" placeholder:"PHASE"`
	Species   string   `help:"Only this species, as the file writes it; or that of all sightings, when the file has no column for it." placeholder:"NAME"`
	Lat       *float64 `help:"Latitude, degrees north; south is negative. Without it the place is taken to lie in the north, and the length of days is left out." placeholder:"DEGREES"`
	Lon       float64  `help:"Longitude, degrees east; west is negative. It plays no part." default:"0" placeholder:"DEGREES"`
	Leads     []int    `help:"Days before the usual date on which forecasts are issued, 1 to 300." default:"60,30,15,7" placeholder:"DAYS,..."`
	DoyColumn string   `help:"Name of the column that holds the day of the year, where it is not doy." placeholder:"NAME"`
	Plot      string   `help:"Draw told against seen dates into this SVG file." type:"path" placeholder:"FILE"`
	JSON      bool     `name:"json" help:"Print JSON."`
}

// backtestReport is the public form of the answer, version 1; days throughout.
type backtestReport struct {
	Version  int            `json:"version"`
	N        int            `json:"n"`
	Years    int            `json:"years"`
	Hindcast score          `json:"hindcast"`
	Baseline baseline       `json:"baseline"`
	Leads    []backtestLead `json:"leads"`
}

type score struct {
	RMSE       float64 `json:"rmse"`
	Bias       float64 `json:"bias"`
	CRPS       float64 `json:"crps"`
	Coverage80 float64 `json:"coverage80"`
}

type baseline struct {
	RMSE float64 `json:"rmse"`
	CRPS float64 `json:"crps"`
}

type backtestLead struct {
	Days int `json:"days"`
	N    int `json:"n"`
	score
	Baseline baseline `json:"baseline"`
}

// Run prints how good the forecasts would have been.
func (c *backtestCommand) Run(p program) error {
	phase, err := phenology.ParsePhase(c.Phase)
	if err != nil {
		return fmt.Errorf("%w: --phase %w", errUsage, err)
	}
	for _, lead := range c.Leads {
		if lead < 1 || lead > 300 {
			return fmt.Errorf("%w: --leads %d: want 1 to 300 days", errUsage, lead)
		}
	}
	record, err := readWeather(c.Weather)
	if err != nil {
		return err
	}
	site := climate.Site{Name: record.Source, Lat: 45, Lon: c.Lon, Zone: "UTC"}
	if c.Lat != nil {
		site.Lat = *c.Lat
	}
	if err := site.Validate(); err != nil {
		return fmt.Errorf("%w: %w", errUsage, err)
	}
	seen, err := c.sightings(phase)
	if err != nil {
		return err
	}
	report, err := phenology.Backtest(phenology.Trial{
		Site: site, NoLatitude: c.Lat == nil, Record: record, Sightings: seen, Phase: phase, Leads: c.Leads,
		Progress: progress(p.stderr),
	})
	if err != nil {
		return fmt.Errorf("%s: %w", c.Sightings, err)
	}
	if c.Plot != "" {
		if err := os.WriteFile(c.Plot, plotDates(report.Cases, phase), 0o644); err != nil {
			return err
		}
	}
	if c.JSON {
		return writeJSON(p.stdout, publicReport(report))
	}
	c.write(p.stdout, report)
	return nil
}

// sightings reads the file, and keeps the species asked for.
func (c *backtestCommand) sightings(phase phenology.Phase) ([]phenology.Sighting, error) {
	file, err := os.Open(c.Sightings)
	if err != nil {
		return nil, err
	}
	all, err := phenology.ReadSightings(c.Sightings, file, phenology.SightingDefaults{
		Tree: "tree", Species: nameOr(c.Species, "species"), Phase: phase, Day: c.DoyColumn,
	})
	if err := errors.Join(err, file.Close()); err != nil || c.Species == "" {
		return all, err
	}
	var out []phenology.Sighting
	for _, s := range all {
		if strings.EqualFold(s.Species, c.Species) {
			out = append(out, s)
		}
	}
	if len(out) == 0 && len(all) > 0 {
		return nil, fmt.Errorf("%s: --species %q: no sighting of it; the first is of %q", c.Sightings, c.Species, all[0].Species)
	}
	return out, nil
}

func nameOr(name, instead string) string {
	if name == "" {
		return instead
	}
	return name
}

// progress draws a bar where standard error is a terminal.
func progress(w io.Writer) func(done, of int) {
	file, ok := w.(*os.File)
	if !ok || !isatty.IsTerminal(file.Fd()) {
		return nil
	}
	return func(done, of int) { drawBar(file, done, of) }
}

// drawBar draws a bar of the springs done over the one before it, and wipes it
// when all are.
func drawBar(w io.Writer, done, of int) {
	const width = 30
	if done == of {
		fmt.Fprintf(w, "\r%s\r", strings.Repeat(" ", width+24))
		return
	}
	full := width * done / of
	fmt.Fprintf(w, "\r[%s%s] %d of %d springs", strings.Repeat("#", full), strings.Repeat(".", width-full), done, of)
}

func publicReport(r *phenology.Report) backtestReport {
	public := func(s phenology.Score) score {
		return score{round(s.RMSE), round(s.Bias), round(s.CRPS), round(s.Coverage80)}
	}
	out := backtestReport{
		Version: 1, N: r.Hindcast.N, Years: len(r.Years), Hindcast: public(r.Hindcast),
		Baseline: baseline{round(r.Baseline.RMSE), round(r.Baseline.CRPS)}, Leads: []backtestLead{},
	}
	for _, l := range r.Leads {
		out.Leads = append(out.Leads, backtestLead{l.Days, l.Score.N, public(l.Score), baseline{round(l.Baseline.RMSE), round(l.Baseline.CRPS)}})
	}
	return out
}

func (c *backtestCommand) write(w io.Writer, r *phenology.Report) {
	fmt.Fprintf(w, "%s: %d cases in %d springs, %d to %d, each spring left out in turn\n", c.Phase, r.Hindcast.N, len(r.Years), r.Years[0], r.Years[len(r.Years)-1])
	if r.Passed > 0 {
		fmt.Fprintf(w, "%d sightings passed over: the weather of their spring is not known\n", r.Passed)
	}
	fmt.Fprintf(w, "\n%-22s %6s %6s %6s %6s %6s   %s\n", "days", "n", "RMSE", "bias", "CRPS", "80 %", "mean date: RMSE, CRPS")
	line := func(name string, s, mean phenology.Score) {
		fmt.Fprintf(w, "%-22s %6d %6.2f %+6.2f %6.2f %4.0f %%   %.2f, %.2f\n", name, s.N, s.RMSE, s.Bias, s.CRPS, 100*s.Coverage80, mean.RMSE, mean.CRPS)
	}
	line("weather known", r.Hindcast, r.Baseline)
	for _, l := range r.Leads {
		line(fmt.Sprintf("%d days before", l.Days), l.Score, l.Baseline)
	}
	fmt.Fprint(w, `
RMSE, bias (told less seen) and CRPS (0 is best) in days; 80 % is how many dates lay in the 80 % interval.
Forecasts know the weather and the other trees of the species up to their day, and not whether the tree itself had come so far.
More than a month ahead no forecast beats the usual date by much. Dates are forecasts: look at the tree first.
`)
}

// round keeps the decimals that mean something.
func round(v float64) float64 { return math.Round(v*1000) / 1000 }
