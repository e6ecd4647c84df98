package climate

import "slices"

// Sample is a distribution of a day: equally likely days, one for each draw of
// a forecast, in the order of the draws. [NoDate] in it means that the day does
// not come in that draw. Samples of one forecast can be combined draw by draw.
type Sample []Date

// Spread is a distribution told by its 10, 50 and 90 % days.
type Spread struct {
	P10 Date `json:"p10" yaml:"p10"`
	P50 Date `json:"p50" yaml:"p50"`
	P90 Date `json:"p90" yaml:"p90"`
}

// Chance returns the share of draws in which the day comes, 0 to 1.
func (s Sample) Chance() float64 {
	if len(s) == 0 {
		return 0
	}
	n := 0
	for _, d := range s {
		if d.Valid() {
			n++
		}
	}
	return float64(n) / float64(len(s))
}

// By returns the probability that the day has come by d, 0 to 1.
func (s Sample) By(d Date) float64 {
	if len(s) == 0 {
		return 0
	}
	n := 0
	for _, v := range s {
		if v.Valid() && v <= d {
			n++
		}
	}
	return float64(n) / float64(len(s))
}

// Quantile returns the day before or on which a share p (0 to 1) of those draws
// fall in which the day comes at all, and false when it comes in none.
func (s Sample) Quantile(p float64) (Date, bool) {
	sorted := s.sorted()
	if len(sorted) == 0 {
		return NoDate, false
	}
	return quantile(sorted, p), true
}

// Spread returns the 10, 50 and 90 % days of those draws in which the day comes
// at all, and false when it comes in none.
func (s Sample) Spread() (Spread, bool) {
	sorted := s.sorted()
	if len(sorted) == 0 {
		return Spread{NoDate, NoDate, NoDate}, false
	}
	return Spread{quantile(sorted, 0.1), quantile(sorted, 0.5), quantile(sorted, 0.9)}, true
}

func (s Sample) sorted() []Date {
	out := make([]Date, 0, len(s))
	for _, d := range s {
		if d.Valid() {
			out = append(out, d)
		}
	}
	slices.Sort(out)
	return out
}

// quantile takes the nearest rank, so that it answers with a day that was drawn.
func quantile(sorted []Date, p float64) Date {
	i := int(p * float64(len(sorted)))
	return sorted[max(0, min(i, len(sorted)-1))]
}
