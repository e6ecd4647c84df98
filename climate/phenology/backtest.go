package phenology

import (
	"errors"
	"fmt"
	"runtime"
	"slices"
	"sync"
	"sync/atomic"

	"budswell/climate"
)

// Trial is a past to be forecast: the weather of a place and what was seen there
// of one phase.
type Trial struct {
	Site      climate.Site
	Record    *climate.Record // daily weather, with its gaps
	Sightings []Sighting
	Phase     Phase // sightings of other phases are passed over
	Leads     []int // days before the usual date of a species, 1 to 300

	// NoLatitude says that Site.Lat is not known but for its sign: curves with day
	// length are left out.
	NoLatitude bool

	// Progress, where set, is told how many springs of how many have been judged.
	Progress func(done, of int)
}

// fewestSprings is how many springs a back-test wants: fewer leave nothing to
// learn from.
const fewestSprings = 4

// bench is a trial made ready.
type bench struct {
	Trial
	stand  *stand
	names  struct{ species, trees []string }
	years  []int // of the springs
	whole  []int // seasons that the record covers
	curves []curve
	prior  []float64
	days   int // of a season that are looked at
	early  *climate.Record
	passed int // sightings passed over
}

// prepare checks the trial and lays out its rows.
func (t Trial) prepare() (*bench, error) {
	if t.Record == nil || len(t.Record.Days) == 0 {
		return nil, errors.New("backtest: want a weather record")
	}
	for _, l := range t.Leads {
		if l < 1 || l > 300 {
			return nil, fmt.Errorf("backtest: lead %d: want 1 to 300 days", l)
		}
	}
	b := &bench{Trial: t}
	// Chill is counted from before the first season, so that a record which starts
	// with it is led in by days that were not read.
	b.early = &climate.Record{Source: t.Record.Source, First: t.Record.First - winterDays - 1}
	b.early.Days = append(make([]climate.Day, winterDays+1), t.Record.Days...)
	b.whole = t.Record.Seasons(t.Site)
	if err := b.lay(); err != nil {
		return nil, err
	}
	for k, c := range loadPriors().curves {
		if !t.NoLatitude || c.P == 0 {
			b.curves = append(b.curves, loadPriors().curves[k])
			b.prior = append(b.prior, c.Weight)
		}
	}
	return b, nil
}

// lay makes rows of the sightings.
func (b *bench) lay() error {
	type key struct {
		tree string
		year int
	}
	first := map[key]Sighting{}
	springs := map[int]int{}
	for _, s := range b.Sightings {
		if s.Phase != b.Phase || !s.On.Valid() {
			continue
		}
		year := b.Site.Season(s.On)
		if b.Record.First > b.Site.SeasonStart(year)+31 || s.On > b.Record.Last() {
			b.passed++ // the spring's weather is not known
			continue
		}
		k := key{s.Tree, year}
		if old, ok := first[k]; !ok || s.On < old.On {
			first[k] = s
		}
	}
	for k := range first {
		springs[k.year]++
	}
	for y := range springs {
		b.years = append(b.years, y)
	}
	slices.Sort(b.years)
	if len(b.years) < fewestSprings {
		return fmt.Errorf("backtest: %d springs of %s with their weather: want %d at least", len(b.years), b.Phase, fewestSprings)
	}
	others := len(b.whole)
	if slices.Contains(b.whole, b.years[0]) {
		others--
	}
	if others < fewestSprings-1 {
		return fmt.Errorf("backtest: the weather record %q covers %d whole seasons: want %d at least", b.Record.Source, len(b.whole), fewestSprings)
	}
	species, trees := map[string]bool{}, map[string]bool{}
	for _, s := range first {
		species[s.Species], trees[s.Tree] = true, true
	}
	b.names.species, b.names.trees = sortedKeys(species), sortedKeys(trees)
	var rows []standRow
	for k, s := range first {
		sp, _ := slices.BinarySearch(b.names.species, s.Species)
		tr, _ := slices.BinarySearch(b.names.trees, k.tree)
		y, _ := slices.BinarySearch(b.years, k.year)
		day := int(s.On - b.Site.SeasonStart(k.year))
		rows = append(rows, standRow{sp, tr, y, float64(day)})
		b.days = max(b.days, day)
	}
	b.days = min(max(200, b.days+70), 365)
	b.stand = newStand(rows)
	return nil
}

// ground is the weather that a spring is judged with: every other season, none
// filled or shifted by anything of the spring itself.
type ground struct {
	bench   *bench
	target  int // index of the spring
	cycle   *climate.Cycle
	filled  *climate.Record
	springs []weather // of all springs, the target's among them
	others  []weather // of all whole seasons but the target's, as they were
	shifted []weather // and shifted to the climate of the target's time
	hours   []float64

	chillSprings, chillOthers, chillShifted []course
}

// ground prepares to judge a spring; none when target is negative.
func (b *bench) ground(target int) (*ground, error) {
	site := b.Site
	year := b.years[len(b.years)-1] + 1
	if target >= 0 {
		year = b.years[target]
	}
	start, end := site.SeasonStart(year), site.SeasonStart(year+1)-1
	without := b.early.Without(start, end)
	cycle, err := without.Cycle()
	if err != nil {
		return nil, fmt.Errorf("backtest: %w", err)
	}
	g := &ground{bench: b, target: target, cycle: cycle, filled: b.early.Fill(cycle)}
	season := func(y int) (weather, error) {
		s := site.SeasonStart(y)
		n := min(b.days, int(b.Record.Last()-s)+1)
		m, ok := g.filled.Series(s-winterDays, winterDays+n)
		if !ok {
			return weather{}, fmt.Errorf("backtest: season %d: its weather is not known", y)
		}
		return weather{lat: site.Lat, start: s, n: n, tmin: m.Tmin, tmax: m.Tmax}, nil
	}
	for _, y := range b.years {
		w, err := season(y)
		if err != nil {
			return nil, err
		}
		g.springs = append(g.springs, w)
		g.chillSprings = append(g.chillSprings, w.chill())
	}
	var donors []int
	for _, y := range b.whole {
		if y != year {
			donors = append(donors, y)
		}
	}
	shifts := g.filled.Shifts(site, donors, year)
	for i, y := range donors {
		w, err := season(y)
		if err != nil {
			return nil, err
		}
		g.others = append(g.others, w)
		g.chillOthers = append(g.chillOthers, w.chill())
		s := w
		s.tmin, s.tmax = slices.Clone(w.tmin), slices.Clone(w.tmax)
		for k := range s.tmin {
			half := 0
			if w.start-winterDays+climate.Date(k) >= site.Midsummer(y) {
				half = 1
			}
			s.tmin[k], s.tmax[k] = shifts[i].On(half, s.tmin[k], s.tmax[k])
		}
		g.shifted = append(g.shifted, s)
		g.chillShifted = append(g.chillShifted, s.chill())
	}
	g.hours = lengths(site.Lat, start, b.days)
	return g, nil
}

// forcingOf sums one curve over seasons; rates are used again when the curve
// before responded alike.
func (g *ground) forcingOf(c *curve, fresh bool, ws []weather, chill []course, rates [][]float64, out []course, dayWeights []float64) {
	for d := range dayWeights {
		dayWeights[d] = c.dayWeight(d, g.hours[d])
	}
	for i := range ws {
		n := ws[i].days()
		if fresh {
			ws[i].rates(c, rates[i][:n])
		}
		out[i] = out[i][:n]
		c.sum(rates[i][:n], dayWeights, chill[i], out[i])
	}
}

// buffers for the seasons of a ground.
func buffers(n, days int) (rates [][]float64, sums []course) {
	rates, sums = make([][]float64, n), make([]course, n)
	for i := range rates {
		rates[i], sums[i] = make([]float64, days), make(course, days)
	}
	return rates, sums
}

// judge runs all curves over the springs.
func (g *ground) judge(out int) *judged {
	b := g.bench
	n := len(b.curves)
	j := newJudged(n, len(b.stand.rows))
	var next atomic.Int64
	var wait sync.WaitGroup
	const batch = 8 // curves that respond alike stand together
	for range runtime.GOMAXPROCS(0) {
		wait.Go(func() {
			e := newEffects(b.stand)
			x := make([]float64, len(b.stand.rows))
			ratesA, sumsA := buffers(len(g.springs), b.days)
			ratesB, sumsB := buffers(len(g.others), b.days)
			weights := make([]float64, b.days)
			clocks := make([]gauge, len(g.springs))
			for i := range clocks {
				clocks[i] = make(gauge, g.springs[i].days())
			}
			for {
				from := int(next.Add(batch)) - batch
				if from >= n {
					return
				}
				for k := from; k < min(from+batch, n); k++ {
					c := &b.curves[k]
					fresh := k == from || !c.respondsAs(&b.curves[k-1])
					g.forcingOf(c, fresh, g.springs, g.chillSprings, ratesA, sumsA, weights)
					g.forcingOf(c, fresh, g.others, g.chillOthers, ratesB, sumsB, weights)
					typical := mean(sumsB)
					for i := range clocks {
						clear(clocks[i])
						typical.addClock(clocks[i], sumsA[i], 1)
					}
					j.judge(k, e, clocks, x, g.target, out)
				}
			}
		})
	}
	wait.Wait()
	return j
}
