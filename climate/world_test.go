package climate

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"
)

// sums gather errors.
type sums struct {
	n, sum, squares float64
	sizes           []float64
}

func (s *sums) add(v float64) {
	if !math.IsNaN(v) {
		s.n++
		s.sum += v
		s.squares += v * v
		s.sizes = append(s.sizes, math.Abs(v))
	}
}

func (s *sums) rmse() float64 { return math.Sqrt(s.squares / max(s.n, 1)) }
func (s *sums) bias() float64 { return s.sum / max(s.n, 1) }

// trimmed is the root mean square without the worst two in a hundred.
func (s *sums) trimmed() float64 {
	slices.Sort(s.sizes)
	var out sums
	for _, v := range s.sizes[:len(s.sizes)*98/100] {
		out.add(v)
	}
	return out.rmse()
}

// quantile is that of the sizes of the errors.
func (s *sums) quantile(p float64) float64 {
	slices.Sort(s.sizes)
	return s.sizes[int(p*float64(len(s.sizes)-1))]
}

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

// generatorTable compares generated years with what was counted, by climate.
type generatorTable []struct {
	stations, frosts, lowest, year sums
	worst                          []strayed // of the first group: all that have a lowest minimum
	last, first                    [3]sums   // frost, days, at about the 10, 50 and 90 % days
}

// strayed is a station's lowest minimum, and how far made years are above it, C.
type strayed struct {
	name        string
	lowest, off float64
}

func newGeneratorTable() generatorTable { return make(generatorTable, len(climateGroups)) }

// add makes years from the normals of a station, and counts their frosts: ten times thirty
// years, as the table's lowest minima are of one time thirty.
func (g generatorTable) add(t *testing.T, s *stationNormals) {
	t.Helper()
	const lots, years = 10, 30
	c, err := s.n.Cycle(s.site)
	if err != nil {
		t.Fatal(err)
	}
	if math.IsNaN(s.frosts[0]) && math.IsNaN(s.lowest[0]) {
		return
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
	for i := range climateGroups {
		if !climateGroups[i].is(s, swing) {
			continue
		}
		g[i].stations.add(0)
		for m := range 12 {
			g[i].frosts.add(frosts[m] - s.frosts[m])
			g[i].lowest.add(lowest[m] - s.lowest[m])
		}
		for k, left := range frostsLeft {
			south := s.site.Southern()
			g[i].last[k].add(frostDay(&s.frosts, south, true, left) - frostDay(&frosts, south, true, left))
			g[i].first[2-k].add(frostDay(&frosts, south, false, left) - frostDay(&s.frosts, south, false, left))
		}
		off := year - slices.Min(s.lowest[:]) // NaN where a month lacks
		g[i].year.add(off)
		if i == 0 && !math.IsNaN(off) {
			g[0].worst = append(g[0].worst, strayed{s.site.Name + ", " + s.country, slices.Min(s.lowest[:]), off})
		}
	}
}

func (g generatorTable) String() string {
	var b strings.Builder
	fmt.Fprintf(&b, "%-40s %8s  %-27s %-27s %-27s %s\n", "RMSE and bias", "stations", "frost days a month", "lowest of a month, C", "of all thirty years, C", "without the worst 2 %")
	for i := range g {
		v := &g[i]
		fmt.Fprintf(&b, "%-40s %8.0f  %-27v %-27v %-27v %.2f\n", climateGroups[i].name, v.stations.n, &v.frosts, &v.lowest, &v.year, v.year.trimmed())
	}
	fmt.Fprintf(&b, "\n%-40s %-24s %-24s %-24s %s\n", "days of frost, from the counts", "last, 10 % day", "50 %", "90 %", "first: 10, 50, 90 %")
	for i := range g {
		fmt.Fprintf(&b, "%-40s", climateGroups[i].name)
		for _, v := range append(g[i].last[:], g[i].first[:]...) {
			fmt.Fprintf(&b, " %-24v", &v)
		}
		b.WriteByte('\n')
	}
	slices.SortFunc(g[0].worst, func(a, b strayed) int { return cmp.Compare(math.Abs(b.off), math.Abs(a.off)) })
	var share float64
	fmt.Fprintf(&b, "\nfarthest from the lowest of all thirty years:")
	for _, s := range g[0].worst[:min(20, len(g[0].worst))] {
		share += s.off * s.off / g[0].year.squares
		fmt.Fprintf(&b, " %s %.1f (%+.1f);", s.name, s.lowest, s.off)
	}
	fmt.Fprintf(&b, " of %d stations these twenty have %.0f %% of the squares.\n", len(g[0].worst), 100*share)
	fmt.Fprintf(&b, "80 %% of median last frosts within %.1f days, of first frosts within %.1f.\n", g[0].last[1].quantile(0.8), g[0].first[1].quantile(0.8))
	return b.String()
}

// TestGeneratorOfTheWorld makes years from the normals of every station and
// compares their frosts with those counted there. Source of the counts: WMO
// Climatological Normals 1991-2020. With -fit it takes every station, not every
// fourth. TestSpreadFit prints the same where nothing was fitted.
func TestGeneratorOfTheWorld(t *testing.T) {
	every := 4
	if *fit {
		every = 1
	}
	table := newGeneratorTable()
	for i, s := range worldNormals(t) {
		if i%every == 0 {
			table.add(t, &s)
		}
	}
	t.Logf("\n%s", table)
	for g := range table {
		v := &table[g]
		if *fit && v.stations.n > 100 && (math.Abs(v.frosts.bias()) > 0.2 || math.Abs(v.lowest.bias()) > 0.5 || math.Abs(v.year.bias()) > 0.7) {
			t.Errorf("%s: frost days %v, lowest minima %v, of all months %v: want no bias", climateGroups[g].name, &v.frosts, &v.lowest, &v.year)
		}
	}
	frosts, lowest := 1.5, 2.6 // a quarter of the stations scatters
	if *fit {
		frosts, lowest = 1.4, 2.5
	}
	if all := &table[0]; all.frosts.rmse() > frosts || all.lowest.rmse() > lowest || all.year.rmse() > lowest {
		t.Errorf("frost days %v: want %v at most; lowest minima %v, of all months %v: want %v at most", &all.frosts, frosts, &all.lowest, &all.year, lowest)
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
