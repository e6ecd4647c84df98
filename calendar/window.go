package calendar

import (
	"math"
	"slices"

	"budswell/climate"
)

// window computes the window of a rule in a season from its resolved anchors,
// and the probability that it is open day by day. Its chance is 0 when it opens
// in no draw.
func (p *Planner) window(r *Rule, t *timing, season int) (Window, Curve) {
	if r.ForShow() && t.show == nil {
		return Window{Opens: never, Closes: never, Likely: climate.NoDate}, Curve{}
	}
	ends := p.ends(r, t, season)
	p.open, p.close = p.open[:0], p.close[:0]
	for i := range p.draws {
		if o, c, ok := ends.of(i); ok {
			p.open, p.close = append(p.open, o), append(p.close, c)
		}
	}
	if len(p.open) == 0 {
		return Window{Opens: never, Closes: never, Likely: climate.NoDate}, Curve{}
	}
	best := r.Best
	if ends.anyTime {
		best = BestMiddle // for no day of it is better than another
	}
	w, open := p.summary(best)
	w.AnyTime = ends.anyTime
	return w, open
}

// drawnEnds are the resolved anchors of a rule in a season.
type drawnEnds struct {
	opens, closes    climate.Sample
	first, last, end climate.Date
	onWork, onSeason bool

	// Of a rule for a show: what must come, and the day before which it opens
	// nothing, NoDate where there is none.
	must     []climate.Sample
	earliest climate.Date

	anyTime bool // growth does not stop: the first day is none
}

func (p *Planner) ends(r *Rule, t *timing, season int) drawnEnds {
	e := drawnEnds{
		onWork: r.Opens.hangsOnWork() || r.ForShow(), onSeason: !r.Opens.hangsOnWorkOnly(), earliest: climate.NoDate,
	}
	e.opens, e.closes, e.anyTime = p.endless(r, t, season, t.days(&r.Opens, season), t.days(&r.Closes, season))
	if r.Closes.At == AtDegreeDays {
		e.closes = t.untilCold(&r.Closes, season, e.closes)
	}
	e.first, e.last = p.span(season)
	e.end = e.last
	if r.Closes.reachesOver() {
		_, e.end = p.span(season + 1)
	}
	if r.ForShow() {
		e.must = t.mustCome(&r.Opens, season)
		if r.Within > 0 && t.show != nil {
			e.earliest = t.show.On - climate.Date(r.Within)
		}
	}
	return e
}

// of returns the first and the last day of the window in a draw, and false where it
// does not open.
func (e *drawnEnds) of(i int) (o, c climate.Date, ok bool) {
	o, c = e.opens[i%len(e.opens)], e.closes[i%len(e.closes)]
	if slices.ContainsFunc(e.must, func(s climate.Sample) bool { return !s[i%len(s)].Valid() }) {
		return 0, 0, false
	}
	switch {
	case o == climate.NoDate || o == afterAll || c == beforeAll:
		return 0, 0, false
	case c == climate.NoDate || c == afterAll:
		c = e.end
	}
	if o == beforeAll || !e.onWork && o < e.first && c >= e.first {
		o = e.first
	}
	if e.earliest.Valid() && o < e.earliest {
		return 0, 0, false
	}
	// A window that hangs on work or a show and on the season belongs to that in which it opens.
	return o, c, o <= c && !(e.onWork && e.onSeason && (o < e.first || o > e.last))
}

// mustCome returns the phases among the anchors of which the latest opens a window
// for a show: where one does not come, the day of the show alone opens nothing.
func (t *timing) mustCome(opens *Anchor, season int) []climate.Sample {
	var out []climate.Sample
	for i := range opens.Latest {
		if a := &opens.Latest[i]; a.At == AtPhase {
			out = append(out, t.days(a, season))
		}
	}
	return out
}

var never = climate.Spread{P10: climate.NoDate, P50: climate.NoDate, P90: climate.NoDate}

// summary sums up the draws in p.open and p.close, which are not empty. It
// counts days rather than sort them, since it runs for every rule and tree.
func (p *Planner) summary(best Best) (w Window, open Curve) {
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
	return w, p.curve(lo, n-1)
}

// curve returns the chance that the counted window is open on each of n days from
// lo on.
func (p *Planner) curve(lo climate.Date, n int) Curve {
	c := Curve{First: lo, Chance: make([]float64, n)}
	inside := 0
	for i := range c.Chance {
		inside += p.opened[i]
		c.Chance[i] = float64(inside) / float64(p.draws)
		inside -= p.closed[i]
	}
	return c
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
