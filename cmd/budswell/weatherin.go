package main

import (
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net/url"
	"path/filepath"
	"time"

	"github.com/jonboulle/clockwork"

	"budswell/calendar"
	"budswell/climate"
	"budswell/climate/source"
	"budswell/feeds/intake"
	"budswell/feeds/outward"
)

// weatherFlags say how the service asks for weather.
type weatherFlags struct {
	Contact           string `help:"Mail address or web address by which weather services can reach whoever runs this; MET Norway wants one." placeholder:"ADDRESS"`
	OpenMeteoArchive  string `help:"Base address of an Open-Meteo archive." default:"https://archive-api.open-meteo.com" placeholder:"URL"`
	OpenMeteoForecast string `help:"Base address of an Open-Meteo forecast." default:"https://api.open-meteo.com" placeholder:"URL"`
	METNorway         string `name:"met-norway" help:"Base address of MET Norway's Locationforecast 2.0." default:"https://api.met.no/weatherapi/locationforecast/2.0" placeholder:"URL"`
	AllowPrivateHosts bool   `help:"Let the service ask hosts of its own machine and network."`
}

const (
	answerTime = 2 * time.Minute // the longest station files have 20 MB
	redirects  = 3
)

// agent identifies the service to those it asks.
func (f weatherFlags) agent() string {
	if f.Contact == "" {
		return "budswell/1"
	}
	return "budswell/1 " + f.Contact
}

// intake returns what fetches the weather of all places.
func (f weatherFlags) intake(p program, store calendar.Store, log *slog.Logger) (*intake.Intake, error) {
	for _, base := range []string{f.OpenMeteoArchive, f.OpenMeteoForecast, f.METNorway} {
		if u, err := url.Parse(base); err != nil || u.Scheme != "http" && u.Scheme != "https" || u.Host == "" || u.RawQuery != "" {
			return nil, fmt.Errorf("%w: weather service %q: want an address such as https://api.open-meteo.com", errUsage, base)
		}
	}
	for _, c := range f.Contact {
		if c < ' ' || c > '~' {
			return nil, fmt.Errorf("%w: --contact %q: want a mail address or web address", errUsage, f.Contact)
		}
	}
	web := source.Web{Client: outward.Client(outward.Options{Private: f.AllowPrivateHosts, Timeout: answerTime, Redirects: redirects}), Agent: f.agent()}
	return &intake.Intake{
		Store: store, Clock: clockwork.NewRealClock(), Chance: func() float64 { return chance(p.random) }, Log: log,
		Provider: func(w calendar.WeatherSource) (climate.Provider, error) { return f.provider(web, w) },
	}, nil
}

func (f weatherFlags) provider(web source.Web, w calendar.WeatherSource) (climate.Provider, error) {
	switch w.Kind {
	case calendar.SourceOpenMeteo:
		return &source.OpenMeteo{Web: web, Archive: f.OpenMeteoArchive, Forecast: f.OpenMeteoForecast}, nil
	case calendar.SourceMETNorway:
		return &source.METNorway{Web: web, Base: f.METNorway}, nil
	case calendar.SourceStation:
		return &source.Station{Web: web, Address: w.At, Elevation: w.Elevation}, nil
	case calendar.SourceFolder:
		return &source.Folder{Path: w.At}, nil
	}
	return nil, fmt.Errorf("weather source %q: this version knows none of the kind: %w", w.Kind, calendar.ErrInvalid)
}

// services lists the kinds of sources that growers may turn on by themselves.
func (f weatherFlags) services() []string {
	if f.Contact == "" {
		return []string{calendar.SourceOpenMeteo} // the other wants to know whom to write to
	}
	return []string{calendar.SourceOpenMeteo, calendar.SourceMETNorway}
}

// credit says whose weather a source gives.
func (f weatherFlags) credit(w calendar.WeatherSource) (words, address string) {
	p, err := f.provider(source.Web{}, w)
	if err != nil {
		return w.Kind, ""
	}
	return p.Credit()
}

// chance returns a number from 0 to 1 at random, the middle where there is no randomness.
func chance(random io.Reader) float64 {
	var b [4]byte
	if _, err := io.ReadFull(random, b[:]); err != nil {
		return 0.5
	}
	return float64(binary.BigEndian.Uint32(b[:])) / (1 << 32)
}

// sourcesOf returns where the weather of a plan file's site keeps coming from, with
// paths as they are from anywhere.
func sourcesOf(path string, file *calendar.File) ([]calendar.WeatherSource, error) {
	out := make([]calendar.WeatherSource, 0, len(file.Weather.Sources))
	for _, w := range file.Weather.Sources {
		if w.Kind == calendar.SourceFolder {
			if !filepath.IsAbs(w.At) {
				w.At = filepath.Join(filepath.Dir(path), w.At)
			}
			var err error
			if w.At, err = filepath.Abs(w.At); err != nil {
				return nil, err
			}
		}
		out = append(out, w)
	}
	return out, nil
}

// addOffline lays what a plan file's folder holds over its weather; sources that
// want the network are left to the service, and that is said.
func addOffline(ctx context.Context, p program, path string, file *calendar.File, weather *climate.Weather) error {
	sources, err := sourcesOf(path, file)
	if err != nil {
		return err
	}
	for _, w := range sources {
		if w.Kind != calendar.SourceFolder {
			fmt.Fprintf(p.stderr, "weather of %s is fetched by 'serve' only; the plan does without it\n", w.Kind)
			continue
		}
		answer, err := (&source.Folder{Path: w.At}).Fetch(ctx, climate.Ask{Site: file.Site, Now: p.now()})
		if err != nil {
			return fmt.Errorf("%s: weather: folder: %w", path, err)
		}
		*weather = weather.With(file.Site, answer.Series)
	}
	return nil
}

// planFile plans the trees of a file, each by where it stands.
func planFile(file *calendar.File, known *calendar.Lore, weather *climate.Weather, on climate.Date) (*calendar.Plan, error) {
	stands, planners, err := standing(file, known, weather, on)
	if err != nil {
		return nil, err
	}
	var plans []*calendar.Plan
	var errs []error
	for i, planner := range planners {
		plan, err := planner.Plan(stands[i].Trees)
		plans, errs = append(plans, plan), append(errs, err)
	}
	if err := errors.Join(errs...); err != nil {
		return nil, err
	}
	return calendar.Merge(plans, file.Benches, file.Trees), nil
}

// yearsOfFile draws the roadmaps of the trees of a file, each by where it stands.
func yearsOfFile(file *calendar.File, known *calendar.Lore, weather *climate.Weather, on climate.Date, opts calendar.RoadmapOptions) (*calendar.Years, error) {
	stands, planners, err := standing(file, known, weather, on)
	if err != nil {
		return nil, err
	}
	var all []*calendar.Years
	for i, planner := range planners {
		opts.ReadyBy = calendar.ReadyFor(file.Shows, stands[i].Trees, on)
		years, err := planner.Years(stands[i].Trees, opts)
		if err != nil {
			return nil, err
		}
		all = append(all, years)
	}
	return calendar.MergeYears(all, file.Trees), nil
}

// standing parts the trees of a file by where they stand, with a planner of each part.
func standing(file *calendar.File, known *calendar.Lore, weather *climate.Weather, on climate.Date) ([]calendar.Stand, []*calendar.Planner, error) {
	outlook, err := weather.Outlook(file.Site, on)
	if err != nil {
		return nil, nil, err
	}
	stands, err := calendar.Stands(outlook, file.Benches, file.Trees)
	if err != nil {
		return nil, nil, err
	}
	planners := make([]*calendar.Planner, len(stands))
	for i := range stands {
		p, _, err := stands[i].Planner(known, nil)
		if err != nil {
			return nil, nil, err
		}
		p.Variants, p.Shows = file.Variants, file.Shows
		planners[i] = p
	}
	return stands, planners, nil
}
