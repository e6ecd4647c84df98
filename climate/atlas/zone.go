package atlas

import (
	"fmt"
	"math"
	"sync"

	"github.com/ringsaturn/tzf"
)

// finder holds the outlines of the time zones, which take some tenths of a
// second and some tens of megabytes to unpack; it is made when first asked.
var finder = sync.OnceValues(tzf.NewDefaultFinder)

// Zone returns the IANA time zone of a place, latitude -90 to 90 degrees north,
// longitude -180 to 180 degrees east; at sea that of the nautical zone, such as
// Etc/GMT+3. The outlines are simplified (timezone-boundary-builder, of
// OpenStreetMap's data): within a kilometre or so of a border it may be the
// neighbour's.
func Zone(lat, lon float64) (string, error) {
	if math.IsNaN(lat) || lat < -90 || lat > 90 {
		return "", fmt.Errorf("time zone: lat %v: want degrees north from -90 to 90", lat)
	}
	if math.IsNaN(lon) || lon < -180 || lon > 180 {
		return "", fmt.Errorf("time zone: lon %v: want degrees east from -180 to 180", lon)
	}
	f, err := finder()
	if err != nil {
		return "", fmt.Errorf("time zone: %w", err)
	}
	if zone := f.GetTimezoneName(lon, lat); zone != "" {
		return zone, nil
	}
	return nautical(lon), nil
}

// nautical returns the zone of 15 degrees of longitude, whose sign POSIX turns.
func nautical(lon float64) string {
	switch h := int(math.Round(lon / 15)); {
	case h > 0:
		return fmt.Sprintf("Etc/GMT-%d", h)
	case h < 0:
		return fmt.Sprintf("Etc/GMT+%d", -h)
	}
	return "Etc/GMT"
}
