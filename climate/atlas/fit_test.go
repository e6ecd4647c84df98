package atlas

import (
	"bytes"
	"fmt"
	"math"
	"slices"
	"testing"
)

// strayed is how many standard errors a station may stray before it is taken for
// wrong, or for so unlike its surroundings that it would mislead about them.
const strayed = 3.5

// TestSurfaceFit fits the surface to the table of normals, which is read in place,
// and measures what it is worth at stations that it was made without:
//
//	go test ./climate/atlas -run SurfaceFit -fit -v
//
// With -update it writes surface.bin and the report, testdata/surface.txt, as well.
func TestSurfaceFit(t *testing.T) {
	if !*fit && !*update {
		t.Skip("takes two minutes: run with -fit")
	}
	all := stations(t)
	f := newFitting(t, all)
	text, err := writeSurface(f.surface)
	if err != nil {
		t.Fatal(err)
	}
	if f.surface, err = readSurface(text, theCoast()); err != nil {
		t.Fatal(err)
	}
	report := f.report(t, len(text))
	t.Log("\n" + report)
	if *update {
		write(t, "surface.bin", text)
		write(t, "testdata/surface.txt", []byte(report))
	} else if !bytes.Equal(text, surfaceFile) {
		t.Error("surface.bin is not what the table gives: run with -update, and read the difference of testdata/surface.txt")
	}
	if len(text) > 700_000 {
		t.Errorf("surface.bin has %d bytes: want 700,000 at most, with coast.bin", len(text)+len(coastFile))
	}
}

// fitting is a surface with what is known of it.
type fitting struct {
	all      []*station
	notMeans map[*station]bool
	process  *process
	surface  *surface
	strays   []*station
	slips    []string
	left     map[*station][components]float64 // true less fitted, without the station
}

func newFitting(t *testing.T, all []*station) *fitting {
	f := &fitting{all: all, notMeans: notMeans(all), left: map[*station][components]float64{}}
	var kept []*station
	for _, s := range all {
		if !f.notMeans[s] {
			kept = append(kept, s)
		}
	}
	first := fitProcess(t, kept)
	bad := map[int]bool{}
	for _, i := range first.strays(strayed) {
		bad[i] = true
		f.strays = append(f.strays, kept[i])
	}
	good := make([]*station, 0, len(kept))
	for i, s := range kept {
		if !bad[i] {
			good = append(good, s)
		}
	}
	// Single months that are slips of the pen are replaced by what the stations
	// around say, with the departure that is usual for the station.
	for i, s := range kept {
		if bad[i] {
			continue
		}
		stray := first.without([]int{i})[0]
		fixed, slips := *s, len(f.slips)
		for m := range stray {
			about := make([]float64, 0, 4)
			for _, k := range []int{10, 11, 1, 2} {
				about = append(about, stray[m/12*12+(m+k)%12])
			}
			slices.Sort(about)
			usual := (about[1] + about[2]) / 2
			if off := stray[m] - usual; math.Abs(off) > slip {
				f.slips = append(f.slips, fmt.Sprintf("%s %s: %s of month %d given as %.1f, about %.1f expected",
					s.id, s.name, []string{"tmin", "tmax"}[m/12], m%12+1, s.y[m], s.y[m]-off))
				fixed.y[m] -= off
			}
		}
		if len(f.slips) > slips {
			good[slices.Index(good, s)] = &fixed
		}
	}
	f.process = fitProcess(t, good)
	f.surface = f.process.surface(t)
	for i, s := range good {
		f.left[s] = f.process.without([]int{i})[0]
	}
	f.roughness()
	return f
}

// slip is how far a single month may stray from the two before and after it, C,
// both against what the stations about it say.
const slip = 6

// roughness sets how rough the country is about each centre: the root mean square of
// what is left at the station when it is left out, over what is stated.
func (f *fitting) roughness() {
	at := map[spot]int{}
	for i := range f.surface.centres {
		f.surface.centres[i].rough = 1
		at[f.surface.centres[i].spot] = i
	}
	rough := make([]float64, len(f.surface.centres))
	for s, left := range f.left {
		i := at[s.spot]
		se, _ := f.surface.spread(&s.spot, func(c *centre) bool { return c.spot == s.spot })
		rough[i] = min(rms(left[:])/se, 5)
	}
	for i, r := range rough {
		f.surface.centres[i].rough = r
	}
}

func rms(v []float64) float64 {
	sum := 0.0
	for _, x := range v {
		sum += x * x
	}
	return math.Sqrt(sum / float64(max(len(v), 1)))
}

// TestSurfaceFitWithout makes the whole surface, screening and file included,
// without every fifteenth station, and measures it there: the figures of
// TestSurfaceFit come from the inverse of the covariance, this is the long way.
func TestSurfaceFitWithout(t *testing.T) {
	if !*fit {
		t.Skip("takes a minute: run with -fit")
	}
	var of, out []*station
	for i, s := range stations(t) {
		if i%15 == 7 {
			out = append(out, s)
		} else {
			of = append(of, s)
		}
	}
	f := newFitting(t, of)
	text, err := writeSurface(f.surface)
	if err != nil {
		t.Fatal(err)
	}
	if f.surface, err = readSurface(text, theCoast()); err != nil {
		t.Fatal(err)
	}
	bad := notMeans(append(out, of...))
	var seen []left
	for _, s := range out {
		if bad[s] {
			continue
		}
		if l := f.unseen(s); math.IsNaN(l.months[0]) {
			t.Logf("%s: the surface does not reach so far", s.name)
		} else {
			seen = append(seen, l)
		}
	}
	every := func(int) bool { return true }
	t.Logf("%d stations left out of everything: all, trimmed, median, bias, in band: %s", len(seen), figures(seen, every))
	t.Logf("25 to 60 N: %s", figures(filter(seen, middleNorth), every))

	all := fitEverything(t, of, true)
	odd := oddCountries(of)
	same := fitEverything(t, append(slices.Clone(of), out...), true).leftOut()[len(of):] // the short way
	t.Logf("every row, from the inverse of the covariance: %s", figures(same, every))
	t.Logf("25 to 60 N: %s", figures(filter(same, middleNorth), every))
	seen = nil
	for _, s := range out {
		row := *s
		if odd[s.country] {
			row.odd = s.country
		}
		l := left{station: s, months: all.at(&row), band: math.NaN()}
		for m, v := range l.months {
			l.months[m] = s.y[m] - v
		}
		seen = append(seen, l)
	}
	t.Logf("every row, fitted and judged: %s", figures(seen, every))
	t.Logf("25 to 60 N: %s", figures(filter(seen, middleNorth), every))
}
