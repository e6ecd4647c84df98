package phenology

import "math"

// normalDist is a normal distribution.
type normalDist struct{ mean, variance float64 }

// budBreak returns the distribution of the clock at bud break of a tree in a
// season, before this season's own "not yet"; false where a typical season of the
// place does not come so far. What was seen of the season itself counts
// on a grid: of the other trees of the species that they opened between two
// looks, or have not, and of the tree itself what comes before its buds break.
// News of other species is left out: at the reference place it made forecasts
// worse (see the table in docs).
func (f *Forecaster) budBreak(h Habit, tree string, year int) (distribution, bool, error) {
	byName, byHabit := f.priors.of(Habit{Species: h.Species}), f.priors.of(h)
	base, _, ok := f.normal(byName.Day)
	if !ok {
		return distribution{}, false, nil
	}
	p, species := f.parts(), kindOf(h.Species, tree)
	wild := f.wildness(species)
	expect := func(pooled bool) (e expected, err error) {
		l, err := f.learnedWithout(year, pooled)
		if err != nil {
			return e, err
		}
		e.usual = l.of(species, tree, p)
		e.mean += base
		if byHabit.Day != byName.Day || byHabit.SD != byName.SD {
			f.place(&e.usual, l, species, base, byName, byHabit)
		}
		seen := f.glimpses(l, species, tree, year, byName.Day, base, p)
		if pooled {
			seen = append(seen, f.others.glimpses(l, species, year, base, p, wild)...)
		}
		e.shift = shared(e.late(p, wild), seen)
		return e, nil
	}
	e, err := expect(false)
	if err == nil && f.others != nil {
		var pooled expected
		if pooled, err = expect(true); err == nil {
			e = e.towards(pooled, f.others.most(species, e.deviation(p, wild)))
		}
	}
	if err != nil {
		return distribution{}, false, err
	}
	d := studentDistribution(e.mean, e.scale(p, wild), e.shift)
	if t := f.trees[tree]; t != nil && tree != "" {
		before := map[Phase]mark{}
		for _, phase := range springPhases {
			if m, ok := t.seasons[year][phase]; ok && f.priors.lags[phase].Days < 0 {
				before[phase] = m
			}
		}
		if r, ok := f.reading(map[int]gauge{}, byName.Day, before, f.outlook.Site.SeasonStart(year), year); ok {
			d.given(base+r.residual, r.variance)
		}
	}
	return d, true, nil
}

// expected is when a tree is to break bud: its usual clock, and how late its
// species is this spring, on the shared grid.
type expected struct {
	usual
	shift []float64
}

// glimpses are what was seen in the given season of the other trees of a species.
func (f *Forecaster) glimpses(l *learned, species, tree string, year int, day, base float64, p partSpreads) []glimpse {
	if species == "" {
		return nil
	}
	var out []glimpse
	var clock gauge
	clocks := map[int]gauge{}
	start := f.outlook.Site.SeasonStart(year)
	for _, name := range f.names() {
		t := f.trees[name]
		marks := t.seasons[year]
		if name == tree || len(marks) == 0 || kindOf(t.species, name) != species {
			continue
		}
		if clock == nil {
			var ok bool
			if clock, ok = f.pastClock(year); !ok {
				return nil
			}
			clocks[year] = clock
		}
		u := l.of(species, name, p)
		g := glimpse{mean: base + u.mean, scale: u.scale(p, f.wildness(species)), closed: math.Inf(-1), open: math.Inf(1)}
		if r, ok := f.reading(clocks, day, marks, start, year); ok {
			// Between the looks, and as uncertain as what tells it.
			width := math.Sqrt(12*r.variance) / 2
			g.closed, g.open = base+r.residual-width, base+r.residual+width
		} else {
			for _, phase := range springPhases {
				m, ok := marks[phase]
				if !ok || !m.notYet.Valid() || int(m.notYet-start) >= len(clock) {
					continue
				}
				at, _, ok := f.expect(day, phase)
				if lag := at - base; ok && lag <= 0 {
					g.closed = max(g.closed, clock.at(int(m.notYet-start))-lag)
				}
			}
			if math.IsInf(g.closed, -1) {
				continue
			}
		}
		out = append(out, g)
	}
	return out
}

// place moves u by what the habit says of the species beyond its name, its place
// in the order of flushing or its group, as one more reading of the species' part.
func (f *Forecaster) place(u *usual, l *learned, species string, base float64, byName, byHabit speciesPrior) {
	target, _, ok := f.normal(byHabit.Day)
	name, habit := f.stretch*byName.SD, f.stretch*byHabit.SD
	if !ok {
		return
	}
	i, seen := l.index[part{species: species}]
	if !seen || species == "" { // the habit's own prior stands in for the name's
		u.mean += target - base
		u.shared += habit*habit - name*name
		return
	}
	precision := 1/(habit*habit) - 1/(name*name)
	if precision <= 0 {
		return
	}
	value := (target - base) / (habit * habit * precision)
	shared := l.cov.At(i, i) + l.cov.At(0, i)
	gain := shared / (l.cov.At(i, i) + 1/precision)
	u.mean += gain * (value - l.mean[i])
	u.shared = math.Max(0, u.shared-gain*shared)
}
