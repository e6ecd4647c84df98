package calendar

import "math"

// prices are what a minute of each day is worth when the minutes are sold rather
// than counted: the Lagrange multipliers of a fitting's days. At any prices what
// the tasks would then pay for, with what all minutes are worth, is at least the
// value of the best placing (Geoffrion 1974, Lagrangean relaxation for integer
// programming, Mathematical Programming Study 2). That tasks of a tree follow one
// another is left out but for groups, which makes the bound no less true.
//
// The set-up of a kind is paid by its tasks in shares: where those of all tasks of
// a kind on a day come to one at most, so much is paid for as the set-up takes.
type prices struct {
	all, own []float64 // of a minute of anybody; of hard work besides
	share    [][]float64
	bound    float64 // the least found

	most  []float64 // of a group's offers
	buyer []pick    // whose that is
}

// offer is what an option is worth less what its minutes cost; taken is where
// the set-up is made already.
func (p *prices) offer(f *fitting, i, o int, made bool) float64 {
	t := &f.tasks[i]
	x := &t.options[o]
	m := float64(t.minutes)
	if t.kind >= 0 && !made {
		m += p.share[i][o] * float64(f.setUp[t.kind])
	}
	cost := p.all[x.day]
	if t.hard {
		cost += p.own[x.day]
	}
	return x.value - m*cost
}

// newPrices starts with nothing costing anything.
func newPrices(f *fitting) *prices {
	p := &prices{all: make([]float64, len(f.days)), own: make([]float64, len(f.days)), share: make([][]float64, len(f.tasks)), bound: math.Inf(1)}
	n := 0
	for i := range f.tasks {
		if f.tasks[i].kind >= 0 {
			n += len(f.tasks[i].options)
		}
	}
	shares := make([]float64, n)
	for i := range f.tasks {
		if k := len(f.tasks[i].options); f.tasks[i].kind >= 0 {
			p.share[i], shares = shares[:k:k], shares[k:]
		}
	}
	return p
}

// dual returns the bound that the prices give, and what the tasks would buy: the
// minutes of each day and, where picks is not nil, the option of each task.
func (p *prices) dual(f *fitting, bought []dayMinutesWanted, picks []int) float64 {
	sum := 0.0
	for d := range f.days {
		sum += p.all[d]*float64(f.days[d].all) + p.own[d]*float64(f.days[d].own)
	}
	p.most, p.buyer = sized(p.most, f.groups), sized(p.buyer, f.groups)
	clear(p.most)
	for g := range p.buyer {
		p.buyer[g] = pick{-1, -1}
	}
	for i := range f.tasks {
		g := f.group[i]
		for o := range f.tasks[i].options {
			if v := p.offer(f, i, o, false); v > p.most[g] {
				p.most[g], p.buyer[g] = v, pick{int32(i), int32(o)}
			}
		}
		if picks != nil {
			picks[i] = -1
		}
	}
	for g, b := range p.buyer {
		sum += p.most[g]
		i, pick := int(b.task), int(b.option)
		if pick >= 0 && picks != nil {
			picks[i] = pick
		}
		if pick >= 0 && bought != nil {
			t := &f.tasks[i]
			m := float64(t.minutes)
			if t.kind >= 0 {
				m += p.share[i][pick] * float64(f.setUp[t.kind])
			}
			w := &bought[t.options[pick].day]
			w.all += m
			if t.hard {
				w.own += m
			}
		}
	}
	return sum
}

// dayMinutesWanted are minutes of a day that tasks would buy.
type dayMinutesWanted struct{ all, own float64 }

// improve moves the prices so that the bound comes down, by the subgradient method
// with steps after Polyak (1969, USSR Computational Mathematics and Mathematical
// Physics 9): a day of which more is wanted than there is gets dearer, another
// cheaper. A placing of the value lower is known.
func (p *prices) improve(f *fitting, lower float64, rounds int) {
	wanted, picks := make([]dayMinutesWanted, len(f.days)), make([]int, len(f.tasks))
	kinds := len(f.setUp)
	buyers := make([]int, len(f.days)*kinds)
	best := *p
	best.all, best.own = append([]float64(nil), p.all...), append([]float64(nil), p.own...)
	bestShare := p.copyShares()
	scale, stale := 1.0, 0
	for range rounds {
		clear(wanted)
		bound := p.dual(f, wanted, picks)
		if bound < best.bound-1e-9*math.Abs(best.bound) {
			best.bound, stale = bound, 0
			copy(best.all, p.all)
			copy(best.own, p.own)
			copyInto(bestShare, p.share)
		} else if stale++; stale >= 8 {
			scale, stale = scale/2, 0
		}
		norm := 0.0
		for d := range f.days {
			w := &wanted[d]
			w.all -= float64(f.days[d].all)
			w.own -= float64(f.days[d].own)
			if w.all < 0 && p.all[d] == 0 {
				w.all = 0
			}
			if w.own < 0 && p.own[d] == 0 || f.days[d].own >= f.days[d].all {
				w.own = 0
			}
			norm += w.all*w.all + w.own*w.own
		}
		if norm == 0 || best.bound-lower <= 1e-9*max(1, lower) {
			break
		}
		step := scale * max(bound-lower, 0) / norm
		for d := range f.days {
			p.all[d] = max(0, p.all[d]+step*wanted[d].all)
			p.own[d] = max(0, p.own[d]+step*wanted[d].own)
		}
		p.reshare(f, picks, buyers)
	}
	p.all, p.own, p.bound = best.all, best.own, best.bound
	copyInto(p.share, bestShare)
}

// reshare moves the shares of set-ups towards equal ones of those who buy.
func (p *prices) reshare(f *fitting, picks, buyers []int) {
	kinds := len(f.setUp)
	if kinds == 0 {
		return
	}
	clear(buyers)
	for i, o := range picks {
		if t := &f.tasks[i]; o >= 0 && t.kind >= 0 {
			buyers[t.options[o].day*kinds+t.kind]++
		}
	}
	const pace = 0.15
	for i := range f.tasks {
		t := &f.tasks[i]
		if t.kind < 0 {
			continue
		}
		for o := range t.options {
			n := buyers[t.options[o].day*kinds+t.kind]
			switch {
			case n == 0: // nobody pays; the shares stay
			case picks[i] == o:
				p.share[i][o] += pace * (1/float64(n) - p.share[i][o])
			default:
				p.share[i][o] -= pace * p.share[i][o]
			}
		}
	}
}

func (p *prices) copyShares() [][]float64 {
	out := make([][]float64, len(p.share))
	for i := range p.share {
		out[i] = append([]float64(nil), p.share[i]...)
	}
	return out
}

func copyInto(to, from [][]float64) {
	for i := range from {
		copy(to[i], from[i])
	}
}
