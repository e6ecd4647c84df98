// Command sample prints sunrise and sunset of some sixty days of 2026 at seven
// latitudes, in the columns of climate/testdata/sun.csv, as the library
// kelvins/sunrisesunset has them. It is built by run outside of the repository.
//
// The library is asked only for days on which the sun rises and sets well inside
// the day of the given offset: on others it answers without an error, but wrongly.
package main

import (
	"fmt"
	"log"
	"math"
	"time"

	"github.com/kelvins/sunrisesunset"
)

func main() {
	fmt.Println("lat,lon,date,rise,set")
	for _, place := range []struct {
		lat, lon float64
		months   []time.Month
	}{
		{0, 0, []time.Month{1, 2, 3, 4, 5, 6, 7, 8, 9, 11}},
		{35, 139.5, []time.Month{1, 2, 3, 4, 5, 6, 8, 9, 10, 12}},
		{-35, 149, []time.Month{1, 2, 4, 5, 6, 7, 8, 9, 10, 12}},
		{50, 8.5, []time.Month{1, 2, 3, 4, 5, 6, 7, 9, 11, 12}},
		{60, -150, []time.Month{1, 2, 3, 5, 6, 7, 8, 9, 10, 12}},
		{66, 25, []time.Month{1, 2, 4, 8, 9, 11}},
		{70, -156, []time.Month{2, 3, 4, 9, 10}},
	} {
		for _, month := range place.months {
			day := time.Date(2026, month, 15, 0, 0, 0, 0, time.UTC)
			offset := math.Round(place.lon / 15)
			rise, set, err := sunrisesunset.GetSunriseSunset(place.lat, place.lon, offset, day)
			if err != nil {
				log.Fatal(err)
			}
			utc := func(t time.Time) float64 {
				h, m, s := t.Clock()
				return float64(h) + float64(m)/60 + float64(s)/3600 - offset
			}
			fmt.Printf("%g,%g,%s,%.4f,%.4f\n", place.lat, place.lon, day.Format(time.DateOnly), utc(rise), utc(set))
		}
	}
}
