//go:build sunsample

package climate

import (
	"math"
	"os"
	"testing"
	"time"
)

// TestSunAgainstSample compares with a table that another program has made just
// now, in the columns of sun.csv. It is part of .ci/sun/run alone, which makes one.
func TestSunAgainstSample(t *testing.T) {
	name := os.Getenv("BUDSWELL_SUN_SAMPLE")
	if name == "" {
		t.Fatal("BUDSWELL_SUN_SAMPLE names no table of sunrise and sunset")
	}
	rows := readTable(t, name)
	if len(rows) < 50 {
		t.Errorf("only %d days to compare", len(rows))
	}
	worst := 0.0
	for _, row := range rows {
		site := Site{Lat: number(t, row, "lat"), Lon: number(t, row, "lon")}
		d, err := ParseDate(row["date"])
		if err != nil {
			t.Fatal(err)
		}
		sun := site.Sun(d)
		for column, got := range map[string]time.Time{"rise": sun.Rise, "set": sun.Set} {
			off := math.Abs(got.Sub(d.Time()).Hours()-number(t, row, column)) * 60
			if !(off <= 2) {
				t.Errorf("lat %v, %v: %s is %v, %.2f minutes off", site.Lat, d, column, got, off)
			}
			worst = max(worst, off)
		}
	}
	t.Logf("%d days, greatest difference %.2f minutes", len(rows), worst)
}
