package sample

import (
	"bytes"
	"flag"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"testing"
	"time"

	"budswell/climate"
	"budswell/climate/source"
)

var update = flag.Bool("update", false, "write the invented station's file anew")

const stationFile = "quernthal-invented.csv"

// The invented valley: monthly means of Tmin and Tmax, C, and days with rain.
// They are those of no place; they are meant to be like a valley at some 560 m
// on the north side of high mountains.
var (
	valleyMin  = [12]float64{-4.0, -3.2, 0.0, 3.4, 7.7, 10.9, 12.8, 12.5, 9.1, 5.2, 0.5, -2.8}
	valleyMax  = [12]float64{2.2, 4.4, 9.3, 13.6, 18.2, 21.5, 23.7, 23.1, 18.8, 13.6, 7.0, 3.0}
	valleyWet  = [12]float64{11, 10, 12, 12, 14, 15, 14, 14, 11, 10, 11, 12}
	firstYear  = 2015
	lastYear   = 2026
	neverRead  = climate.NewDate(2019, time.October, 4) // twenty days without a reading
	neverReads = climate.Date(20)
)

// station makes the invented station's days: the valley's means, with anomalies
// that last some days and springs that come early or late as a whole.
func station() []byte {
	rnd := rand.New(rand.NewPCG(7, 41))
	var b bytes.Buffer
	b.WriteString("date,tmin_c,tmax_c,prcp_mm,remark\n")
	anomaly, year, remark := 0.0, 0, "INVENTED for the demonstration by valley_test.go: no place has this weather"
	var early float64
	for d := climate.NewDate(firstYear, time.January, 1); d.Year() <= lastYear; d++ {
		if d.Year() != year {
			year, early = d.Year(), 1.4*rnd.NormFloat64()
		}
		spring := math.Exp(-math.Pow(float64(d.YearDay()-75)/40, 2))
		anomaly = 0.75*anomaly + 2.4*rnd.NormFloat64()
		wet := rnd.Float64() < at(valleyWet, d)/30.4
		lo, hi := at(valleyMin, d)+anomaly+early*spring, at(valleyMax, d)+1.15*anomaly+early*spring
		lo += 1.1 * rnd.NormFloat64()
		hi += 1.5 * rnd.NormFloat64()
		rain := 0.0
		if wet {
			rain = 5 * rnd.ExpFloat64()
			lo, hi = lo+1.2, hi-2.2
		} else {
			lo, hi = lo-0.8, hi+1.5
		}
		if hi < lo+0.5 {
			mean := (lo + hi) / 2
			lo, hi = mean-0.3, mean+0.3
		}
		if d >= neverRead && d < neverRead+neverReads || rnd.IntN(400) == 0 {
			fmt.Fprintf(&b, "%v,,,,%s\n", d, remark)
		} else {
			fmt.Fprintf(&b, "%v,%.1f,%.1f,%.1f,%s\n", d, lo, hi, rain, remark)
		}
		remark = ""
	}
	return b.Bytes()
}

// at reads monthly means on a day, on the line between the middles of months.
func at(months [12]float64, d climate.Date) float64 {
	x := (float64(d.YearDay())-15.7)/30.44 + 12
	i := int(x)
	f := x - float64(i)
	return months[i%12]*(1-f) + months[(i+1)%12]*f
}

// TestStationIsWhatItsRecipeGives keeps the file and its recipe together.
func TestStationIsWhatItsRecipeGives(t *testing.T) {
	want := station()
	if *update {
		if err := os.WriteFile(stationFile, want, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	got, err := Files.ReadFile(stationFile)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(got, want) && !*update {
		t.Errorf("%s is not what the recipe gives; run with -update", stationFile)
	}
	r, err := source.Read(stationFile, bytes.NewReader(want))
	if err != nil {
		t.Fatal(err)
	}
	if r.First.Year() != firstYear || r.Last() != climate.NewDate(lastYear, time.December, 31) {
		t.Errorf("the record runs from %v to %v", r.First, r.Last())
	}
}
