package climate

// MaxInterpolated is the longest gap, in days, whose departures from the typical
// year are drawn as a straight line between the days around it; longer gaps
// take the typical year itself.
const MaxInterpolated = 5

// Filling counts days by how their temperatures came to be; a day counts by the
// poorer of its two values.
type Filling struct {
	Measured     int `json:"measured"`
	Predicted    int `json:"predicted"`
	Interpolated int `json:"interpolated"`
	Typical      int `json:"typical"`
	Missing      int `json:"missing"`
}

// Filling counts the days from first to last; days outside r are missing.
func (r *Record) Filling(first, last Date) Filling {
	var f Filling
	for d := first; d <= last; d++ {
		day := r.At(d)
		switch min(day.TminOrigin, day.TmaxOrigin) {
		case Measured:
			f.Measured++
		case Predicted:
			f.Predicted++
		case Interpolated:
			f.Interpolated++
		case Typical:
			f.Typical++
		default:
			f.Missing++
		}
	}
	return f
}

// Fill returns a copy of r in which no temperature is missing. What was there
// is untouched; what is filled is marked so. Where one of the two temperatures
// of a day is known, the other's departure from the cycle is regressed on it;
// gaps of both up to [MaxInterpolated] days are interpolated as departures; the
// rest is the cycle. The minimum never exceeds the maximum.
func (r *Record) Fill(c *Cycle) *Record {
	out := &Record{Source: r.Source, First: r.First, Days: append([]Day(nil), r.Days...)}
	for i := range out.Days {
		out.Days[i].regress(c, cycleDay(r.First+Date(i)))
	}
	for i := 0; i < len(out.Days); i++ {
		if out.Days[i].TminOrigin != Missing {
			continue
		}
		j := i
		for j < len(out.Days) && out.Days[j].TminOrigin == Missing {
			j++
		}
		out.fillGap(c, i, j)
		i = j
	}
	return out
}

// regress fills the one temperature of d that is missing from the other. The
// regression of one standardized departure on the other has the slope of their
// correlation.
func (d *Day) regress(c *Cycle, k int) {
	switch {
	case d.TminOrigin == Missing && d.TmaxOrigin != Missing:
		z := (d.Tmax - c.tmax[k]) / c.tmaxSD[k]
		d.Tmin = max(min(c.tmin[k]+c.cross*z*c.tminSD[k], d.Tmax), lowest)
		d.TminOrigin = Interpolated
	case d.TmaxOrigin == Missing && d.TminOrigin != Missing:
		z := (d.Tmin - c.tmin[k]) / c.tminSD[k]
		d.Tmax = min(max(c.tmax[k]+c.cross*z*c.tmaxSD[k], d.Tmin), highest)
		d.TmaxOrigin = Interpolated
	}
}

// fillGap fills days i to j-1, of which both temperatures are missing.
func (r *Record) fillGap(c *Cycle, i, j int) {
	departure := func(k int) (lo, hi float64) {
		tmin, tmax := c.At(r.First + Date(k))
		return r.Days[k].Tmin - tmin, r.Days[k].Tmax - tmax
	}
	short := j-i <= MaxInterpolated && i > 0 && j < len(r.Days)
	var lo0, hi0, lo1, hi1 float64
	if short {
		lo0, hi0 = departure(i - 1)
		lo1, hi1 = departure(j)
	}
	for k := i; k < j; k++ {
		w := float64(k-i+1) / float64(j-i+1)
		day := &r.Days[k]
		tmin, tmax := c.At(r.First + Date(k))
		day.Tmin, day.Tmax = ordered(tmin+(1-w)*lo0+w*lo1, tmax+(1-w)*hi0+w*hi1)
		day.TminOrigin, day.TmaxOrigin = Typical, Typical
		if short {
			day.TminOrigin, day.TmaxOrigin = Interpolated, Interpolated
		}
	}
}

// Seasons returns, in order, the growing seasons that r covers from the first
// day to the last, with two days of three measured at least.
func (r *Record) Seasons(site Site) []int {
	var out []int
	if len(r.Days) == 0 {
		return nil
	}
	for s := site.Season(r.First); s <= site.Season(r.Last()); s++ {
		first, last := site.SeasonStart(s), site.SeasonStart(s+1)-1
		if first < r.First || last > r.Last() {
			continue
		}
		if f := r.Filling(first, last); 3*f.Measured >= 2*int(last-first+1) {
			out = append(out, s)
		}
	}
	return out
}

// Series returns the temperatures of n days from first on, and false when one
// of them is missing. It is meant for filled records: the members of a
// reference period are the Series of its [Record.Seasons].
func (r *Record) Series(first Date, n int) (Member, bool) {
	i := int(first - r.First)
	if i < 0 || i+n > len(r.Days) || n < 0 {
		return Member{}, false
	}
	m := Member{Tmin: make([]float64, n), Tmax: make([]float64, n)}
	for k, d := range r.Days[i : i+n] {
		if d.TminOrigin == Missing || d.TmaxOrigin == Missing {
			return Member{}, false
		}
		m.Tmin[k], m.Tmax[k] = d.Tmin, d.Tmax
	}
	return m, true
}
