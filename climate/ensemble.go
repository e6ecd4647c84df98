package climate

// seasons returns a member of n days from first on for each season that may
// follow issue, shifted to the climate of issue's time; see [Record.Shifts].
func (p *past) seasons(site Site, issue, first Date, n int) []Member {
	out := make([]Member, len(p.years))
	now := site.Season(issue)
	shifts := p.donors.Shifts(site, p.years, now)
	for i, year := range p.years {
		m := Member{Year: year, Tmin: make([]float64, n), Tmax: make([]float64, n)}
		for k := 0; k < n; {
			d := first + Date(k)
			s := site.Season(d)
			from := mod(i+s-now, len(p.years))
			donor, summer := p.years[from], site.Midsummer(s)
			for next := site.SeasonStart(s + 1); k < n && first+Date(k) < next; k++ {
				day := p.donors.At(align(first+Date(k), donor-s))
				half := 0
				if first+Date(k) >= summer {
					half = 1
				}
				m.Tmin[k], m.Tmax[k] = shifts[from].On(half, day.Tmin, day.Tmax)
			}
		}
		out[i] = m
	}
	return out
}

// align returns the day of the calendar so many years later. 29 February falls on 1 March
// of years without it, which then stands twice; that of a leap year falls out
// in the others.
func align(d Date, years int) Date {
	t := d.Time()
	return NewDate(t.Year()+years, t.Month(), t.Day())
}

func mod(a, n int) int { return ((a % n) + n) % n }

// join lays the known days r over m and lets m go on from where r ends: the
// difference on the last known day fades by lag1 a day. That is how an
// autoregressive departure goes on from a known one, with the member's own news
// after it; a plain joint would forget in one night how warm it is. On the record of
// Harvard Forest the mean of the members comes within 3.6 C of the first day, and
// within 4.7 C plainly glued; after four days there is no difference.
func (m *Member) join(first Date, r *Record, lag1 float64) {
	last := int(r.Last() - first)
	if last >= len(m.Tmin) || last < 0 {
		last = -1
	}
	var lo, hi float64
	if last >= 0 {
		day := r.At(r.Last())
		lo, hi = day.Tmin-m.Tmin[last], day.Tmax-m.Tmax[last]
	}
	for k := max(0, int(r.First-first)); k < len(m.Tmin) && first+Date(k) <= r.Last(); k++ {
		day := r.At(first + Date(k))
		m.Tmin[k], m.Tmax[k] = day.Tmin, day.Tmax
	}
	const faded = 14
	for k := last + 1; last >= 0 && k < min(len(m.Tmin), last+1+faded); k++ {
		lo, hi = lo*lag1, hi*lag1
		m.Tmin[k], m.Tmax[k] = ordered(m.Tmin[k]+lo, m.Tmax[k]+hi)
	}
}

// trim drops the days without temperatures at the end of r.
func (r *Record) trim() *Record {
	n := len(r.Days)
	for n > 0 && r.Days[n-1].TminOrigin == Missing && r.Days[n-1].TmaxOrigin == Missing {
		n--
	}
	return r.Until(r.First + Date(n) - 1)
}

// gapless reports whether r has both temperatures of every day.
func (r *Record) gapless() bool {
	for _, d := range r.Days {
		if d.TminOrigin == Missing || d.TmaxOrigin == Missing {
			return false
		}
	}
	return true
}

// Without returns a copy of r in which the days from first to last are missing,
// as for a season that is to be forecast from the others.
func (r *Record) Without(first, last Date) *Record {
	out := &Record{Source: r.Source, First: r.First, Days: append([]Day(nil), r.Days...)}
	for d := max(first, r.First); d <= min(last, r.Last()); d++ {
		out.Days[d-r.First] = Day{}
	}
	return out
}
