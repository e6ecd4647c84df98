package climate

import (
	"fmt"
	"math"
	"sync"
)

// Limits within which typed frost dates are explained: the mean daily range of
// temperature, C, and how far the middle of the frost-free season may lie from
// where the sun puts it, days. From memory: fog coasts have 3, deserts above 20.
const (
	leastDailyRange    = 2.0
	greatestDailyRange = 24.0
	usualDailyRange    = 10.0
	greatestLag        = 50
)

// Normals returns the typical year that f tells of: a sinusoid with f's mean and
// range, warmest some four weeks after the longest day; its daily range and its
// delay behind the sun are those with which generated years have their median
// last and first frost on the typed days. Dates that no such year has are an
// error that says what would go with them.
func (f *FrostNormal) Normals(site Site) (*Normals, error) {
	if err := f.Validate(); err != nil {
		return nil, err
	}
	want, err := f.offsets(site)
	if err != nil {
		return nil, err
	}
	lag := float64(want.last+want.first) / 2
	if math.Abs(lag-usualLag) > greatestLag {
		return nil, fmt.Errorf("frost: the season between last %v and first %v has its middle on %v: want it between %v and %v at this latitude",
			f.Last, f.First, f.middle(site, lag), f.middle(site, usualLag-greatestLag), f.middle(site, usualLag+greatestLag))
	}
	y := sinusoid{mean: f.Mean, swing: f.Range, lag: lag}
	length := want.first - want.last
	for range 3 {
		if y.width = bisect(leastDailyRange, greatestDailyRange, func(width float64) bool {
			y.width = width
			return y.frosts(site).length() > length
		}); y.width == leastDailyRange || y.width == greatestDailyRange {
			return nil, f.contradiction(y, site, length)
		}
		got := y.frosts(site)
		y.lag += float64(want.last+want.first-got.last-got.first) / 2
	}
	if got := y.frosts(site); abs(got.last-want.last) > 3 || abs(got.first-want.first) > 3 {
		return nil, f.contradiction(y, site, length)
	}
	return y.normals(site), nil
}

// contradiction says what mean temperature would go with f's dates.
func (f *FrostNormal) contradiction(y sinusoid, site Site, length int) error {
	y.width = usualDailyRange
	mean := bisect(-30, 35, func(mean float64) bool {
		y.mean = mean
		return y.frosts(site).length() < length
	})
	if mean == -30 || mean == 35 {
		return fmt.Errorf("frost: no mean of the year goes with a range of %v C and a season of %d days between last %v and first %v: want a range nearer to 20 C, or other days",
			f.Range, length, f.Last, f.First)
	}
	return fmt.Errorf("frost: a mean of %v C and a range of %v C do not go with a season of %d days between last %v and first %v: with this range want a mean near %.0f C, or other days",
		f.Mean, f.Range, length, f.Last, f.First, mean)
}

// usualLag is how long after the first of the season's second half the warmest
// day falls: 20 July, 18 January.
const usualLag = 19

// frostDays are median days of last and first frost, counted from midsummer.
type frostDays struct{ last, first int }

func (d frostDays) length() int { return d.first - d.last }

// offsets counts f's days from midsummer.
func (f *FrostNormal) offsets(site Site) (frostDays, error) {
	const season = 2001
	start, mid, end := site.SeasonStart(season), site.Midsummer(season), site.SeasonStart(season+1)
	place := func(d MonthDay) Date {
		if v := d.In(season); v >= start {
			return v
		}
		return d.In(season + 1)
	}
	last, first := place(f.Last), place(f.First)
	if last >= mid {
		return frostDays{}, fmt.Errorf("frost: last %v: want a day of spring, %s to %s at this latitude", f.Last, monthDay(start), monthDay(mid-1))
	}
	if first < mid {
		return frostDays{}, fmt.Errorf("frost: first %v: want a day of autumn, %s to %s at this latitude", f.First, monthDay(mid), monthDay(end-1))
	}
	return frostDays{int(last - mid), int(first - mid)}, nil
}

func monthDay(d Date) MonthDay { return MonthDay{d.Month(), d.Day()} }

func (f *FrostNormal) middle(site Site, lag float64) MonthDay {
	return monthDay(site.Midsummer(2001) + Date(math.Round(lag)))
}

// sinusoid is the simplest year: C, and days.
type sinusoid struct {
	mean, swing float64 // of the daily means; swing is warmest less coldest month
	width       float64 // mean daily range
	lag         float64 // the warmest day, counted from midsummer
}

// normals returns the monthly means of y.
func (y sinusoid) normals(site Site) *Normals {
	peak := float64(cycleDay(site.Midsummer(2001))) + y.lag
	raw := [12]float64{}
	lo, hi := math.Inf(1), math.Inf(-1)
	for m, days := range monthOf365() {
		for _, i := range days {
			raw[m] += math.Cos(2*math.Pi*(float64(i)-peak)/cycleDays) / float64(len(days))
		}
		lo, hi = min(lo, raw[m]), max(hi, raw[m])
	}
	n := &Normals{}
	for m := range raw {
		t := y.mean + y.swing*raw[m]/(hi-lo)
		n.Tmin[m], n.Tmax[m] = t-y.width/2, t+y.width/2
	}
	return n
}

// frosts returns the median days of frost of those generated years of y that
// have one; a day beyond the half's far end where most have none.
func (y sinusoid) frosts(site Site) frostDays {
	const season = 2001
	n := y.normals(site)
	c := &Cycle{cross: defaultCross, tmin: dailyCourse(&n.Tmin), tmax: dailyCourse(&n.Tmax)}
	c.vary(n, site)
	start, mid := site.SeasonStart(season), site.Midsummer(season)
	cycle := make([]int, 365)
	for k := range cycle {
		cycle[k] = cycleDay(start + Date(k))
	}
	summer := int(mid - start)
	frost := func(z [2]float64, k int) bool {
		tmin, _ := c.weather(cycle[k], z[0], z[1])
		return tmin <= 0
	}
	day := func(k int, ok bool) Date {
		if !ok {
			return NoDate
		}
		return Date(k - summer)
	}
	var last, first Sample
	for _, year := range calibrationYears() {
		k := summer - 1
		for k >= 0 && !frost(year[k], k) {
			k--
		}
		last = append(last, day(k, k >= 0))
		k = summer
		for k < len(year) && !frost(year[k], k) {
			k++
		}
		first = append(first, day(k, k < len(year)))
	}
	out := frostDays{-summer - 1, len(cycle) - summer}
	if d, _ := last.Quantile(0.5); last.Chance() > 0.5 {
		out.last = int(d)
	}
	if d, _ := first.Quantile(0.5); first.Chance() > 0.5 {
		out.first = int(d)
	}
	return out
}

// calibrationYears holds the departures on which typed frost dates are tuned.
// They are always the same, so that a site's normals do not change with the seed
// of its outlook.
var calibrationYears = sync.OnceValue(func() [][][2]float64 {
	const years, seed = 1000, 20
	c := &Cycle{lag1: defaultLag1, cross: defaultCross, slow: defaultSlow}
	out := make([][][2]float64, 0, years)
	for i := range uint64(years / 2) {
		z := newDepartures(c, seed, i)
		a, b := make([][2]float64, 365), make([][2]float64, 365)
		for k := range a {
			lo, hi := z.next()
			a[k], b[k] = [2]float64{lo, hi}, [2]float64{-lo, -hi}
		}
		out = append(out, a, b)
	}
	return out
})

// bisect returns where below turns from true to false between lo and hi; lo or
// hi itself where it does not turn.
func bisect(lo, hi float64, below func(float64) bool) float64 {
	if !below(lo) {
		return lo
	}
	if below(hi) {
		return hi
	}
	for hi-lo > 0.02 {
		if m := (lo + hi) / 2; below(m) {
			lo = m
		} else {
			hi = m
		}
	}
	return (lo + hi) / 2
}

func abs(n int) int { return max(n, -n) }
