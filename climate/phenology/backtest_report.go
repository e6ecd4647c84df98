package phenology

import "math"

// Score is how good forecasts of dates were.
type Score struct {
	N          int
	RMSE       float64   // of the median, days
	Bias       float64   // mean of forecast less seen, days
	CRPS       float64   // continuous ranked probability score, days
	Coverage80 float64   // share inside the 10 to 90 % interval, 0 to 1
	Ranks      []float64 // share of the distribution before the day seen, case by case
}

// Lead is how good forecasts were that many days before the usual date of the
// species. Closed are the same forecasts of plants that had not come by then, told so.
type Lead struct {
	Days     int
	Score    Score
	Closed   Score
	Baseline Score
}

// Case is one phase of one tree in one spring as told from the other springs
// with the spring's weather.
type Case struct {
	Year          int
	Tree, Species string
	Told, Seen    float64 // days of the season, from 0
}

// Report is the outcome of a back-test.
type Report struct {
	Years    []int
	Passed   int // sightings passed over, since the weather of their spring is not known
	Hindcast Score
	Baseline Score // the mean date of tree and species, on the same cases
	Leads    []Lead
	Cases    []Case
}

// tally adds up a score.
type tally struct {
	score   Score
	squares float64
	inside  float64
}

func (t *tally) add(miss, crps float64, inside bool, rank float64) {
	t.score.N++
	t.squares += miss * miss
	t.score.Bias += miss
	t.score.CRPS += crps
	if inside {
		t.inside++
	}
	t.score.Ranks = append(t.score.Ranks, rank)
}

// dates adds a distribution of dates, or of the day told instead of its median.
func (t *tally) dates(f dates, seen, told float64) {
	t.add(told-seen, f.crps(seen), f.quantile(0.1) <= seen && seen <= f.quantile(0.9), f.at(seen))
}

func (t *tally) done() Score {
	s := t.score
	n := math.Max(1, float64(s.N))
	s.RMSE, s.Coverage80 = math.Sqrt(t.squares/n), t.inside/n
	s.Bias /= n
	s.CRPS /= n
	return s
}

// Backtest forecasts each spring of the trial from the others, and scores it.
// Curves' weights, usual dates, spreads, the typical course of the place and the
// filling of gaps know nothing of the spring; its weather is told to the end for
// the hindcast, and up to the day of issue for the leads, after which the other
// seasons, before and after, take its place.
func Backtest(t Trial) (*Report, error) {
	b, err := t.prepare()
	if err != nil {
		return nil, err
	}
	r := &results{leads: make([]tally, len(t.Leads)), closed: make([]tally, len(t.Leads)), means: make([]tally, len(t.Leads))}
	for target := range b.years {
		if t.Progress != nil {
			t.Progress(target, len(b.years))
		}
		if err := b.judgeSpring(target, r); err != nil {
			return nil, err
		}
	}
	if t.Progress != nil {
		t.Progress(len(b.years), len(b.years))
	}
	out := &Report{Years: b.years, Passed: b.passed, Hindcast: r.hindcast.done(), Baseline: r.mean.done(), Cases: r.cases}
	for i, days := range t.Leads {
		out.Leads = append(out.Leads, Lead{days, r.leads[i].done(), r.closed[i].done(), r.means[i].done()})
	}
	return out, nil
}

type results struct {
	hindcast, mean       tally
	leads, closed, means []tally
	cases                []Case
}

// judgeSpring forecasts one spring.
func (b *bench) judgeSpring(target int, r *results) error {
	g, err := b.ground(target)
	if err != nil {
		return err
	}
	m, err := g.learn(g.judge(-1), -1)
	if err != nil {
		return err
	}
	usual := newMeanDate(b.stand, target)
	known := m.springs[target]
	ahead := map[int][]gauge{}
	for i := range b.stand.rows {
		row := &b.stand.rows[i]
		if row.spring != target || usual.dates.known[row.species] == 0 {
			continue
		}
		day, crps, inside, rank := usual.judge(row)
		r.mean.add(day-row.day, crps, inside, rank)
		told, _ := known.reach(m.usual(row).mean)
		alone := m.bud(i, noDay)
		r.hindcast.dates(alone.dates([]gauge{known}), row.day, told)
		r.cases = append(r.cases, Case{b.years[target], b.names.trees[row.tree], b.names.species[row.species], told, row.day})
		for k, lead := range b.Leads {
			issue := max(1, min(int(math.Round(usual.speciesMean[row.species]))-lead, known.last()))
			clocks, ok := ahead[issue]
			if !ok {
				clocks = m.continuations(issue)
				ahead[issue] = clocks
			}
			if clocks == nil {
				continue
			}
			bud := m.bud(i, issue)
			f := bud.dates(clocks)
			r.leads[k].dates(f, row.day, f.quantile(0.5))
			r.means[k].add(day-row.day, crps, inside, rank)
			if row.day > float64(issue) {
				f.closed(issue)
				r.closed[k].dates(f, row.day, f.quantile(0.5))
			}
		}
	}
	return nil
}

func (g gauge) last() int { return len(g) - 1 }

// meanDate is the baseline: the mean date of a tree and its species in the other
// springs, with a normal error.
type meanDate struct {
	dates       *effects
	speciesMean []float64 // plain, of the species
	sd          float64
}

// newMeanDate fits the mean dates of all springs but the target, as robustly as
// the clock, and its error from springs that were left out with it.
func newMeanDate(s *stand, target int) *meanDate {
	days := make([]float64, len(s.rows))
	sum, n := make([]float64, s.species), make([]float64, s.species)
	for i, r := range s.rows {
		days[i] = r.day
		if r.spring != target {
			sum[r.species] += r.day
			n[r.species]++
		}
	}
	for k := range sum {
		sum[k] /= max(1, n[k])
	}
	e := newEffects(s)
	squares, count := 0.0, 0.0
	for z := range s.springs {
		if z == target {
			continue
		}
		e.fit(days, target, z, -1)
		for i := range s.rows {
			if r := &s.rows[i]; r.spring == z {
				if v, ok := e.expect(r); ok {
					squares += (v - r.day) * (v - r.day)
					count++
				}
			}
		}
	}
	e.fit(days, target, -1, -1)
	return &meanDate{e, sum, max(1, math.Sqrt(squares/max(1, count)))}
}

// judge returns the day told, its score, whether the day seen lies in the 80 %
// interval, and its rank.
func (m *meanDate) judge(r *standRow) (day, crps float64, inside bool, rank float64) {
	day, _ = m.dates.expect(r)
	z := (r.day - day) / m.sd
	density := math.Exp(-z*z/2) / math.Sqrt(2*math.Pi)
	crps = m.sd * (z*(2*below(z)-1) + 2*density - 1/math.Sqrt(math.Pi))
	return day, crps, math.Abs(z) <= 1.2816, below(z)
}
