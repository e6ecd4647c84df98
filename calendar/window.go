package calendar

import (
	"math"

	"budswell/climate"
)

// window computes the window of a rule in a season from its resolved anchors,
// and the probability that it is open on the day of the plan. Its chance is 0
// when it opens in no draw.
func (p *Planner) window(r *Rule, t *timing, season int) (w Window, today float64) {
	opens, closes, anyTime := p.endless(r, t, season, t.days(&r.Opens, season), t.days(&r.Closes, season))
	first, last := p.span(season)
	end := last
	if r.Closes.reachesOver() {
		_, end = p.span(season + 1)
	}
	onWork, onSeason := r.Opens.hangsOnWork(), !r.Opens.hangsOnWorkOnly()

	p.open, p.close = p.open[:0], p.close[:0]
	for i := range p.draws {
		o, c := opens[i%len(opens)], closes[i%len(closes)]
		switch {
		case o == climate.NoDate || o == afterAll || c == beforeAll:
			continue
		case c == climate.NoDate || c == afterAll:
			c = end
		}
		if o == beforeAll || !onWork && o < first && c >= first {
			o = first
		}
		// A window that hangs on work and season belongs to that in which it opens.
		if o <= c && !(onWork && onSeason && (o < first || o > last)) {
			p.open, p.close = append(p.open, o), append(p.close, c)
		}
	}
	if len(p.open) == 0 {
		return Window{Opens: never, Closes: never, Likely: climate.NoDate}, 0
	}
	best := r.Best
	if anyTime {
		best = BestMiddle // for no day of it is better than another
	}
	w, today = p.summary(best)
	w.AnyTime = anyTime
	return w, today
}

var never = climate.Spread{P10: climate.NoDate, P50: climate.NoDate, P90: climate.NoDate}

// summary sums up the draws in p.open and p.close, which are not empty. It
// counts days rather than sort them, since it runs for every rule and tree.
func (p *Planner) summary(best Best) (w Window, today float64) {
	lo, hi := p.open[0], p.close[0]
	for i := range p.open {
		lo, hi = min(lo, p.open[i]), max(hi, p.close[i])
	}
	n := int(hi-lo) + 2
	p.opened, p.closed = zeroed(p.opened, n), zeroed(p.closed, n)
	for i := range p.open {
		p.opened[p.open[i]-lo]++
		p.closed[p.close[i]-lo]++
	}
	w = Window{
		Opens:  spreadOf(p.opened, lo, len(p.open)),
		Closes: spreadOf(p.closed, lo, len(p.open)),
		Chance: float64(len(p.open)) / float64(p.draws),
	}
	var inside int
	first, last := 0, n-1
	if w.Opens.P50 <= w.Closes.P50 {
		first, last = int(w.Opens.P50-lo), int(w.Closes.P50-lo)
	}
	w.Likely, inside = likely(p.opened, p.closed, lo, first, last, best)
	w.Certainty = float64(inside) / float64(p.draws)
	if on := p.outlook.Issue; on >= lo && on <= hi {
		today = float64(opensOn(p.opened, p.closed, int(on-lo))) / float64(p.draws)
	}
	return w, today
}

func zeroed(s []int, n int) []int {
	if cap(s) < n {
		return make([]int, n, 2*n)
	}
	s = s[:n]
	clear(s)
	return s
}

// spreadOf returns the 10, 50 and 90 % days of n counted draws, by the nearest
// rank as [climate.Sample.Spread] does.
func spreadOf(counts []int, lo climate.Date, n int) climate.Spread {
	s := never
	out := [3]*climate.Date{&s.P10, &s.P50, &s.P90}
	rank := [3]int{int(0.1 * float64(n)), int(0.5 * float64(n)), int(0.9 * float64(n))}
	seen, k := 0, 0
	for i, c := range counts {
		seen += c
		for k < 3 && seen > min(rank[k], n-1) {
			*out[k] = lo + climate.Date(i)
			k++
		}
	}
	return s
}

// nearTie is the share of the best day's draws by which a day may fall short and
// still count as equally good, so that the likely day does not jump about for a
// draw or two.
const nearTie = 0.02

// likely returns the day, of those from first to last (counted from lo), on which
// the window is open in the most draws, and in how many; of days that are about
// equally good the one that best says.
func likely(opened, closed []int, lo climate.Date, first, last int, best Best) (climate.Date, int) {
	most, inside := 0, 0
	for i := range opened[:last+1] {
		inside += opened[i]
		if i >= first {
			most = max(most, inside)
		}
		inside -= closed[i]
	}
	enough := int(math.Ceil(float64(most) * (1 - nearTie)))
	from, to := -1, -1 // the first run of good days; the last for BestLate
	running := false
	inside = 0
	for i := range opened[:last+1] {
		inside += opened[i]
		switch {
		case i < first || inside < enough:
			running = false
		case !running && (from < 0 || best == BestLate):
			from, to, running = i, i, true
		case running:
			to = i
		}
		inside -= closed[i]
	}
	pick := from
	switch best {
	case BestMiddle:
		pick = (from + to) / 2
	case BestLate:
		pick = to
	}
	return lo + climate.Date(pick), opensOn(opened, closed, pick)
}

// opensOn returns in how many draws the window is open on day i.
func opensOn(opened, closed []int, i int) int {
	n := 0
	for k := 0; k <= i; k++ {
		n += opened[k]
		if k < i {
			n -= closed[k]
		}
	}
	return n
}
