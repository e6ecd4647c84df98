package calendar

import "math"

// sack is one knapsack, used again and again.
type sack struct {
	best   []float64 // by units at most
	before []float64 // of the kind under way, without it
	took   []bool    // item by item, by units
	with   []bool    // kind by kind, by units
	made   []bool    // kind by kind
	items  []item
	groups []group
}

type item struct {
	pick
	units int
	value float64
}

// group is a kind with its set-up, or what needs none.
type group struct{ first, setUp int }

func (s *sack) clear() { s.items, s.groups = s.items[:0], s.groups[:0] }

// begin starts a kind; the tasks of a kind are all hard or all not.
func (s *sack) begin(setUp int) {
	if n := len(s.groups); n > 0 && s.groups[n-1].first == len(s.items) {
		s.groups = s.groups[:n-1] // nothing came of it
	}
	s.groups = append(s.groups, group{len(s.items), setUp})
}

// end returns where the k-th kind ends.
func (s *sack) end(k int) int {
	if k+1 < len(s.groups) {
		return s.groups[k+1].first
	}
	return len(s.items)
}

// some returns what one choice for so many units brings, and how many it uses:
// first of what is worth its price, then of the rest.
func (s *sack) some(n int, cost float64) (value float64, used int) {
	s.made = sized(s.made, len(s.groups))
	clear(s.made)
	for _, dear := range []bool{true, false} {
		for k, g := range s.groups {
			for i := g.first; i < s.end(k); i++ {
				x := &s.items[i]
				need := x.units
				if !s.made[k] {
					need += g.setUp
				}
				if (x.value >= cost*float64(x.units)) == dear && used+need <= n {
					value += x.value
					used += need
					s.made[k] = true
				}
			}
		}
	}
	return value, used
}

// keep keeps the items that fall short of their price by no more than slack.
func (s *sack) keep(slack, cost float64) {
	slack += leastGain
	kept := s.items[:0]
	for k := range s.groups {
		first := s.groups[k].first
		end := s.end(k)
		s.groups[k].first = len(kept)
		for _, x := range s.items[first:end] {
			if cost*float64(x.units)-x.value <= slack {
				kept = append(kept, x)
			}
		}
	}
	s.items = kept
}

// fill finds the best of each number of units up to n.
func (s *sack) fill(n int) {
	width := n + 1
	s.best, s.before = sized(s.best, width), sized(s.before, width)
	s.took, s.with = sized(s.took, width*len(s.items)), sized(s.with, width*len(s.groups))
	clear(s.best)
	for k, g := range s.groups {
		copy(s.before, s.best)
		for c := n; c >= 0; c-- {
			if c >= g.setUp {
				s.best[c] = s.before[c-g.setUp]
			} else {
				s.best[c] = math.Inf(-1)
			}
		}
		for i := g.first; i < s.end(k); i++ {
			x := &s.items[i]
			took := s.took[i*width : (i+1)*width]
			clear(took[:min(x.units, width)])
			for c := n; c >= x.units; c-- {
				v := s.best[c-x.units] + x.value
				took[c] = v > s.best[c]
				if took[c] {
					s.best[c] = v
				}
			}
		}
		with := s.with[k*width : (k+1)*width]
		for c := range s.best {
			with[c] = s.best[c] > s.before[c]
			if !with[c] {
				s.best[c] = s.before[c]
			}
		}
	}
}

func sized[T any](s []T, n int) []T {
	if cap(s) < n {
		return make([]T, n, 2*n)
	}
	return s[:n]
}
