package calendar

import (
	"bytes"
	"fmt"
	"math/rand/v2"
	"testing"

	"pgregory.net/rapid"
)

// smallFitting draws a question that can be searched through: a few tasks and
// days, set-ups, helpers who may not do hard work, order within trees, and days
// that were promised.
func smallFitting(t *rapid.T) *fitting {
	const days = 4
	f := &fitting{days: make([]dayMinutes, days)}
	for d := range f.days {
		own := rapid.SampledFrom([]int{0, 90, 120, 180, 240}).Draw(t, "own")
		f.days[d] = dayMinutes{own + rapid.SampledFrom([]int{0, 0, 90}).Draw(t, "helpers"), own}
	}
	for range rapid.IntRange(0, 2).Draw(t, "kinds with set-up") {
		f.setUp = append(f.setUp, rapid.SampledFrom([]int{15, 30, 60}).Draw(t, "set-up"))
	}
	for range rapid.SampledFrom([]int{2, 5, 6, 7}).Draw(t, "tasks") {
		k := task{
			minutes: rapid.SampledFrom([]int{10, 45, 60, 90, 180}).Draw(t, "minutes"),
			hard:    rapid.Bool().Draw(t, "hard"),
			kind:    rapid.IntRange(-1, len(f.setUp)-1).Draw(t, "kind"),
		}
		if k.kind >= 0 {
			k.hard = k.kind == 0 // all work of a kind is hard, or none
		}
		promised := rapid.IntRange(-4, days-1).Draw(t, "promised")
		for d := range f.days {
			v := rapid.SampledFrom([]float64{-1, 10, 30, 90, 150, 200.25, 290, 330, 365}).Draw(t, "value")
			if v <= 0 || f.days[d].all < k.minutes || k.hard && f.days[d].own < k.minutes {
				continue
			}
			if d == promised {
				v += worthMoving * 365
			}
			k.options = append(k.options, option{d, v})
		}
		f.tasks = append(f.tasks, k)
	}
	for i := 1; i < len(f.tasks); i++ {
		if rapid.IntRange(0, 3).Draw(t, "order") > 0 || len(f.tasks[i-1].options) == 0 {
			continue
		}
		l := link{earlier: i - 1, later: i}
		gap := rapid.IntRange(1, 2).Draw(t, "gap")
		for _, x := range f.tasks[i-1].options {
			l.least = append(l.least, x.day+gap)
		}
		f.tasks[i-1].links = append(f.tasks[i-1].links, l)
		f.tasks[i].links = append(f.tasks[i].links, l)
	}
	f.ready()
	return f
}

// exhaustive tries all ways, and counts minutes in its own way.
func exhaustive(f *fitting) float64 {
	at := make([]int, len(f.tasks))
	best := 0.0
	var try func(i int, v float64)
	try = func(i int, v float64) {
		if i == len(f.tasks) {
			if v > best && sound(f, at) == "" {
				best = v
			}
			return
		}
		at[i] = -1
		try(i+1, v)
		for o, x := range f.tasks[i].options {
			at[i] = o
			try(i+1, v+x.value)
		}
	}
	try(0, 0)
	return best
}

// sound says what is wrong with a choice of options, nothing where it is right.
func sound(f *fitting, at []int) string {
	all, own := make([]int, len(f.days)), make([]int, len(f.days))
	made := map[[2]int]bool{}
	add := func(d, minutes int, hard bool) {
		all[d] += minutes
		if hard {
			own[d] += minutes
		}
	}
	for i, o := range at {
		if o < 0 {
			continue
		}
		t := &f.tasks[i]
		d := t.options[o].day
		add(d, t.minutes, t.hard)
		if k := [2]int{d, t.kind}; t.kind >= 0 && !made[k] {
			made[k] = true
			add(d, f.setUp[t.kind], t.hard)
		}
		for _, l := range t.links {
			if a, b := at[l.earlier], at[l.later]; a >= 0 && b >= 0 && f.tasks[l.later].options[b].day < l.least[a] {
				return "out of order"
			}
		}
	}
	for d := range f.days {
		if all[d] > f.days[d].all || own[d] > f.days[d].own {
			return "a day overflows"
		}
	}
	return ""
}

// A small question is answered as well as by trying everything, and is known to
// be.
func TestSolveAgainstExhaustiveSearch(t *testing.T) {
	n, scarce := 0, 0
	question := func(t *rapid.T) {
		f := smallFitting(t)
		p, w := f.solve(nil)
		n++
		if pr := newPrices(f); pr.dual(f, nil, nil) > p.value+leastGain {
			scarce++ // not all has its best day
		}
		if wrong := sound(f, p.at); wrong != "" {
			t.Fatal(wrong)
		}
		sum := 0.0
		for i := range p.at {
			sum += p.worth(i)
		}
		if want := exhaustive(f); sum != want || p.value != want || w.bound != want {
			t.Fatalf("worth %v (told %v), bound %v; the best is %v", sum, p.value, w.bound, want)
		}
		// From any start it is no worse.
		again, _ := f.solve(p.at)
		if again.value != p.value {
			t.Fatalf("%v from the best, %v", again.value, p.value)
		}
	}
	for range 5 {
		rapid.Check(t, question)
	}
	t.Logf("%d questions, %d of them with too few minutes for all", n, scarce)
	if scarce < n/2 {
		t.Error("hardly tests anything")
	}
}

// The bound of the prices is one at whatever prices, and the heuristics alone come
// near the best.
func TestPricesBoundTheBest(t *testing.T) {
	worst, equal, n := 0.0, 0, 0
	rapid.Check(t, func(t *rapid.T) {
		f := smallFitting(t)
		want := exhaustive(f)
		pr := newPrices(f)
		for d := range f.days {
			pr.all[d] = rapid.Float64Range(0, 5).Draw(t, "price")
			pr.own[d] = rapid.Float64Range(0, 5).Draw(t, "price of hard work")
		}
		shares := make([]float64, len(f.days)*len(f.setUp))
		for i := range f.tasks {
			for o := range pr.share[i] {
				k := f.tasks[i].options[o].day*len(f.setUp) + f.tasks[i].kind
				pr.share[i][o] = rapid.Float64Range(0, 1-shares[k]).Draw(t, "share")
				shares[k] += pr.share[i][o]
			}
		}
		if b := pr.dual(f, nil, nil); b < want-1e-6 {
			t.Fatalf("bound %v, but the best is %v", b, want)
		}
		pr = newPrices(f)
		pr.bound = pr.dual(f, nil, nil)
		pr.improve(f, 0, 60)
		if pr.bound < want-1e-6 {
			t.Fatalf("bound %v, but the best is %v", pr.bound, want)
		}
		w := newWants(f, pr)
		for i := range w.ask {
			w.ask[i] = rapid.Float64Range(0, 300).Draw(t, "ask")
		}
		if b := w.look(); b < want-1e-6 {
			t.Fatalf("bound %v of the knapsacks, but the best is %v", b, want)
		}
		w = newWants(f, pr)
		p := w.improve(newPlacing(f), 60)
		if w.bound < want-1e-6 {
			t.Fatalf("bound %v of the knapsacks, but the best is %v", w.bound, want)
		}
		p.polish()
		if wrong := sound(f, p.at); wrong != "" || p.value > want {
			t.Fatalf("%s, worth %v of %v", wrong, p.value, want)
		}
		n++
		if p.value == want {
			equal++
		} else {
			worst = max(worst, 1-p.value/want)
		}
	})
	t.Logf("without the search through all ways: the best in %d of %d questions, at most %.1f %% less", equal, n, 100*worst)
	if equal < n*3/4 {
		t.Error("seldom the best")
	}
}

// seasonFitting is a large question like those of the lore: trees with hard work
// in spring and other work through the seasons, by a grower's weekends.
func seasonFitting(trees, own, setUp int, seed uint64) *fitting {
	rng := rand.New(rand.NewPCG(seed, 7))
	f := &fitting{days: make([]dayMinutes, horizonDays+1), setUp: []int{setUp, setUp}}
	for d := range f.days {
		if d%7 >= 5 {
			f.days[d] = dayMinutes{own, own}
		}
	}
	add := func(minutes, first, width, kind int, hard bool, cost float64) {
		t := task{minutes: minutes, hard: hard, kind: kind}
		for d := max(0, first); d < first+width && d < len(f.days); d++ {
			x := (float64(d-first) + 0.5) / float64(width)
			if v := cost * 4 * x * (1 - x); f.days[d].all >= minutes && v > 0 {
				t.options = append(t.options, option{d, v})
			}
		}
		f.tasks = append(f.tasks, t)
	}
	for range trees {
		for year := range 2 {
			s := 365*year + rng.IntN(14)
			add(90+rng.IntN(90), 30+s, 24, 0, true, 365)
			add(60+rng.IntN(120), 120+s, 30, 1, true, 365)
			for k := range 8 {
				add(10, 60+14*k+s, 14, -1, false, 14)
			}
			for range 4 {
				add(15+rng.IntN(30), rng.IntN(500), 40, -1, false, 30)
			}
		}
	}
	f.ready()
	return f
}

// On large questions the answer is near the bound; how near is kept in a table.
func TestSolveAgainstTheBound(t *testing.T) {
	var b bytes.Buffer
	fmt.Fprintln(&b, "trees  minutes a day  set-up  tasks  placed  gap at most")
	for _, c := range []struct {
		trees, own, setUp int
		most              float64 // of the value that the gap may be
	}{{5, 480, 0, 0.001}, {20, 240, 30, 0.01}, {60, 300, 30, 0.02}, {300, 480, 30, 0.04}, {300, 120, 15, 0.03}} {
		f := seasonFitting(c.trees, c.own, c.setUp, 11)
		p, w := f.solve(nil)
		if wrong := sound(f, p.at); wrong != "" {
			t.Fatal(wrong)
		}
		gap := (w.bound - p.value) / w.bound
		placed := 0
		for _, o := range p.at {
			if o >= 0 {
				placed++
			}
		}
		fmt.Fprintf(&b, "%5d  %13d  %6d  %5d  %6d  %9.1f %%\n", c.trees, c.own, c.setUp, len(f.tasks), placed, 100*gap)
		if gap > c.most {
			t.Errorf("%d trees: gap %.2f %%", c.trees, 100*gap)
		}
	}
	t.Logf("\n%s", &b)
	golden(t, "agenda-gaps.txt", b.Bytes())
}

func BenchmarkSolve300Trees(b *testing.B) {
	f := seasonFitting(300, 480, 30, 11)
	for b.Loop() {
		f.solve(nil)
	}
}
