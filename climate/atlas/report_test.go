package atlas

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"
	"testing"
)

// left is what is left at one station when the surface is made without it.
type left struct {
	*station
	months [components]float64 // true less fitted, C
	band   float64             // half the stated band, C
	km     float64             // to the nearest station fitted
}

// report measures the surface as it is embedded.
func (f *fitting) report(t *testing.T, size int) string {
	var b strings.Builder
	p := func(format string, args ...any) { fmt.Fprintf(&b, format, args...) }
	p("The climate surface, measured at stations that it was made without.\n")
	p("Table: %s: %d stations.\n", published, len(f.all))
	p("surface.bin %d bytes, coast.bin %d bytes.\n\n", size, len(coastFile))

	// Leaving a station out of the process is exact; what the file's grid and
	// rounding add is measured at the same station, and added to what is left.
	var one, wrong []left
	var lost []float64
	good := map[*station]bool{}
	for i, s := range f.process.stations {
		good[s] = true
		months, ok := f.surface.months(&s.spot)
		if !ok {
			t.Fatalf("%s: outside the grid", s.name)
		}
		l := f.judge(s, true)
		for m := range months {
			exact := s.y[m] - noise*noise*f.process.alpha.At(i, m) // y less its residual
			l.months[m] = f.left[s][m] + exact - months[m]
			lost = append(lost, exact-months[m])
		}
		one = append(one, l)
	}
	for _, s := range f.all {
		if f.notMeans[s] {
			wrong = append(wrong, f.unseen(s))
		}
	}
	var strays []left
	for _, s := range f.strays {
		strays = append(strays, f.unseen(s))
	}
	scored := append(slices.Clone(one), strays...)
	var common, sum float64
	for _, l := range one {
		for _, half := range [][]float64{l.months[:12], l.months[12:]} {
			common += mean(half) * mean(half)
			sum += rms(half) * rms(half)
		}
	}
	p("What the twelve months of a station have in common is %.2f of the mean square of what is left.\n", common/sum)
	p("What the file's grid and rounding add: root mean square %.3f C.\n\n", rms(lost))
	p("LEAVING SINGLE STATIONS OUT. All: every station of the table but the %d that do not report means of\n", len(wrong))
	p("daily extremes, those not fitted for other reasons (%d) included. Trimmed: without the worst 1 %% of station-months.\n", len(strays))
	p("%-46s %6s %6s %7s %7s %7s %8s\n", "C", "n", "all", "trimmed", "median", "bias", "in band")
	row := func(name string, of []left, take func(m int) bool) {
		if len(of) > 0 {
			p("%-46s %6d %s\n", name, len(of), figures(of, take))
		}
	}
	every := func(int) bool { return true }
	row("all 24 months", scored, every)
	row("tmin", scored, func(m int) bool { return m < 12 })
	row("tmax", scored, func(m int) bool { return m >= 12 })
	row("25 to 60 N", filter(scored, middleNorth), every)
	row("fitted stations only", one, every)
	p("Fitted as above, and every row of the table counted as if it were right:\n")
	row("every row of the table, whatever it holds", append(slices.Clone(scored), wrong...), every)
	row("every row between 25 and 60 N", filter(append(slices.Clone(scored), wrong...), middleNorth), every)
	p("Every row fitted too, exact, without file:\n")
	for _, fit := range []struct {
		name      string
		countries bool
	}{{"those astray count less", false}, {"and odd countries have their own departure", true}} {
		of := fitEverything(t, f.all, fit.countries).leftOut()
		row("  "+fit.name, of, every)
		row("    between 25 and 60 N", filter(of, middleNorth), every)
		row("    the "+fmt.Sprint(len(wrong))+" that are set apart above", filter(of, func(l *left) bool { return f.apart(l.id) }), every)
	}
	p("By climate, of the first kind:\n")
	for _, kind := range kinds {
		row(kind.name, filter(scored, kind.is), every)
	}
	p("\nBY DISTANCE TO THE NEAREST STATION FITTED\n")
	f.byDistance(row, scored)

	p("\nLEAVING BLOCKS OUT: all stations of a block of %v degrees of latitude and as wide, at once.\n", blockSide)
	p("Without the file's rounding.\n")
	blocks := append(f.blocks(), strays...)
	row("all 24 months", blocks, every)
	row("25 to 60 N", filter(blocks, middleNorth), every)
	f.byDistance(row, blocks)

	p("\nNEVER FITTED: MEANS OF MONTHLY EXTREMES, OR WORSE, INSTEAD OF MEANS OF DAILY ONES\n")
	countries := map[string]int{}
	for s := range f.notMeans {
		countries[s.country]++
	}
	for _, c := range slices.Sorted(maps.Keys(countries)) {
		p("%s: %d stations\n", c, countries[c])
	}
	p("\nNEVER FITTED: WRONG, OR UNLIKE ALL AROUND THEM (more than %v standard errors; the first are the worst)\n", strayed)
	for _, l := range strays {
		p("%-20s %-30.30s %7.2f %8.2f %5.0f m  rms %4.1f C, tmin %+5.1f, tmax %+5.1f\n", l.id, l.name, l.lat, l.lon, l.h*1000,
			rms(l.months[:]), mean(l.months[:12]), mean(l.months[12:]))
	}
	p("\nSINGLE MONTHS NOT FITTED\n")
	for _, s := range f.slips {
		p("%s\n", s)
	}
	return b.String()
}

// apart reports whether a station is one of those that are not means.
func (f *fitting) apart(id string) bool {
	for s := range f.notMeans {
		if s.id == id {
			return true
		}
	}
	return false
}

// judge states the error of a station as if it were not there.
func (f *fitting) judge(s *station, leave bool) left {
	var skip func(*centre) bool
	if leave {
		skip = func(c *centre) bool { return c.spot == s.spot }
	}
	se, km := f.surface.spread(&s.spot, skip)
	return left{station: s, band: band80 * se, km: km}
}

// unseen judges a station that was not fitted.
func (f *fitting) unseen(s *station) left {
	l := f.judge(s, false)
	months, ok := f.surface.months(&s.spot)
	for m := range months {
		l.months[m] = s.y[m] - months[m]
		if !ok {
			l.months[m] = math.NaN()
		}
	}
	return l
}

const blockSide = 2.5

func (f *fitting) blocks() (out []left) {
	blocks := map[[2]int][]int{}
	for i, s := range f.process.stations {
		row := int(math.Floor(s.lat / blockSide))
		wide := blockSide / math.Cos((float64(row)+0.5)*blockSide*math.Pi/180)
		k := [2]int{row, int(math.Floor(s.lon / wide))}
		blocks[k] = append(blocks[k], i)
	}
	for _, block := range blocks {
		gone := map[spot]bool{}
		for _, i := range block {
			gone[f.process.stations[i].spot] = true
		}
		for k, months := range f.process.without(block) {
			s := f.process.stations[block[k]]
			se, km := f.surface.spread(&s.spot, func(c *centre) bool { return gone[c.spot] })
			out = append(out, left{s, months, band80 * se, km})
		}
	}
	slices.SortFunc(out, func(a, b left) int { return strings.Compare(a.id+a.name, b.id+b.name) })
	return out
}

func (f *fitting) byDistance(row func(string, []left, func(int) bool), of []left) {
	edges := []float64{0, 20, 50, 100, 200, 400, math.Inf(1)}
	for k := range len(edges) - 1 {
		row(fmt.Sprintf("%v to %v km", edges[k], edges[k+1]), filter(of, func(l *left) bool { return l.km >= edges[k] && l.km < edges[k+1] }), func(int) bool { return true })
	}
}

func filter(of []left, is func(*left) bool) (out []left) {
	for i := range of {
		if is(&of[i]) {
			out = append(out, of[i])
		}
	}
	return out
}

func middleNorth(l *left) bool { return l.lat >= 25 && l.lat <= 60 }

// kinds are groups of stations by climate.
var kinds = []struct {
	name string
	is   func(*left) bool
}{
	{"tropics, below 23.5 degrees", func(l *left) bool { return math.Abs(l.lat) < 23.5 }},
	{"southern, beyond 23.5 S", func(l *left) bool { return l.lat <= -23.5 }},
	{"north of 60 N", func(l *left) bool { return l.lat > 60 }},
	{"by the sea, to 20 km", func(l *left) bool { return l.inland < math.Log1p(1)/3 }},
	{"far inland, beyond 400 km", func(l *left) bool { return l.inland > math.Log1p(20)/3 }},
	{"above 1500 m", func(l *left) bool { return l.h > 1.5 }},
}

// figures are all, trimmed, median, bias and the share in the band.
func figures(of []left, take func(int) bool) string {
	var size []float64
	sum, in := 0.0, 0
	for _, l := range of {
		for m, v := range l.months {
			if !take(m) {
				continue
			}
			size = append(size, math.Abs(v))
			sum += v
			if math.Abs(v) <= l.band {
				in++
			}
		}
	}
	slices.Sort(size)
	n := len(size)
	return fmt.Sprintf("%6.2f %7.2f %7.2f %+7.2f %6.1f %%", rms(size), rms(size[:n*99/100]), size[n/2], sum/float64(n), 100*float64(in)/float64(n))
}

func mean(v []float64) (sum float64) {
	for _, x := range v {
		sum += x / float64(len(v))
	}
	return sum
}
