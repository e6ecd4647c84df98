package climate

import (
	"fmt"
	"math"
	"slices"
	"testing"
)

// sums gather errors.
type sums struct{ n, sum, squares float64 }

func (s *sums) add(v float64) {
	if !math.IsNaN(v) {
		s.n++
		s.sum += v
		s.squares += v * v
	}
}

func (s *sums) rmse() float64 { return math.Sqrt(s.squares / max(s.n, 1)) }
func (s *sums) bias() float64 { return s.sum / max(s.n, 1) }
func (s *sums) String() string {
	return fmt.Sprintf("%.2f, bias %+.2f (of %.0f)", s.rmse(), s.bias(), s.n)
}

// climateGroups are kinds of climate by what the monthly normals tell.
var climateGroups = []struct {
	name string
	is   func(s *stationNormals, swing float64) bool
}{
	{"all", func(*stationNormals, float64) bool { return true }},
	{"tropics", func(s *stationNormals, _ float64) bool { return math.Abs(s.site.Lat) < 23.5 }},
	{"beyond them: swing below 14 C, maritime", beyond(0, 14)},
	{"swing 14 to 18 C", beyond(14, 18)},
	{"swing 18 to 22 C", beyond(18, 22)},
	{"swing 22 to 30 C, continental", beyond(22, 30)},
	{"swing above 30 C", beyond(30, 99)},
	{"above 1500 m", func(s *stationNormals, _ float64) bool { return s.site.Elevation > 1500 }},
	{"south of 23.5 S", func(s *stationNormals, _ float64) bool { return s.site.Lat < -23.5 }},
}

func beyond(lo, hi float64) func(*stationNormals, float64) bool {
	return func(s *stationNormals, swing float64) bool {
		return math.Abs(s.site.Lat) >= 23.5 && swing >= lo && swing < hi
	}
}

// TestGeneratorOfTheWorld makes years from the normals of every station and
// compares their frosts with those counted there. Source of the counts: WMO
// Climatological Normals 1991-2020. With -fit it takes every station, not every fourth, and
// prints the table of the package's documentation.
func TestGeneratorOfTheWorld(t *testing.T) {
	const lots, years = 10, 30 // lots of thirty years, as the table's lowest minima are of one
	every := 4
	if *fit {
		every = 1
	}
	type group struct{ stations, frosts, lowest, year sums }
	table := make([]group, len(climateGroups))
	for i, s := range worldNormals(t) {
		if i%every != 0 {
			continue
		}
		c, err := s.n.Cycle(s.site)
		if err != nil {
			t.Fatal(err)
		}
		if math.IsNaN(s.frosts[0]) && math.IsNaN(s.lowest[0]) {
			continue
		}
		var frosts, lowest [12]float64
		year := 0.0
		first := NewDate(2001, 1, 1)
		members := c.generate(3, first, 365, lots*years)
		for lot := range lots {
			var low [12]float64
			for m := range low {
				low[m] = math.Inf(1)
			}
			for y := range years {
				for k, v := range members[lot*years+y].Tmin {
					month := monthOfDay[k]
					low[month] = min(low[month], v)
					if v < 0 {
						frosts[month] += 1 / float64(lots*years)
					}
				}
			}
			for m, v := range low {
				lowest[m] += v / lots
			}
			year += slices.Min(low[:]) / lots
		}
		swing := swingOf(&s.n)
		for g := range climateGroups {
			if !climateGroups[g].is(&s, swing) {
				continue
			}
			table[g].stations.add(0)
			for m := range 12 {
				table[g].frosts.add(frosts[m] - s.frosts[m])
				table[g].lowest.add(lowest[m] - s.lowest[m])
			}
			table[g].year.add(year - slices.Min(s.lowest[:])) // NaN where a month lacks
		}
	}
	t.Logf("%-40s %8s  %-34s %-34s %s", "", "stations", "frost days a month", "lowest minimum of a month, C", "of the thirty years, C")
	for g, v := range table {
		t.Logf("%-40s %8.0f  %-34v %-34v %v", climateGroups[g].name, v.stations.n, &v.frosts, &v.lowest, &v.year)
		if *fit && v.stations.n > 100 && (math.Abs(v.frosts.bias()) > 0.2 || math.Abs(v.lowest.bias()) > 0.5) {
			t.Errorf("%s: frost days %v, lowest minima %v: want no bias", climateGroups[g].name, &v.frosts, &v.lowest)
		}
	}
	frosts, lowest := 1.6, 2.7 // a quarter of the stations scatters
	if *fit {
		frosts, lowest = 1.4, 2.5
	}
	if all := table[0]; all.frosts.rmse() > frosts || all.lowest.rmse() > lowest {
		t.Errorf("frost days %v: want %v at most; lowest minima %v: want %v at most", &all.frosts, frosts, &all.lowest, lowest)
	}
}

var monthOfDay = func() (out [365]int) {
	for k := range out {
		out[k] = int((NewDate(2001, 1, 1) + Date(k)).Month()) - 1
	}
	return out
}()

func swingOf(n *Normals) float64 {
	coldest, warmest := math.Inf(1), math.Inf(-1)
	for m := range 12 {
		v := (n.Tmin[m] + n.Tmax[m]) / 2
		coldest, warmest = min(coldest, v), max(warmest, v)
	}
	return warmest - coldest
}
