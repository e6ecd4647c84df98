package source

import (
	"bytes"
	"context"
	"fmt"
	"net/url"
	"path"
	"time"

	"budswell/climate"
)

// Station reads the file of one station on the web, such as those of GHCN-Daily
// (https://www.ncei.noaa.gov/pub/data/ghcn/daily/, readme.txt and
// by_station/readme-by_station.txt), in any form that [Read] reads, packed by gzip or not.
type Station struct {
	Web     Web
	Address string

	// Elevation is that of the station, m; nil where it is not known.
	Elevation *float64
}

// Credit implements [climate.Provider].
func (s *Station) Credit() (words, address string) {
	u, err := url.Parse(s.Address)
	if err != nil {
		return "Station weather", ""
	}
	return "Station weather from " + u.Host + " (GHCN-Daily: NOAA NCEI, Menne et al. 2012, doi:10.7289/V5D21VHZ)", u.Scheme + "://" + u.Host + "/"
}

// Pause implements [climate.Provider]: such files are made anew once a day.
func (*Station) Pause() time.Duration { return 24 * time.Hour }

// Back implements [climate.Provider].
func (*Station) Back() int { return 0 }

// Fetch implements [climate.Provider].
func (s *Station) Fetch(ctx context.Context, a climate.Ask) (*climate.Answer, error) {
	u, err := url.Parse(s.Address)
	if err != nil || u.Scheme != "http" && u.Scheme != "https" || u.Host == "" {
		return nil, &climate.Refused{Why: "address of the station: want one that begins with https://"}
	}
	name := path.Base(u.Path)
	r, err := s.Web.get(ctx, s.Address, a.Now, a.Was.Modified, MaxSize,
		"text/csv", "text/plain", "application/gzip", "application/x-gzip", "application/octet-stream")
	if err != nil {
		return nil, fmt.Errorf("station %s: %w", name, err)
	}
	out := &climate.Answer{Unchanged: r.same, Whole: true, Memory: climate.Memory{Modified: r.modified}, Expires: r.expires, Notes: r.notes}
	if r.same {
		return out, nil
	}
	record, err := readPacked(name, r.body)
	if err != nil {
		return nil, fmt.Errorf("station %w", err)
	}
	out.Notes = append(out.Notes, record.Notes...)
	series := climate.SeriesOf(record, climate.FromStation, a.Now)
	series.Elevation = s.Elevation
	out.Series = []climate.Series{series}
	return out, nil
}

// readPacked reads a station file that may be packed by gzip.
func readPacked(name string, data []byte) (*climate.Record, error) {
	data, err := unpacked(name, data)
	if err != nil {
		return nil, err
	}
	return Read(name, bytes.NewReader(data))
}
