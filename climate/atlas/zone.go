package atlas

import (
	"fmt"
	"math"
	"sync"

	"github.com/ringsaturn/tzf"
)

// finder holds the outlines of the time zones, which take half a second and 30 MB
// to unpack; it is made when first asked.
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
	zone := f.GetTimezoneName(lon, lat)
	if zone == "" { // of 200,000 places drawn at random none was
		return "", fmt.Errorf("time zone: none known at %v, %v: want it given, as in Europe/Zurich", lat, lon)
	}
	return zone, nil
}
