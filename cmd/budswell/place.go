package main

import (
	"fmt"
	"io"
	"math"

	"budswell/climate"
	"budswell/climate/atlas"
)

type placeCommand struct {
	Place string `arg:"" help:"Name of a town, with a region or a country's two letters after a comma where there are several; or LAT,LON[,ELEVATION], degrees north and east and metres." placeholder:"NAME|LAT,LON[,ELEVATION]"`
	JSON  bool   `name:"json" help:"Print JSON."`
}

// placeReport is the public form of the answer, version 1. Frost is a minimum of
// 0 C or below; days are null where so many seasons have none.
type placeReport struct {
	Version   int         `json:"version"`
	Lat       float64     `json:"lat"`
	Lon       float64     `json:"lon"`
	Elevation float64     `json:"elevation"`
	TZ        string      `json:"tz"`
	Tmin      [12]float64 `json:"tmin"`
	Tmax      [12]float64 `json:"tmax"`
	Error     float64     `json:"error_c"` // half the band of 80 % about each mean
	Frost     struct {
		Last  frostDays `json:"last"`
		First frostDays `json:"first"`
	} `json:"frost"`
	DegreeDays float64   `json:"degree_days_5c"`
	DayLength  dayLength `json:"day_length"`
}

type frostDays struct {
	P10 *climate.MonthDay `json:"p10"`
	P50 *climate.MonthDay `json:"p50"`
	P90 *climate.MonthDay `json:"p90"`

	Error float64 `json:"error_days"` // half the band of 80 % about these days, for the place may differ
}

// dayLength is in hours.
type dayLength struct {
	Shortest float64     `json:"shortest"`
	Longest  float64     `json:"longest"`
	Months   [12]float64 `json:"months"` // means
}

// Run prints the climate of the place.
func (c *placeCommand) Run(p program) error {
	where, err := atlas.ParseWhere(c.Place)
	if err != nil {
		return err
	}
	at, site, err := lookUp(where)
	if err != nil {
		return err
	}
	year, err := at.Normals.Typical(site, 0, growthBase)
	if err != nil {
		return err
	}
	report := placeReport{
		Version: 1, Lat: site.Lat, Lon: site.Lon, Elevation: site.Elevation, TZ: site.Zone,
		Tmin: at.Normals.Tmin, Tmax: at.Normals.Tmax, Error: at.Error,
		DegreeDays: math.Round(year.DegreeDays), DayLength: dayLengths(site.Lat),
	}
	report.Frost.Last = frostDays{year.Frost.Spring.P10, year.Frost.Spring.P50, year.Frost.Spring.P90, year.LastError}
	report.Frost.First = frostDays{year.Frost.Autumn.P10, year.Frost.Autumn.P50, year.Frost.Autumn.P90, year.FirstError}
	if c.JSON {
		return writeJSON(p.stdout, report)
	}
	report.write(p.stdout, where, at, year)
	return nil
}

// growthBase is the base of the degree-days, C, customary for the growing season
// of cool climates.
const growthBase = 5

// lookUp returns what the atlas says of a place, and the place as a site.
func lookUp(where atlas.Where) (*atlas.Climate, climate.Site, error) {
	at, err := atlas.At(where.Lat, where.Lon, where.Elevation)
	if err != nil {
		return nil, climate.Site{}, err
	}
	site, err := completeSite(climate.Site{Name: where.Name, Lat: where.Lat, Lon: where.Lon, Elevation: at.Elevation})
	return at, site, err
}

func dayLengths(lat float64) dayLength {
	out := dayLength{Shortest: math.Inf(1)}
	tenth := func(v float64) float64 { return math.Round(v*10) / 10 }
	first := climate.NewDate(2001, 1, 1)
	var days [12]float64
	for d := first; d < first+365; d++ {
		h := climate.DayLength(lat, d)
		out.Shortest, out.Longest = min(out.Shortest, tenth(h)), max(out.Longest, tenth(h))
		out.Months[d.Month()-1] += h
		days[d.Month()-1]++
	}
	for m := range days {
		out.Months[m] = tenth(out.Months[m] / days[m])
	}
	return out
}

func (r placeReport) write(w io.Writer, where atlas.Where, at *atlas.Climate, year *climate.TypicalYear) {
	fmt.Fprintf(w, "%s: %.2f, %.2f, %.0f m, %s\n", where.Name, r.Lat, r.Lon, r.Elevation, r.TZ)
	if at.Assumed {
		fmt.Fprintf(w, "The elevation is that of the stations around, and the error wider for it: give yours, as in %.2f,%.2f,%.0f\n", r.Lat, r.Lon, r.Elevation)
	}
	fmt.Fprintf(w, "\nusual year, °C, by month from January; 80 %% of places lie within %.1f °C\n", r.Error)
	for _, row := range []struct {
		name   string
		values [12]float64
	}{{"minimum", r.Tmin}, {"maximum", r.Tmax}} {
		fmt.Fprintf(w, "%-8s", row.name)
		for _, v := range row.values {
			fmt.Fprintf(w, " %5.1f", v)
		}
		fmt.Fprintln(w)
	}
	fmt.Fprintf(w, "\n%-16s %-8s %-8s %-8s %s\n", "frost", "10 %", "50 %", "90 %", "of made years with it")
	writeTypicalFrost(w, "last of spring", year.Frost.Spring)
	writeTypicalFrost(w, "first of autumn", year.Frost.Autumn)
	if year.LastError > 0 && year.FirstError > 0 {
		fmt.Fprintf(w, "80 %% of places have theirs within %.0f days of these in spring, %.0f in autumn; cold hollows have frost later and earlier.\n",
			year.LastError, year.FirstError)
	}
	fmt.Fprintf(w, "\ndegree-days above %d °C in a year: %.0f\n", growthBase, r.DegreeDays)
	fmt.Fprintf(w, "daylight: %.1f to %.1f hours\n", r.DayLength.Shortest, r.DayLength.Longest)
	fmt.Fprintf(w, "\nRests on the %s; nearest station %.0f km away. Hollows, walls and towns differ from it.\n", at.Normals.Source, at.Nearest)
	if where.Named {
		fmt.Fprintln(w, atlas.Attribution)
	}
}

func writeTypicalFrost(w io.Writer, name string, f climate.FrostHalf) {
	day := func(d *climate.MonthDay) string {
		if d == nil {
			return "none"
		}
		return d.String()
	}
	fmt.Fprintf(w, "%-16s %-8s %-8s %-8s %.0f %%\n", name, day(f.P10), day(f.P50), day(f.P90), 100*float64(f.Frosts)/float64(f.Seasons))
}
