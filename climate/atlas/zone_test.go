package atlas

import (
	"math"
	"strings"
	"testing"
	"time"
	_ "time/tzdata"
)

// The zones are those of the IANA database for the cities that stand there.
func TestZone(t *testing.T) {
	for _, tt := range []struct {
		place    string
		lat, lon float64
		want     string
	}{
		{"Zurich", 47.37, 8.54, "Europe/Zurich"},
		{"Edinburgh", 55.95, -3.19, "Europe/London"},
		{"Petersham, Massachusetts", 42.54, -72.18, "America/New_York"},
		{"Phoenix, without summer time", 33.45, -112.07, "America/Phoenix"},
		{"Denver", 39.74, -104.99, "America/Denver"},
		{"Tokyo", 35.68, 139.69, "Asia/Tokyo"},
		{"Kathmandu, 5:45", 27.72, 85.32, "Asia/Kathmandu"},
		{"Tromso", 69.65, 18.96, "Europe/Oslo"},
		{"Cape Town", -33.93, 18.42, "Africa/Johannesburg"},
		{"Melbourne", -37.81, 144.96, "Australia/Melbourne"},
		{"Lord Howe Island, half an hour of summer time", -31.55, 159.08, "Australia/Lord_Howe"},
		{"Auckland", -36.85, 174.76, "Pacific/Auckland"},
		{"Chatham Islands, beyond 180", -43.95, -176.56, "Pacific/Chatham"},
		{"Suva, by the date line", -18.14, 178.44, "Pacific/Fiji"},
		{"Apia, by the date line", -13.83, -171.77, "Pacific/Apia"},
		{"Ushuaia", -54.80, -68.30, "America/Argentina/Ushuaia"},
		{"Singapore", 1.35, 103.82, "Asia/Singapore"},
		{"Atlantic", 30, -45, "Etc/GMT+3"},
		{"Pacific at 180", -50, 180, "Etc/GMT-12"},
		{"Pacific at -180", -50, -180, "Etc/GMT+12"},
		{"South Pole", -90, 0, "Antarctica/McMurdo"},
	} {
		got, err := Zone(tt.lat, tt.lon)
		if err != nil || got != tt.want {
			t.Errorf("%s: %q, %v; want %q", tt.place, got, err, tt.want)
		}
	}
}

func TestZoneOfEverywhere(t *testing.T) {
	for lat := -90.0; lat <= 90; lat += 7.5 {
		for lon := -180.0; lon <= 180; lon += 7.5 {
			zone, err := Zone(lat, lon)
			if err != nil {
				t.Fatal(err)
			}
			if _, err := time.LoadLocation(zone); err != nil || zone == "" {
				t.Errorf("%v, %v: %q: %v", lat, lon, zone, err)
			}
		}
	}
}

func TestZoneRanges(t *testing.T) {
	for _, tt := range []struct {
		lat, lon float64
		want     string
	}{{91, 0, "lat 91"}, {math.NaN(), 0, "lat NaN"}, {0, 181, "lon 181"}, {0, math.Inf(-1), "lon -Inf"}} {
		if _, err := Zone(tt.lat, tt.lon); err == nil || !strings.Contains(err.Error(), tt.want) {
			t.Errorf("%v, %v: error %v", tt.lat, tt.lon, err)
		}
	}
}
