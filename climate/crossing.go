package climate

// Element is one of the temperatures of a day.
type Element uint8

// The elements that a [Condition] may be about.
const (
	DailyMin Element = iota
	DailyMean
	DailyMax
)

// Condition is something that is true of a day or not: that the mean of an
// element over the Days that end with it lies above a level, or at or below it.
type Condition struct {
	Of    Element
	Days  int     // days averaged, the day itself the last of them; 0 stands for 1
	Above bool    // true: above Level; false: at or below it
	Level float64 // C
}

// FirstDay returns, member by member, the first day from first to last on which
// c holds; NoDate where it holds on none.
func (o *Outlook) FirstDay(c Condition, first, last Date) Sample {
	return o.sample(first, last, c, func(hold func(Date) bool, first, last Date) Date {
		for d := first; d <= last; d++ {
			if hold(d) {
				return d
			}
		}
		return NoDate
	})
}

// LastDay returns, member by member, the last day from first to last on which
// c holds; NoDate where it holds on none.
func (o *Outlook) LastDay(c Condition, first, last Date) Sample {
	return o.sample(first, last, c, lastDay)
}

// Settles returns, member by member, the first day from which c holds on every
// day to last; NoDate where it does not hold on last.
func (o *Outlook) Settles(c Condition, first, last Date) Sample {
	return o.sample(first, last, c, func(hold func(Date) bool, first, last Date) Date {
		d := lastDay(func(d Date) bool { return !hold(d) }, first, last)
		switch {
		case first > last || d == last:
			return NoDate
		case !d.Valid():
			return first
		}
		return d + 1
	})
}

func lastDay(hold func(Date) bool, first, last Date) Date {
	for d := last; d >= first; d-- {
		if hold(d) {
			return d
		}
	}
	return NoDate
}

// sample asks find of every member. Days that the outlook does not cover are
// not looked at.
func (o *Outlook) sample(first, last Date, c Condition, find func(func(Date) bool, Date, Date) Date) Sample {
	first, last = max(first, o.First), min(last, o.Last())
	out := make(Sample, len(o.Members))
	for i := range o.Members {
		m := &o.Members[i]
		out[i] = find(func(d Date) bool { return c.holds(m, int(d-o.First)) }, first, last)
	}
	return out
}

// holds reports whether c is true of day k of m. At the start of the series
// the days that there are are averaged.
func (c Condition) holds(m *Member, k int) bool {
	sum, n := 0.0, 0
	for i := max(0, k-max(c.Days, 1)+1); i <= k; i++ {
		switch c.Of {
		case DailyMin:
			sum += m.Tmin[i]
		case DailyMax:
			sum += m.Tmax[i]
		default:
			sum += (m.Tmin[i] + m.Tmax[i]) / 2
		}
		n++
	}
	return sum/float64(n) > c.Level == c.Above
}

// LastFrost returns, member by member, the last day of the first half of season
// whose minimum is at or below level, C; NoDate where there is none.
func (o *Outlook) LastFrost(season int, level float64) Sample {
	return o.LastDay(Condition{Of: DailyMin, Level: level}, o.Site.SeasonStart(season), o.Site.Midsummer(season)-1)
}

// FirstFrost returns, member by member, the first day of the second half of
// season whose minimum is at or below level, C; NoDate where there is none.
func (o *Outlook) FirstFrost(season int, level float64) Sample {
	return o.FirstDay(Condition{Of: DailyMin, Level: level}, o.Site.Midsummer(season), o.Site.SeasonStart(season+1)-1)
}
