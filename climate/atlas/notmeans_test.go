package atlas

import (
	"fmt"
	"maps"
	"math"
	"os"
	"slices"
	"strings"
	"testing"
)

// evidence is what speaks for or against a group of stations reporting means of
// daily extremes; NaN where they do not report what it takes.
type evidence struct {
	n              int
	inside, across float64 // mean daily range, C, and that of the five nearest stations of other countries
	middle, half   float64 // departure from the surface, C: of the middle of minimum and maximum, and of half the range
	same           float64 // how far single stations and months stray from that departure of half the range, C
	frost          float64 // the minimum reported less the one that the frost days of the same month go with, C
	lowest         float64 // how far the lowest minimum of thirty years lies below the mean, C, in months whose mean minimum is below -5 C
}

func gather(all []*station, in func(*station) bool) evidence {
	var e evidence
	var mid, half, frost, lowest, inside, across []float64
	for _, s := range all {
		if !in(s) {
			continue
		}
		e.n++
		inside = append(inside, s.dailyRange())
		across = append(across, acrossBorder(all, s)...)
		if at, ok := theSurface().months(&s.spot); ok {
			for m := range 12 {
				lo, hi := s.y[m]-at[m], s.y[12+m]-at[12+m]
				mid, half = append(mid, (lo+hi)/2), append(half, (hi-lo)/2)
			}
		}
		for m := range 12 {
			frost = append(frost, s.offFrosts(m))
			if s.y[m] < -5 {
				lowest = append(lowest, s.y[m]-s.lowest[m])
			}
		}
	}
	e.inside, e.across, e.middle, e.half = known(inside), known(across), known(mid), known(half)
	e.frost, e.lowest = known(frost), known(lowest)
	for i := range half {
		half[i] -= e.half
	}
	e.same = rms(half)
	return e
}

// known is the mean of what is not NaN.
func known(v []float64) float64 {
	return mean(slices.DeleteFunc(slices.Clone(v), math.IsNaN)) / min(1, float64(len(slices.DeleteFunc(slices.Clone(v), math.IsNaN))))
}

// acrossBorder returns the daily ranges of the five nearest stations of other
// countries whose stations do report means.
func acrossBorder(all []*station, s *station) (out []float64) {
	odd := oddCountries(all)
	abroad := slices.DeleteFunc(slices.Clone(all), func(o *station) bool {
		return o.country == s.country || odd[o.country] || apart(s.p, o.p) > 1000
	})
	slices.SortFunc(abroad, func(a, b *station) int {
		if apart(a.p, s.p) < apart(b.p, s.p) {
			return -1
		}
		return 1
	})
	for _, o := range abroad[:min(5, len(abroad))] {
		out = append(out, o.dailyRange())
	}
	return out
}

// offFrosts returns the mean minimum of a month less the one that goes with its
// frost days where single days stray by 4.5 C: of months that have some days with
// frost and some without. NaN for others.
func (s *station) offFrosts(m int) float64 {
	const spread, few, days = 4.5, 3, 30.4
	if !(s.frosts[m] >= few && s.frosts[m] <= days-few) {
		return math.NaN()
	}
	share := s.frosts[m] / days
	return s.y[m] + spread*math.Sqrt2*math.Erfinv(2*share-1)
}

// TestNotMeans gathers, from the table itself, what speaks for the stations that are
// set apart reporting means of the extremes of each month where means of daily ones
// belong. With -update it writes testdata/notmeans.txt.
func TestNotMeans(t *testing.T) {
	all := stations(t)
	set := notMeans(all)
	countries := map[string]bool{}
	for s := range set {
		countries[s.country] = true
	}
	odd := oddCountries(all)
	var b strings.Builder
	fmt.Fprintf(&b, `What speaks for the %d stations that are set apart reporting means of the extremes of each month.
Table: %s.
range: mean daily range; across: that of the five nearest stations of other countries. middle, half: how far the
middle of minimum and maximum, and half the range, depart from the surface made without them; same: how far single
stations and months stray from the latter. frost: the mean minimum less the one that goes with the frost days of the
same month. lowest: how far the lowest minimum of thirty years lies below the mean one, in months below -5 C. Means of monthly
extremes lie some two standard deviations of single days, 6 to 10 C, outside those of daily ones, alike in all
stations and months, while their middle stays; and their lowest of thirty years lies nearer.

C                                        n   range  across  middle    half    same   frost  lowest
`, len(set), published)
	row := func(name string, e evidence) {
		fmt.Fprintf(&b, "%-36s %5d", name, e.n)
		for _, v := range []float64{e.inside, e.across, e.middle, e.half, e.same, e.frost, e.lowest} {
			if math.IsNaN(v) {
				fmt.Fprintf(&b, " %7s", "-")
			} else {
				fmt.Fprintf(&b, " %7.1f", v)
			}
		}
		fmt.Fprintln(&b)
	}
	for _, c := range slices.Sorted(maps.Keys(countries)) {
		e := gather(all, func(s *station) bool { return set[s] && s.country == c })
		row(c, e)
		if !odd[c] {
			for s := range set {
				if s.country == c && !(s.dailyRange() > widestRange) {
					t.Errorf("%s of %s is set apart for nothing", s.name, c)
				}
			}
			continue
		}
		if e.inside < e.across+6 || e.half < 3 || math.Abs(e.middle) > e.half/2 || e.same > e.half {
			t.Errorf("%s: %+v does not speak for means of monthly extremes", c, e)
		}
	}
	world := gather(all, func(s *station) bool { return !set[s] && math.Abs(s.lat) > 35 && math.Abs(s.lat) < 60 })
	row("all others of 35 to 60 degrees", world)
	if m := gather(all, func(s *station) bool { return s.country == "Mongolia" }); m.frost > -5 || m.lowest > world.lowest-4 || math.Abs(world.frost) > 1.5 {
		t.Errorf("Mongolia's frosts %+v against %+v elsewhere do not speak for means of monthly extremes", m, world)
	}
	t.Log("\n" + b.String())
	const path = "testdata/notmeans.txt"
	if *update {
		write(t, path, []byte(b.String()))
		return
	}
	have, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if string(have) != b.String() {
		t.Errorf("%s is not what the table gives: run with -update and read the difference", path)
	}
}
