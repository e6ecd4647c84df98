package calendar

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"budswell/climate"
)

// A show: the chance rises with its day, and each step told of still makes it when it
// is held back until then.
func TestShowsTellTheLatestSteps(t *testing.T) {
	p := wayPlanner(t, temperate, "2026-03-10")
	tree := Tree{ID: "t", Name: "t", Species: maple.Name, Origin: Collected, Log: []Entry{did(t, "2022-03-15", "collected"), did(t, "2024-04-01", WorkRepot)}}
	chance := -1.0
	for year := 2027; year <= 2038; year++ {
		on := date(year, 11, 10)
		r := roadmapOf(t, p, tree, RoadmapOptions{ReadyBy: map[string][]ReadyBy{"t": {{On: on, Look: "winter-silhouette"}}}})
		s := r.Shows[0]
		if s.Chance < chance {
			t.Errorf("ready by %v in %.2f, a year before in %.2f", on, s.Chance, chance)
		}
		chance = s.Chance
		if s.Chance >= makes && len(s.Latest) == 0 || len(s.Path) == 0 {
			t.Errorf("%v: %+v", on, s)
		}
		for _, l := range s.Latest {
			if l.By != nil && (l.By.Day > on || l.Chance < makes || !strings.Contains(l.Said, l.By.Season)) {
				t.Errorf("%v: %+v", on, l)
			}
			if l.By == nil && s.Chance > 0.7 && !strings.Contains(l.Said, "may not wait") {
				t.Errorf("%v: %+v", on, l)
			}
		}
		for _, l := range s.Path {
			if l.What == "" || strings.Contains(l.What, "  ") || l.Share < mentioned || l.Share > 1 || l.Years <= 0 {
				t.Errorf("%v: %+v", on, l)
			}
		}
	}
	if chance < 0.9 {
		t.Errorf("ready in 2038 in %.2f", chance)
	}
	r := roadmapOf(t, p, tree, RoadmapOptions{ReadyBy: map[string][]ReadyBy{"t": {{On: date(2034, 11, 10)}}}})
	said, last := "", climate.NoDate
	for _, l := range r.Shows[0].Latest {
		said += l.Said + "\n"
		if l.By != nil && l.By.Day < last {
			t.Errorf("%s may not wait as long as the step before it", l.Title)
		}
		if l.By != nil {
			last = l.By.Day
		}
	}
	if n := len(r.Shows[0].Latest); n != 4 {
		t.Errorf("%d steps, want the two stylings, the wire off and the pot", n)
	}
	if want := "Change the pot: by spring 2034 at the latest, the last spring before.\n"; !strings.Contains(said, want) {
		t.Errorf("chance %.2f, want %q in\n%s", r.Shows[0].Chance, want, said)
	}
}

// Trees that were quicker, or slower, than usual make the grower's others so, by half
// of the logarithm for one and by more for many; and they narrow the spread.
func TestOwnTreesNarrowTheTimes(t *testing.T) {
	s := spellOf(2, 3, 4)
	for _, test := range []struct {
		name   string
		of     learnt
		middle float64
		below  float64 // as a part of what it was, relative to the middle
	}{
		{"none", learnt{}, 3, 1},
		{"one, twice as long", learnt{1, math.Log(2)}, 3 * math.Sqrt2, math.Sqrt(0.75)},
		{"three, half as long", learnt{3, -3 * math.Log(2)}, 3 * math.Pow(2, -0.75), math.Sqrt(0.625)},
		{"many, far longer", learnt{99, 99 * math.Log(9)}, 6, math.Sqrt(0.505)},
	} {
		got := test.of.spell(s)
		if math.Abs(got.middle-test.middle) > 1e-9 || math.Abs(got.below/got.middle-test.below*s.below/s.middle) > 1e-9 {
			t.Errorf("%s: %+v, want a middle of %.3f and %.3f of the spread", test.name, got, test.middle, test.below)
		}
	}
	p := wayPlanner(t, temperate, "2026-03-10")
	waits := Tree{ID: "t", Name: "t", Species: maple.Name, Origin: Nursery, Log: []Entry{did(t, "2023-04-01", WorkRepot), did(t, "2025-06-20", WorkFirstStyle), did(t, "2025-09-01", WorkUnwire)}}
	quick := Tree{ID: "q", Name: "q", Species: maple.Name, Origin: Nursery, Log: []Entry{did(t, "2015-04-01", WorkRepot), did(t, "2017-06-20", WorkFirstStyle), did(t, "2019-02-20", WorkSecondStyle)}}
	slow := Tree{ID: "q", Name: "q", Species: maple.Name, Origin: Nursery, Log: []Entry{did(t, "2015-04-01", WorkRepot), did(t, "2017-06-20", WorkFirstStyle), did(t, "2025-02-20", WorkSecondStyle)}}
	second := func(with Tree) climate.Date {
		maps, err := p.Roadmaps([]Tree{waits, with}, RoadmapOptions{Years: 15})
		if err != nil {
			t.Fatal(err)
		}
		return maps[0].Stages[0].P50.Day
	}
	if q, s := second(quick), second(slow); s-q < 300 {
		t.Errorf("well ramified %v beside a quick tree, %v beside a slow one", q, s)
	}
}

// Spells keep to what the lore says of them.
func TestSpellsHaveTheirDeciles(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		low := rapid.Float64Range(0, 4).Draw(r, "low")
		usual := low + rapid.Float64Range(0, 4).Draw(r, "usual")
		high := usual + rapid.Float64Range(0, 4).Draw(r, "high")
		s := spellOf(low, usual, high)
		for _, q := range []struct{ u, want float64 }{{0.1, low}, {0.5, usual}, {0.9, high}} {
			if got := s.seasons(q.u, 0); math.Abs(got-q.want) > 1e-6 {
				r.Fatalf("%v to %v to %v: the %v quantile is %v", low, usual, high, q.u, got)
			}
		}
		spent := rapid.Float64Range(0, 12).Draw(r, "spent")
		if got := s.seasons(rapid.Float64Range(0.001, 0.999).Draw(r, "u"), spent); got < spent || math.IsNaN(got) || math.IsInf(got, 0) {
			r.Fatalf("after %v seasons: %v", spent, got)
		}
	})
}

// The clock of a draw agrees with itself: by is the first day on which at has come so
// far, and a mean draw keeps the planner's own time.
func TestClockOfADraw(t *testing.T) {
	for _, pl := range anyPlaces {
		p := wayPlanner(t, pl, "2026-05-10")
		c := p.newComing(15, 20)
		k := clock{coming: c, paces: p.pacesOf(p.growthOf(maple), c), issue: p.outlook.Issue}
		for draw := range 20 {
			k.set(draw)
			last := math.Inf(-1)
			for d := c.starts[0]; d < c.end(); d += 5 {
				now := k.at(d)
				if now < last-1e-9 {
					t.Fatalf("lat %v: the clock runs back on %v", pl.lat, d)
				}
				last = now
			}
			for want := 0.05; want < 14; want += 0.37 {
				by := k.by(want)
				if by == afterAll {
					if k.base[len(k.base)-1] > want {
						t.Fatalf("lat %v: %v seasons never pass", pl.lat, want)
					}
					continue
				}
				if by > k.issue && (k.at(by) < want-1e-9 || k.at(by-1) >= want+1e-9) {
					t.Fatalf("lat %v: %v seasons by %v: %v then and %v the day before", pl.lat, want, by, k.at(by), k.at(by-1))
				}
			}
		}
	}
}

// In a cool year less is earned.
func TestWarmYearsRunFaster(t *testing.T) {
	p := wayPlanner(t, place{lat: 50, mean: 9, half: 9.5, members: 10, step: 0.5}, "2026-03-01")
	c := p.newComing(10, 20)
	ps := p.pacesOf(p.growthOf(maple), c)
	for i := 1; i < len(ps.next); i++ {
		if ps.next[i] <= ps.next[i-1] || ps.left[i] <= ps.left[i-1] {
			t.Fatalf("member %d is warmer and runs no faster: %v", i, ps.next)
		}
	}
	seen := map[int]bool{}
	for _, d := range c.draws {
		seen[d[5]] = true
		if d[1] != d[2] {
			t.Error("the season at hand and the next are of different draws")
		}
	}
	if len(seen) < 5 {
		t.Errorf("years ahead are all alike: %v", seen)
	}
}
