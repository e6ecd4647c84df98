package calendar

import (
	"fmt"
	"math"

	"budswell/calendar/sums"
	"budswell/climate"
)

// RootSum is how cold the roots get in the nights to come.
type RootSum struct {
	Stand   float64      `json:"stand"`   // what potted roots of the species stand, C; see [Species.RootsStand]
	Known   bool         `json:"known"`   // that is known, and not a cautious guess
	Lowest  Amount       `json:"lowest"`  // of the root zone over all of the nights, C
	Coldest climate.Date `json:"coldest"` // the night, by its morning, that is most often the coldest
	Below   float64      `json:"below"`   // probability that it gets colder than they stand, 0 to 1
	Nights  []Amount     `json:"nights"`  // of each night, C, tomorrow morning's first
	Litres  float64      `json:"litres"`  // of the pot
	Open    bool         `json:"open"`    // reckoned as in the open, on no bench

	warned float64 // probability of less than rootMargin above what they stand
}

const (
	rootNights = 7   // looked ahead
	rootBefore = 10  // days from which the pot's temperature is followed
	rootMargin = 3.0 // C above what roots stand from which a night is told of, as the rule for winter shelter has it
	coldAir    = 4.0 // C: with milder nights no pot comes near frost
)

// near reports whether the nights are worth a word.
func (s *RootSum) near() bool { return s.warned >= 0.1 }

// String says it in a sentence.
func (s *RootSum) String() string {
	guess, where := "", "on its bench"
	if s.Open {
		where = "in the open: in its winter shelter it is warmer"
	}
	if !s.Known {
		guess = " (a cautious guess)"
	}
	return fmt.Sprintf("Roots in the coming %d nights: %s at the lowest, by %v; they stand %.0f °C%s: below that with %s. Reckoned for a pot of %.0f litres %s.",
		len(s.Nights), s.Lowest.text("°C"), s.Coldest, s.Stand, guess, percent(s.Below), max(1, s.Litres), where)
}

// rootSum follows the temperature of the pot, see [sums.RootMinimum], through the days
// behind and ahead in each member. Where the tree stands on a bench the air of the outlook is
// already that of the bench, and there is less wind. Snow, wraps and mulch are left out.
func (b *bench) rootSum() *RootSum {
	o := b.planner.outlook
	v, known := b.tree.Container.Vessel()
	from, to := o.Issue-rootBefore, o.Issue+rootNights
	if !known || from < o.First || to > o.Last() || b.underGround() {
		return nil
	}
	i, j := int(from-o.First), int(to-o.First)+1
	cold := false
	for k := range o.Members {
		for _, t := range o.Members[k].Tmin[j-rootNights : j] {
			cold = cold || t < max(coldAir, b.species.RootsStand()+rootMargin)
		}
	}
	if !cold {
		return nil
	}
	standing, open := sums.OnBench, b.tree.BenchOn(o.Issue) == ""
	if !open {
		standing = sums.Sheltered
	}
	s := &RootSum{Stand: b.species.RootsStand(), Known: b.species.RootsKilledBelow != nil, Litres: amountOf([]float64{v.Litres()}).P50, Open: open}
	pots := b.planner.rootsOf(pot{v, standing}, from, i, j)
	if pots == nil {
		return nil // a pot that the sum is not made for
	}
	nights := make([][]float64, rootNights)
	var lowest []float64
	coldest := make([]int, rootNights)
	for _, ahead := range pots {
		at := 0
		for n, t := range ahead {
			nights[n] = append(nights[n], t)
			if t < ahead[at] {
				at = n
			}
		}
		coldest[at]++
		lowest = append(lowest, ahead[at])
	}
	for _, t := range lowest {
		if t < s.Stand {
			s.Below += 1 / float64(len(lowest))
		}
		if t < s.Stand+rootMargin {
			s.warned += 1 / float64(len(lowest))
		}
	}
	s.Below = math.Round(1000*s.Below) / 1000
	best := 0
	for n := range nights {
		s.Nights = append(s.Nights, amountOf(nights[n]))
		if coldest[n] > coldest[best] {
			best = n
		}
	}
	s.Coldest, s.Lowest = o.Issue+climate.Date(best)+1, amountOf(lowest)
	return s
}

// pot is what tells how its soil follows the air.
type pot struct {
	vessel   sums.Vessel
	standing sums.Standing
}

// rootsOf returns how cold the soil of a pot gets in the nights ahead in each member,
// whose days i to j, before which there are rootBefore, begin on from; nil where that
// cannot be reckoned. Trees in pots alike share it.
func (p *Planner) rootsOf(of pot, from climate.Date, i, j int) [][]float64 {
	if out, ok := p.roots[of]; ok {
		return out
	}
	if len(p.roots) >= mostPots {
		clear(p.roots)
	}
	o := p.outlook
	out := make([][]float64, 0, len(o.Members))
	for k := range o.Members {
		m := &o.Members[k]
		tmin, tmax := within(m.Tmin[i:j]), within(m.Tmax[i:j])
		cold, err := sums.RootMinimum(of.vessel, of.standing, o.Site, from, tmin, tmax, min(max((tmin[0]+tmax[0])/2, -30), 40))
		if err != nil {
			out = nil
			break
		}
		out = append(out, cold.Lowest[rootBefore+1:])
	}
	p.roots[of] = out
	return out
}

// mostPots is of how many kinds of pot a planner remembers the cold.
const mostPots = 500

// within keeps temperatures in the range of [sums.RootMinimum].
func within(temps []float64) []float64 {
	out := make([]float64, len(temps))
	for i, t := range temps {
		out[i] = min(max(t, -60), 50)
	}
	return out
}

// underGround reports whether the tree still stands where it grew.
func (b *bench) underGround() bool { return b.tree.Origin.dug() && !b.state.Had.Valid() }
