package climate

import "slices"

// Band is what is usual from day to day: of other years' values on a day, those that a
// tenth, half and nine tenths of them do not pass.
type Band struct {
	First         Date
	P10, P50, P90 []float64 // element 0 is that of First
}

// bandPool is how many days before and after one are taken together with it, so that
// thirty years give some 450 values a day rather than thirty, and the band's edge is that of the
// climate rather than of one odd day. Fifteen days are common practice, no published source; the
// season's own course within them widens the band by less than half a degree.
const bandPool = 7

// bandOf returns the band of n days from first on. Value returns what a year has on a day; pool
// days on either side count as well.
func bandOf(years int, first Date, n, pool int, value func(year int, d Date) float64) Band {
	b := Band{First: first, P10: make([]float64, n), P50: make([]float64, n), P90: make([]float64, n)}
	values := make([]float64, 0, years*(2*pool+1))
	for k := range n {
		values = values[:0]
		for i := range years {
			for d := first + Date(k-pool); d <= first+Date(k+pool); d++ {
				values = append(values, value(i, d))
			}
		}
		slices.Sort(values)
		b.P10[k], b.P50[k], b.P90[k] = share(values, 0.1), share(values, 0.5), share(values, 0.9)
	}
	return b
}

// share returns the quantile of sorted values, on a straight line between two of them; 0 of none.
func share(sorted []float64, p float64) float64 {
	if len(sorted) == 0 {
		return 0
	}
	x := p * float64(len(sorted)-1)
	i := min(int(x), len(sorted)-1)
	j := min(i+1, len(sorted)-1)
	return sorted[i] + (x-float64(i))*(sorted[j]-sorted[i])
}
