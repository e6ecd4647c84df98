package phenology

import (
	"errors"
	"fmt"
	"math"
	"sync"

	"budswell/climate"
)

// Forecaster forecasts the seasons of all trees at one site on one day. It holds
// what they share: the sums of warmth and chill of every member of the outlook,
// and what all sightings of the place together taught. It is safe for use by
// several goroutines at once.
type Forecaster struct {
	outlook   *climate.Outlook
	priors    *priors
	curves    []curve            // that stand for all
	courses   []course           // of each, typical at the reference place
	weights   []float64          // of each; they sum to 1
	typical   []course           // forcing of each curve in a typical season of the place
	stretch   float64            // days of a typical spring for each at the reference place
	spreads   spreads            // of the parts of the clock
	stretched bool               // they are of this place, not of the reference place
	wild      map[string]float64 // how much more than all a species strays
	trees     map[string]*seenTree
	read      []reading // of the clock, of every spring seen
	springs   tallies
	others    *others  // what other growers saw elsewhere; nil: nothing
	chances   []chance // of each draw

	air *airs

	mu     sync.Mutex
	built  map[int]func() *seasonSums
	taught map[lesson]func() (*learned, error)
}

// lesson names what was learned from: all springs but one, with what other growers
// saw or without.
type lesson struct {
	year   int
	pooled bool
}

// fewestDraws is how many draws a forecast has at least.
const fewestDraws = 400

// NewForecaster prepares to forecast from o, learning from what was seen at the
// place up to o.Issue; later sightings are not looked at.
func NewForecaster(o *climate.Outlook, seen []Sighting) (*Forecaster, error) {
	return newForecaster(o, seen, nil, loadPriors())
}

// NewPooledForecaster is NewForecaster that learns, besides, from what other growers
// saw at their places.
func NewPooledForecaster(o *climate.Outlook, seen []Sighting, pool []Pooled) (*Forecaster, error) {
	return newForecaster(o, seen, pool, loadPriors())
}

func newForecaster(o *climate.Outlook, seen []Sighting, pool []Pooled, p *priors) (*Forecaster, error) {
	return forecasterOver(o, seen, pool, p, &airs{})
}

// Taught returns a forecaster of the same outlook that learned from seen and pool alone, as
// [NewPooledForecaster] makes it; what the weather alone makes it shares with f.
func (f *Forecaster) Taught(seen []Sighting, pool []Pooled) (*Forecaster, error) {
	return forecasterOver(f.outlook, seen, pool, f.priors, f.air)
}

func forecasterOver(o *climate.Outlook, seen []Sighting, pool []Pooled, p *priors, air *airs) (*Forecaster, error) {
	if len(o.Members) == 0 {
		return nil, errors.New("phenology: the outlook has no members")
	}
	f := &Forecaster{
		outlook: o, priors: p, air: air, trees: map[string]*seenTree{}, wild: map[string]float64{},
		built: map[int]func() *seasonSums{}, taught: map[lesson]func() (*learned, error){},
	}
	if err := f.collect(seen); err != nil {
		return nil, err
	}
	f.chooseCurves()
	if err := f.observeTypical(); err != nil {
		return nil, err
	}
	f.read = f.readings()
	f.springs = countSprings(f.read)
	var err error
	if f.others, err = f.newOthers(pool); err != nil {
		return nil, err
	}
	now := f.outlook.Site.Season(o.Issue)
	if _, err := f.learnedWithout(now, false); err != nil {
		return nil, err
	}
	if f.others != nil {
		if _, err := f.learnedWithout(now, true); err != nil {
			return nil, err
		}
	}
	each := (fewestDraws + len(o.Members) - 1) / len(o.Members)
	f.chances = drawChances(len(o.Members), each)
	return f, nil
}

// typicalYear returns the first season that lies wholly after the issue day.
func (f *Forecaster) typicalYear() int { return f.outlook.Site.Season(f.outlook.Issue) + 1 }

// observeTypical finds the typical course of each curve: its mean over the
// members of the first season that lies wholly after the issue day, so that
// nothing of the season at hand makes it into what is called typical.
func (f *Forecaster) observeTypical() error {
	ws := f.weathers(f.typicalYear())
	if ws == nil || ws[0].days() < 300 {
		return fmt.Errorf("phenology: the outlook ends on %v: want it to cover the season of %d", f.outlook.Last(), f.typicalYear())
	}
	air := f.air.of(f.typicalYear(), ws)
	f.typical = make([]course, len(f.curves))
	eachCurve(f.curves, ws, air.hours, air.chill, func(k int, forcing []course) { f.typical[k] = mean(forcing) })
	const about = 14 // days, with the middle of all species amid them
	before, _, _ := f.normal(f.priors.any.Day - about/2)
	after, _, _ := f.normal(f.priors.any.Day + about/2)
	f.stretch = max(0.5, min((after-before)/about, 2))
	return nil
}

// Draws returns the number of draws of every forecast, a multiple of the number
// of the outlook's members.
func (f *Forecaster) Draws() int { return len(f.chances) }

// chance is what is left to chance in one draw, besides its weather.
type chance struct {
	bud    float64 // probability, of when buds break by the clock
	pace   float64 // standard normal, of how fast one phase follows another
	chill  float64 // standard normal, of how much chill the buds need
	autumn float64 // standard normal, of how soon leaves age
}

// drawChances spreads the draws of each member evenly over what is left to
// chance: bud break in equal strata, the rest by a low-discrepancy sequence.
// There is no randomness in it.
// Source of the sequence, from memory: Roberts 2018, the R-sequences.
func drawChances(members, each int) []chance {
	const (
		golden = 0.6180339887498949
		r1     = 0.8191725133961645
		r2     = 0.6710436067037893
		r3     = 0.5497004779019703
	)
	out := make([]chance, members*each)
	for i := range out {
		m, stratum := i%members, i/members
		out[i] = chance{
			bud:    (float64(stratum) + fraction((float64(m)+0.5)*golden)) / float64(each),
			pace:   quantile(fraction((float64(i) + 0.5) * r1)),
			chill:  quantile(fraction((float64(i) + 0.5) * r2)),
			autumn: quantile(fraction((float64(i) + 0.5) * r3)),
		}
	}
	return out
}

func fraction(x float64) float64 { return x - math.Floor(x) }

// quantile returns that of the standard normal distribution.
func quantile(p float64) float64 {
	return math.Sqrt2 * math.Erfinv(2*max(1e-9, min(p, 1-1e-9))-1)
}

// below returns the share of the standard normal distribution below z.
func below(z float64) float64 { return math.Erfc(-z/math.Sqrt2) / 2 }

// above maps the probability p to a standard normal number that is above floor.
func above(p, floor float64) float64 {
	if floor > 5 { // hardly anything is left: just above it
		return floor + 0.2*p
	}
	a := below(floor)
	return quantile(a + p*(1-a))
}
