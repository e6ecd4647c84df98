package main

import (
	"errors"
	"fmt"
	"io"

	"budswell/calendar/sums"
	"budswell/climate"
)

// sumsCommand does what needs no file of trees.
type sumsCommand struct {
	Soil  soilCommand  `cmd:"" help:"What soil it takes to fill a pot, in litres and kilograms."`
	Water waterCommand `cmd:"" help:"In how many hours a pot is dry."`
	Wire  wireCommand  `cmd:"" help:"What wire a branch takes."`
	Pot   potCommand   `cmd:"" help:"What size of pot suits a tree."`
}

// sumsVersion is the version of the form in which sums are written as JSON.
const sumsVersion = 1

// vesselFlags are the measures of a pot.
type vesselFlags struct {
	Length float64    `required:"" help:"Inner length at the rim, cm." placeholder:"CM"`
	Width  float64    `required:"" help:"Inner width at the rim, cm." placeholder:"CM"`
	Depth  float64    `required:"" help:"Depth of soil, cm." placeholder:"CM"`
	Shape  sums.Shape `enum:"rectangle,oval" default:"rectangle" help:"rectangle or oval."`
	Taper  float64    `help:"How much narrower it is at the bottom, a share of the rim, 0 to 0.8."`
	Mix    string     `default:"1 pumice, 1 lava, 1 baked clay" help:"Parts by volume."`
}

func (f *vesselFlags) vessel() sums.Vessel {
	return sums.Vessel{Shape: f.Shape, Length: f.Length, Width: f.Width, Depth: f.Depth, Taper: f.Taper}
}

// answer prints what a sum came to; an argument out of its range is wrong usage.
func answer(p program, asJSON bool, err error, result any, text func(w io.Writer)) error {
	switch {
	case errors.Is(err, sums.ErrRange):
		return fmt.Errorf("%w: %w", errUsage, err)
	case err != nil:
		return err
	case asJSON:
		return writeJSON(p.stdout, result)
	}
	text(p.stdout)
	_, err = fmt.Fprintln(p.stdout, "An estimate: look at the tree first.")
	return err
}

type soilCommand struct {
	vesselFlags
	Ball     float64 `help:"Litres of the root ball." placeholder:"LITRES"`
	Settling float64 `default:"0.12" help:"Share by which loose mix goes down when it is worked in, 0.05 to 0.25."`
	JSON     bool    `name:"json" help:"Print JSON."`
}

type soilJSON struct {
	Version int       `json:"version"`
	Vessel  float64   `json:"vessel_litres"`
	Fill    float64   `json:"fill_litres"` // of sieved mix, settling included
	Buy     []bagJSON `json:"buy"`         // sieving loss included
	Dry     float64   `json:"dry_kg"`
	Wet     float64   `json:"wet_kg"`
}

type bagJSON struct {
	Name   string  `json:"name"`
	Litres float64 `json:"litres"`
	Kg     float64 `json:"kg"`
}

// Run prints what soil a pot takes.
func (c *soilCommand) Run(p program) error {
	mix, err := sums.ParseMix(c.Mix)
	var s sums.Soil
	if err == nil {
		s, err = sums.SoilFor(c.vessel(), c.Ball, mix, c.Settling)
	}
	out := soilJSON{Version: sumsVersion, Vessel: s.Vessel, Fill: s.Fill, Dry: s.DryKg, Wet: s.WetKg}
	for _, b := range s.Buy {
		out.Buy = append(out.Buy, bagJSON(b))
	}
	return answer(p, c.JSON, err, out, func(w io.Writer) {
		fmt.Fprintf(w, "The pot holds %.1f litres and takes %.1f litres of loose, sieved mix.\n", s.Vessel, s.Fill)
		for _, b := range s.Buy {
			fmt.Fprintf(w, "  %-12s %6.1f litres from the bag, %.1f kg\n", b.Name, b.Litres, b.Kg)
		}
		fmt.Fprintf(w, "To carry: %.1f kg dry. Watered, soil and root ball weigh %.1f kg.\n", s.DryKg, s.WetKg)
	})
}

type waterCommand struct {
	vesselFlags
	Crown float64       `required:"" help:"Spread of the crown, cm." placeholder:"CM"`
	Leaf  float64       `default:"3" help:"Leaf area over the ground that the crown covers: 0 bare, 2 to 4 in full leaf."`
	Tmin  float64       `required:"" help:"Lowest temperature of the day, C." placeholder:"C"`
	Tmax  float64       `required:"" help:"Highest temperature of the day, C." placeholder:"C"`
	Lat   float64       `required:"" help:"Latitude, degrees, south negative." placeholder:"DEGREES"`
	On    *climate.Date `help:"The day; today when not given." placeholder:"DATE"`
	At    float64       `default:"7" help:"Hour of watering, solar time."`
	JSON  bool          `name:"json" help:"Print JSON."`
}

type waterJSON struct {
	Version int     `json:"version"`
	Hours   float64 `json:"hours"`
	Beyond  bool    `json:"beyond"` // not dry within the hours, which are then the end of the reckoning
	Daily   float64 `json:"daily_litres"`
	Holds   float64 `json:"holds_litres"`
	ET      float64 `json:"evapotranspiration_mm"`
}

// Run prints in how many hours a pot is dry.
func (c *waterCommand) Run(p program) error {
	site := climate.Site{Lat: c.Lat, Zone: "UTC"}
	if err := site.Validate(); err != nil {
		return fmt.Errorf("%w: %w", errUsage, err)
	}
	if !(c.Tmin >= -60 && c.Tmin <= c.Tmax && c.Tmax <= 60) {
		return fmt.Errorf("temperatures %v and %v C: want -60 to 60, the lowest first: %w", c.Tmin, c.Tmax, errUsage)
	}
	on, err := p.today(c.On, site)
	if err != nil {
		return err
	}
	mix, err := sums.ParseMix(c.Mix)
	et := climate.Hargreaves(c.Lat, on, c.Tmin, c.Tmax)
	var d sums.Drying
	if err == nil {
		const days = 7
		all := make([]float64, days)
		for i := range all {
			all[i] = et
		}
		d, err = sums.Dry(&sums.Thirst{Spread: c.Crown, Leaf: c.Leaf, Vessel: c.vessel(), Mix: mix, Ball: 0.3, Filled: 1, Shade: 1}, site, on, c.At, all)
	}
	out := waterJSON{sumsVersion, d.Hours, d.Beyond, d.Daily, d.Holds, et}
	return answer(p, c.JSON, err, out, func(w io.Writer) {
		fmt.Fprintf(w, "%.1f mm evaporate on such a day: tree and pot give off %.2f litres of the %.2f that roots can draw.\n", et, d.Daily, d.Holds)
		if d.Beyond {
			fmt.Fprintf(w, "Not dry within %.0f hours of such days.\n", d.Hours)
			return
		}
		fmt.Fprintf(w, "Dry %.0f hours after watering, in the open and without rain.\n", d.Hours)
	})
}

type wireCommand struct {
	Thickness float64 `required:"" help:"Of the branch at its base, mm." placeholder:"MM"`
	Length    float64 `required:"" help:"Of the branch, cm." placeholder:"CM"`
	Conifer   bool    `help:"It is a conifer: copper."`
	JSON      bool    `name:"json" help:"Print JSON."`
}

type wireJSON struct {
	Version int        `json:"version"`
	Metal   sums.Metal `json:"metal"`
	Gauge   float64    `json:"gauge_mm"`
	Wires   int        `json:"wires"`
	Length  float64    `json:"length_cm"` // of each
	Grams   float64    `json:"grams"`     // of all
}

// Run prints what wire a branch takes.
func (c *wireCommand) Run(p program) error {
	s, err := sums.WireFor(c.Thickness, c.Length, c.Conifer)
	out := wireJSON{sumsVersion, s.Metal, s.Gauge, 1, s.Length, s.Grams}
	if s.TwoWires {
		out.Wires = 2
	}
	return answer(p, c.JSON, err, out, func(w io.Writer) {
		fmt.Fprintf(w, "%d of %s, %.1f mm, %.0f cm long, %.0f g in all. Cut ends spring back: mind your eyes.\n", out.Wires, s.Metal, s.Gauge, s.Length, s.Grams)
	})
}

type potCommand struct {
	Height float64 `required:"" help:"Of the tree, cm." placeholder:"CM"`
	Spread float64 `required:"" help:"Of the crown, cm." placeholder:"CM"`
	Trunk  float64 `required:"" help:"Thickness above the roots, cm." placeholder:"CM"`
	JSON   bool    `name:"json" help:"Print JSON."`
}

type potJSON struct {
	Version int        `json:"version"`
	Length  [2]float64 `json:"length_cm"` // from, to
	Width   [2]float64 `json:"width_cm"`
	Depth   [2]float64 `json:"depth_cm"`
}

// Run prints what size of pot suits a tree.
func (c *potCommand) Run(p program) error {
	s, err := sums.PotFor(c.Height, c.Spread, c.Trunk)
	return answer(p, c.JSON, err, potJSON{sumsVersion, s.Length, s.Width, s.Depth}, func(w io.Writer) {
		fmt.Fprintf(w, "Length %.0f to %.0f cm, width %.0f to %.0f, depth %.1f to %.1f. Rules of thumb: the eye decides.\n",
			s.Length[0], s.Length[1], s.Width[0], s.Width[1], s.Depth[0], s.Depth[1])
	})
}
