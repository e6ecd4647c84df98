package phenology

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"sync"
	"testing"
)

// unknownSpecies is how far off a species is told of which nothing was fitted, by the
// number of springs seen of the tree; see TestUnknownSpecies.
type unknownSpecies struct {
	sightings  int
	n          int
	rmse       float64
	inside     float64 // share in the 80 % interval
	goal, most float64 // the aim, and what is asserted
}

var unknownFigures struct {
	once sync.Once
	rows []unknownSpecies
}

// judgeUnknown leaves each species and each spring out in turn: curves' weights, clock,
// the usual days of the other species, and what these say of the order of
// flushing by traits, families and genera, know nothing of either. (The
// misses by which the other species weigh the curves come from fits in which the
// species took part in the springs' effects; that is all.) Then n springs of the very
// tree are told, and the spring left out is asked for with its weather known.
func judgeUnknown(t testing.TB) []unknownSpecies {
	skipApart(t)
	h := readHarvard(t)
	unknownFigures.once.Do(func() {
		b, err := h.trial().prepare()
		if err != nil {
			t.Fatal(err)
		}
		s := b.stand
		rows := []unknownSpecies{{0, 0, 0, 0, 9, 9}, {1, 0, 0, 0, 6, 6}, {3, 0, 0, 0, 5.2, 5.2}, {8, 0, 0, 0, 4.8, 4.8}}
		random := rand.New(rand.NewPCG(1, 1))
		byTree := map[int][]int{}
		for i, r := range s.rows {
			byTree[r.tree] = append(byTree[r.tree], i)
		}
		for target := range s.springs {
			g, err := b.ground(target)
			if err != nil {
				t.Fatal(err)
			}
			j := g.judge(-1)
			all, _ := s.spread(b.prior, j, target, -1)
			for species := range s.species {
				for k := range j.costs {
					j.costs[k] = s.cost(j.misses[k], species)
				}
				g.unknown(t, j, species, all, byTree, random, rows)
			}
		}
		for i := range rows {
			rows[i].rmse = math.Sqrt(rows[i].rmse / float64(rows[i].n))
			rows[i].inside /= float64(rows[i].n)
		}
		unknownFigures.rows = rows
	})
	return unknownFigures.rows
}

// unknown judges one species in one spring.
func (g *ground) unknown(t testing.TB, j *judged, species int, all spreads, byTree map[int][]int, random *rand.Rand, rows []unknownSpecies) {
	b, s := g.bench, g.bench.stand
	weights := j.weigh(s, b.prior, g.target, -1)
	x := j.mixed(weights)
	e := newEffects(s)
	e.fit(x, g.target, -1, species)
	var of []kin
	var days []float64
	for k, name := range b.names.species {
		if kn, ok := loadPriors().kinOf(Habit{Species: name}); ok && k != species {
			of = append(of, kn)
			days = append(days, e.species[k])
		}
	}
	r, ok := newRelatives(fitLikeness(of, days), of, days)
	if !ok {
		t.Fatal("no covariance")
	}
	own, _ := loadPriors().kinOf(Habit{Species: b.names.species[species]})
	day, sd := r.tell(&own)
	sd = max(leastUnknown, sd)
	clock := g.mixedClock(weights)
	p := partSpreads{spreads: all, place: 0.1, species: func(string) float64 { return sd }}
	for i := range s.rows {
		row := &s.rows[i]
		if row.species != species || row.spring != g.target {
			continue
		}
		var others []int
		for _, k := range byTree[row.tree] {
			if k != i {
				others = append(others, k)
			}
		}
		for at := range rows {
			n := rows[at].sightings
			if len(others) < n {
				continue
			}
			const draws = 2
			for range draws {
				random.Shuffle(len(others), func(a, b int) { others[a], others[b] = others[b], others[a] })
				var readings []reading
				for _, k := range others[:n] {
					readings = append(readings, reading{tree: "tree", species: "species", year: b.years[s.rows[k].spring], residual: x[k] - day, variance: dayVariance})
				}
				l, err := condition(readings, p)
				if err != nil {
					t.Fatal(err)
				}
				u := l.of("species", "tree", p)
				told, _ := clock.reach(day + u.mean)
				rows[at].rmse += (told - row.day) * (told - row.day)
				rows[at].n++
				d := studentDistribution(day+u.mean, u.scale(p, 1), shared(u.late(p, 1), nil))
				f := d.dates([]gauge{clock})
				if f.quantile(0.1) <= row.day && row.day <= f.quantile(0.9) {
					rows[at].inside++
				}
				if n == 0 {
					break
				}
			}
		}
	}
}

// mixedClock is the target's clock, averaged over curves by weight.
func (g *ground) mixedClock(weights []float64) gauge {
	rates, sums := buffers(1, g.bench.days)
	all, others := buffers(len(g.others), g.bench.days)
	dayWeights := make([]float64, g.bench.days)
	clock := make(gauge, g.springs[g.target].days())
	z := g.target
	for k, w := range weights {
		if w < 1e-5 {
			continue
		}
		c := &g.bench.curves[k]
		g.forcingOf(c, true, g.springs[z:z+1], g.chillSprings[z:z+1], rates, sums, dayWeights)
		g.forcingOf(c, true, g.others, g.chillOthers, all, others, dayWeights)
		mean(others).addClock(clock, sums[0], w)
	}
	return clock
}

// TestUnknownSpecies checks how far off species are told that were not fitted.
func TestUnknownSpecies(t *testing.T) {
	for _, r := range judgeUnknown(t) {
		t.Logf("%d sightings: n %d, RMSE %.2f (aim %.1f), 80 %% interval holds %.0f %%", r.sightings, r.n, r.rmse, r.goal, 100*r.inside)
		if r.rmse > r.most {
			t.Errorf("%d sightings: RMSE %.2f: want %.2f", r.sightings, r.rmse, r.most)
		}
		if r.inside < 0.74 || r.inside > 0.93 {
			t.Errorf("%d sightings: the 80 %% interval holds %.2f", r.sightings, r.inside)
		}
	}
}

// otherPlace is how far off a place is told that has so many springs and species
// of its own; see TestOtherPlace.
type otherPlace struct {
	springs, species   int
	places             int
	ours, prior        float64 // RMSE: curves weighed by the place's own, and as they were before
	degreeDays, single float64 // the best degree-day curve, and the best of all curves, fitted there
	mean               float64 // the mean date
}

var otherFigures struct {
	once sync.Once
	rows []otherPlace
}

// judgeOther makes other places of Harvard Forest: some springs and species are
// all that is seen of them, and the other springs are asked for. It is the same
// weather and station, so this tests the learning, not the transfer.
func judgeOther(t testing.TB) []otherPlace {
	skipApart(t)
	h := readHarvard(t)
	otherFigures.once.Do(func() {
		whole, err := h.trial().prepare()
		if err != nil {
			t.Fatal(err)
		}
		random := rand.New(rand.NewPCG(7, 7))
		clocks := whole.allClocks(t)
		for _, size := range [][3]int{{9, 33, 3}, {9, 6, 10}, {9, 1, 16}, {5, 6, 10}, {5, 1, 16}, {3, 6, 10}} {
			out := otherPlace{springs: size[0], species: size[1], places: size[2]}
			for range size[2] {
				whole.place(size[0], size[1], random, clocks, &out)
			}
			n := float64(size[2])
			for _, v := range []*float64{&out.ours, &out.prior, &out.degreeDays, &out.single, &out.mean} {
				*v = math.Sqrt(*v / n)
			}
			otherFigures.rows = append(otherFigures.rows, out)
		}
	})
	return otherFigures.rows
}

// allClocks returns the clocks of every curve in every spring.
func (b *bench) allClocks(t testing.TB) [][]gauge {
	g, err := b.ground(-1)
	if err != nil {
		t.Fatal(err)
	}
	ratesA, sumsA := buffers(len(g.springs), b.days)
	ratesB, sumsB := buffers(len(g.others), b.days)
	dayWeights := make([]float64, b.days)
	out := make([][]gauge, len(b.curves))
	for k := range b.curves {
		g.forcingOf(&b.curves[k], true, g.springs, g.chillSprings, ratesA, sumsA, dayWeights)
		g.forcingOf(&b.curves[k], true, g.others, g.chillOthers, ratesB, sumsB, dayWeights)
		typical := mean(sumsB)
		out[k] = make([]gauge, len(g.springs))
		for z := range out[k] {
			out[k][z] = make(gauge, g.springs[z].days())
			typical.addClock(out[k][z], sumsA[z], 1)
		}
	}
	return out
}

// place draws one place, fits it, and adds the mean square misses of the springs
// that it does not know.
func (b *bench) place(springs, species int, random *rand.Rand, clocks [][]gauge, out *otherPlace) {
	all := b.stand
	known := map[int]bool{}
	for _, z := range random.Perm(all.springs)[:springs] {
		known[z] = true
	}
	kinds, trees := map[int]bool{}, map[int]bool{}
	perSpecies := map[int]int{33: 9, 6: 2, 1: 1}[species]
	for _, k := range random.Perm(all.species)[:species] {
		kinds[k] = true
		count := map[int]bool{}
		for _, i := range random.Perm(len(all.rows)) {
			if r := all.rows[i]; r.species == k && (count[r.tree] || len(count) < perSpecies) {
				count[r.tree], trees[r.tree] = true, true
			}
		}
	}
	// Springs that are known come first, so that the rest can be left out.
	order := map[int]int{}
	for z := range all.springs {
		if known[z] {
			order[z] = len(order)
		}
	}
	names := map[int]int{}
	var rows, asked []standRow
	for _, r := range all.rows {
		if !trees[r.tree] || !kinds[r.species] {
			continue
		}
		if known[r.spring] {
			if _, ok := names[r.species]; !ok {
				names[r.species] = len(names)
			}
			rows = append(rows, standRow{names[r.species], r.tree, order[r.spring], r.day})
		} else {
			asked = append(asked, r)
		}
	}
	s := newStand(rows)
	e := newEffects(s)
	x := make([]float64, len(s.rows))
	j := newJudged(len(b.curves), len(s.rows))
	square := make([]float64, len(b.curves))
	seen := func(k int) []gauge {
		out := make([]gauge, springs)
		for z, i := range order {
			out[i] = clocks[k][z]
		}
		return out
	}
	for k := range b.curves {
		j.judge(k, e, seen(k), x, -1, -1)
		for _, m := range j.misses[k] {
			if v := float64(m); !math.IsNaN(v) {
				square[k] += v * v
			}
		}
	}
	j.settle(s, b.prior, -1, -1)
	best := func(among func(c *curve) bool) []float64 {
		at := -1
		for k := range b.curves {
			if among(&b.curves[k]) && (at < 0 || square[k] < square[at]) {
				at = k
			}
		}
		w := make([]float64, len(b.curves))
		w[at] = 1
		return w
	}
	thermal := slices.Clone(b.prior)
	thermal[len(thermal)-1] = 0
	calendarOnly := make([]float64, len(b.curves))
	calendarOnly[len(calendarOnly)-1] = 1
	for _, c := range []struct {
		weights []float64
		sum     *float64
	}{
		{j.weigh(s, b.prior, -1, -1), &out.ours},
		{thermal, &out.prior},
		{best(func(c *curve) bool { return c.Form == linear && c.W == 0.5 && c.P == 0 }), &out.degreeDays},
		{best(func(c *curve) bool { return c.Form != calendar }), &out.single},
		{calendarOnly, &out.mean},
	} {
		mixed := func(z int) gauge {
			g := make(gauge, len(clocks[0][z]))
			for k, w := range c.weights {
				if w > 1e-5 {
					for i, v := range clocks[k][z] {
						g[i] += w * v
					}
				}
			}
			return g
		}
		own, other := make([]gauge, springs), map[int]gauge{}
		for z, i := range order {
			own[i] = mixed(z)
		}
		s.read(own, x)
		e.fit(x, -1, -1, -1)
		sum, n := 0.0, 0.0
		for _, r := range asked {
			k, ok := names[r.species]
			if !ok {
				continue
			}
			if other[r.spring] == nil {
				other[r.spring] = mixed(r.spring)
			}
			tree := 0.0
			if r.tree < len(e.tree) {
				tree = e.tree[r.tree]
			}
			told, _ := other[r.spring].reach(e.species[k] + tree)
			sum += (told - r.day) * (told - r.day)
			n++
		}
		*c.sum += sum / max(n, 1)
	}
}

// TestOtherPlace checks that a place's own sightings move the curves: with nine
// springs no worse than a thermal model fitted there, and better with fewer.
func TestOtherPlace(t *testing.T) {
	for _, r := range judgeOther(t) {
		t.Logf("%d springs, %2d species: ours %.2f, not weighed %.2f, best degree-days %.2f, best single curve %.2f, mean date %.2f",
			r.springs, r.species, r.ours, r.prior, r.degreeDays, r.single, r.mean)
		name := fmt.Sprintf("%d springs, %d species", r.springs, r.species)
		if r.ours > r.degreeDays || r.ours > r.mean {
			t.Errorf("%s: RMSE %.2f; degree-days fitted there %.2f, mean date %.2f", name, r.ours, r.degreeDays, r.mean)
		}
		if most := map[bool]float64{true: 1.03, false: 1}[r.springs >= 9]; r.ours > most*r.single {
			t.Errorf("%s: RMSE %.2f; best single curve fitted there %.2f", name, r.ours, r.single)
		}
	}
}
