package climate

import (
	"errors"
	"fmt"
)

// Weather is what is known of a site's weather. One of Record, Normals and
// Frost at least is set; what is measured outranks what was typed.
type Weather struct {
	Record   *Record      // daily weather, with its gaps
	Forecast *Record      // a provider's days after the record, where there is one
	Normals  *Normals     // the typical year
	Frost    *FrostNormal // average frost dates, where nothing better is known

	// Seed starts the generator of years; the same seed gives the same years.
	Seed uint64
}

const (
	daysBefore = 122 // an outlook begins so long before the season before that of its issue: 1 September in the north
	daysAfter  = 750 // and ends so long after its issue: eighteen months, and 200 days for the works that follow

	fullEnsemble = 10 // so many seasons stand for themselves
	leastMembers = 30 // with fewer, generated members are added up to this number
	typedMembers = 40 // members where only normals are known
)

// Outlook returns the weather of site as it stands on issue. Nothing that was
// read after issue is used for what is said of the days up to it.
func (w *Weather) Outlook(site Site, issue Date) (*Outlook, error) {
	o := &Outlook{Site: site, Issue: issue, First: site.SeasonStart(site.Season(issue)-1) - daysBefore}
	n := int(issue + daysAfter - o.First + 1)
	var known *Record
	if w.Record != nil {
		known = w.Record.Until(issue).trim()
		o.Basis.Source = w.Record.Source
	}
	cycle, err := w.cycle(site, known)
	if err != nil {
		return nil, err
	}
	var fixed []*Record
	if known != nil && len(known.Days) > 0 {
		known = w.extend(known, issue)
		filled := known.Fill(cycle)
		o.Record = filled.Until(issue)
		fixed = append(fixed, filled)
	}
	donors, seasons := w.donors(site, issue, cycle)
	o.Basis.Years = len(seasons)
	for i, year := range seasons {
		m := Member{Year: year, Tmin: make([]float64, n), Tmax: make([]float64, n)}
		for k := range n {
			d := o.First + Date(k)
			s := site.Season(d)
			src := seasons[mod(i+s-site.Season(issue), len(seasons))]
			day := donors.At(site.align(d, s, src))
			m.Tmin[k], m.Tmax[k] = day.Tmin, day.Tmax
		}
		o.Members = append(o.Members, m)
	}
	generated := 0
	switch {
	case w.Record == nil:
		generated = typedMembers
	case len(seasons) < fullEnsemble:
		generated = leastMembers - len(seasons)
	}
	o.Basis.Generated = generated
	o.Members = append(o.Members, cycle.generate(w.Seed, o.First, n, generated)...)
	for i := range o.Members {
		for _, r := range fixed {
			o.Members[i].fix(o.First, r)
		}
	}
	o.Basis.count(o.Record, issue)
	return o, nil
}
func (b *Basis) count(r *Record, issue Date) {
	if r == nil {
		r = &Record{}
	}
	f := r.Filling(issue-364, issue)
	b.Measured, b.Predicted, b.Interpolated, b.Typical = f.Measured, f.Predicted, f.Interpolated, f.Typical+f.Missing
}

func mod(a, n int) int { return ((a % n) + n) % n }

// align returns the day of season src that stands where d stands in season s.
func (s Site) align(d Date, season, src int) Date {
	t := d.Time()
	return NewDate(t.Year()+src-season, t.Month(), t.Day())
}

// trim drops the days without temperatures at the end of r.
func (r *Record) trim() *Record {
	n := len(r.Days)
	for n > 0 && r.Days[n-1].TminOrigin == Missing && r.Days[n-1].TmaxOrigin == Missing {
		n--
	}
	return r.Until(r.First + Date(n) - 1)
}

// extend glues the provider's forecast on known.
func (w *Weather) extend(known *Record, issue Date) *Record {
	if w.Forecast == nil || w.Forecast.Last() <= known.Last() {
		return known
	}
	out := &Record{Source: known.Source, First: known.First, Days: append([]Day(nil), known.Days...)}
	for d := known.Last() + 1; d <= w.Forecast.Last(); d++ {
		out.Days = append(out.Days, w.Forecast.At(d))
	}
	return out
}

func (m *Member) fix(first Date, r *Record) {
	for k := range m.Tmin {
		if d := first + Date(k); d >= r.First && d <= r.Last() {
			day := r.At(d)
			m.Tmin[k], m.Tmax[k] = day.Tmin, day.Tmax
		}
	}
}

func (w *Weather) cycle(site Site, known *Record) (*Cycle, error) {
	var err error
	if known != nil {
		var c *Cycle
		if c, err = known.Cycle(); err == nil {
			return c, nil
		}
	}
	switch {
	case w.Normals != nil:
		return w.Normals.Cycle(site)
	case w.Frost != nil:
		n, err := w.Frost.Normals(site)
		if err != nil {
			return nil, err
		}
		return n.Cycle(site)
	case w.Record != nil:
		if c, e := w.Record.Cycle(); e == nil {
			return c, nil
		}
		return nil, fmt.Errorf("%w, or normals or frost dates beside it", err)
	}
	return nil, errors.New("weather: want a record, normals or frost dates")
}

// donors returns the filled record and those of its seasons that may follow issue.
func (w *Weather) donors(site Site, issue Date, c *Cycle) (*Record, []int) {
	if w.Record == nil {
		return nil, nil
	}
	var out []int
	for _, s := range w.Record.Seasons(site) {
		if s != site.Season(issue) {
			out = append(out, s)
		}
	}
	return w.Record.Fill(c), out
}
