package main

import (
	"cmp"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"

	"budswell/calendar"
	"budswell/climate"
	"budswell/climate/phenology"
)

type phasesCommand struct {
	Species   string        `help:"Species, by any of its names." required:"" placeholder:"NAME"`
	Weather   string        `help:"Weather record: CSV, GHCN-Daily station CSV or .dly; without one the climate atlas is asked." type:"existingfile" placeholder:"FILE"`
	Site      siteFlags     `embed:""`
	Year      int           `help:"Growing season, by the year of its spring; the present one when not given." placeholder:"YEAR"`
	On        *climate.Date `help:"The day to forecast from; today, or the end of a season that is over, when not given." placeholder:"DATE"`
	Sightings string        `help:"CSV of what was seen at the place: date,tree,species,phase." type:"existingfile" placeholder:"FILE"`
	Tree      string        `help:"Name of the tree in the sightings that is forecast." placeholder:"NAME"`
	JSON      bool          `name:"json" help:"Print JSON."`
}

// phasesReport is the public form of the answer, version 1.
type phasesReport struct {
	Version int             `json:"version"`
	Species string          `json:"species"`
	Year    int             `json:"year"`
	On      climate.Date    `json:"on"`
	Weather climate.Basis   `json:"weather"`
	Phases  []phaseForecast `json:"phases"`
}

type phaseForecast struct {
	Phase phenology.Phase `json:"phase"`
	climate.Spread
	Chance float64       `json:"chance"`         // that it comes this season
	Seen   *climate.Date `json:"seen,omitempty"` // on this very tree
	Fitted bool          `json:"fitted"`
	Basis  string        `json:"basis"`
}

// Run prints the phases.
func (c *phasesCommand) Run(p program) error {
	_, species, err := findSpecies(c.Species)
	if err != nil {
		return err
	}
	weather, site, err := c.weather()
	if err != nil {
		return err
	}
	record := weather.Record
	year, on, err := c.days(p, site, record)
	if err != nil {
		return err
	}
	seen, err := c.sightings(species)
	if err != nil {
		return err
	}
	outlook, err := weather.Outlook(site, on)
	if err != nil {
		return err
	}
	forecaster, err := phenology.NewForecaster(outlook, seen)
	if err != nil {
		return err
	}
	season, err := forecaster.Season(species.Habit(), c.Tree, year)
	if err != nil {
		return err
	}
	report := phasesReport{Version: 1, Species: species.Name, Year: year, On: on, Weather: outlook.Basis, Phases: []phaseForecast{}}
	for _, phase := range species.Group.Phases() {
		forecast, ok := season.Phases[phase]
		if !ok {
			continue
		}
		f := phaseForecast{Phase: phase, Chance: forecast.Dates.Chance(), Fitted: forecast.Fitted, Basis: forecast.Why}
		f.Spread, _ = forecast.Dates.Spread()
		if forecast.Seen.Valid() {
			f.Seen = &forecast.Seen
		}
		report.Phases = append(report.Phases, f)
	}
	if c.JSON {
		return writeJSON(p.stdout, report)
	}
	report.write(p.stdout)
	return nil
}

// weather returns what there is to go by, and where.
func (c *phasesCommand) weather() (*climate.Weather, climate.Site, error) {
	where, err := c.Site.where()
	if err != nil {
		return nil, climate.Site{}, err
	}
	site := climate.Site{Name: where.Name, Lat: where.Lat, Lon: where.Lon, Zone: c.Site.TZ}
	if where.Elevation != nil {
		site.Elevation = *where.Elevation
	}
	if site, err = completeSite(site); err != nil {
		return nil, site, fmt.Errorf("%w: %w", errUsage, err)
	}
	w := &climate.Weather{}
	if c.Weather != "" {
		if w.Record, err = readWeather(c.Weather); err != nil {
			return nil, site, err
		}
		if site.Name == "" {
			site.Name = w.Record.Source
		}
	}
	return w, site, assume(w, &site, where)
}

// days settles which season is asked for, and from which day it is looked at.
func (c *phasesCommand) days(p program, site climate.Site, record *climate.Record) (season int, on climate.Date, err error) {
	on, err = p.today(c.On, site)
	if err != nil {
		return 0, on, err
	}
	season = cmp.Or(c.Year, site.Season(on))
	if season < 1700 || season > 2300 {
		return 0, on, fmt.Errorf("%w: --year %d: want a year from 1700 to 2300", errUsage, season)
	}
	if end := site.SeasonStart(season+1) - 1; c.On == nil && end < on {
		on = end
	}
	if s := site.Season(on); season < s-1 || season > s+1 {
		return 0, on, fmt.Errorf("%w: --year %d --on %s: want the season of that day (%d), the one before, or the one after", errUsage, season, on, s)
	}
	if record != nil && on < record.First {
		return 0, on, fmt.Errorf("--on %s: the weather record begins on %s", on, record.First)
	}
	return season, on, nil
}

func (c *phasesCommand) sightings(species *calendar.Species) ([]phenology.Sighting, error) {
	if c.Sightings == "" {
		return nil, nil
	}
	file, err := os.Open(c.Sightings)
	if err != nil {
		return nil, err
	}
	seen, err := phenology.ReadSightings(c.Sightings, file, phenology.SightingDefaults{
		Tree: c.Tree, Species: species.Name, Phase: phenology.BudBreak,
	})
	return seen, errors.Join(err, file.Close())
}

func (r phasesReport) write(w io.Writer) {
	fmt.Fprintf(w, "%s, season %d, as forecast on %s\n", r.Species, r.Year, r.On)
	fmt.Fprintf(w, "%s\n\n", describeBasis(r.Weather))
	fmt.Fprintf(w, "%-19s %-11s %-11s %-11s\n", "phase", "10 %", "50 %", "90 %")
	for _, f := range r.Phases {
		if f.Chance == 0 {
			fmt.Fprintf(w, "%-19s does not come\n", f.Phase)
			continue
		}
		note := ""
		if f.Seen != nil {
			note = "seen"
		} else if f.Chance < 0.995 {
			note = fmt.Sprintf("comes in %.0f %% of cases", 100*f.Chance)
		}
		line := fmt.Sprintf("%-19s %-11s %-11s %-11s %s", f.Phase, f.P10, f.P50, f.P90, note)
		fmt.Fprintln(w, strings.TrimRight(line, " "))
	}
	fmt.Fprintln(w)
	for _, f := range r.Phases {
		fmt.Fprintf(w, "%s: %s\n", f.Phase, f.Basis)
	}
	fmt.Fprintln(w, "Dates are forecasts: look at the tree first.")
}

// describeBasis says in words what an outlook rests on.
func describeBasis(b climate.Basis) string {
	parts := []string{"Weather: " + b.Source}
	if b.Years > 0 {
		parts = append(parts, fmt.Sprintf("%d seasons of it", b.Years))
	}
	if b.Normals != "" && b.Normals != b.Source {
		parts = append(parts, fmt.Sprintf("its usual year counts %.0f %%, that of the %s the rest", 100*b.OwnWeight, b.Normals))
	}
	if s := b.Correction.String(); s != "" {
		parts = append(parts, fmt.Sprintf("the usual year of the %s is %s", b.Normals, s))
	}
	if b.Generated > 0 {
		parts = append(parts, fmt.Sprintf("%d generated seasons", b.Generated))
	}
	if n := b.Interpolated + b.Typical; n > 0 {
		parts = append(parts, fmt.Sprintf("of the past year %d days read, %d filled from the days around, %d from the usual year", b.Measured, b.Interpolated, b.Typical))
	}
	return strings.Join(parts, "; ") + "."
}
