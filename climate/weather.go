package climate

import (
	"cmp"
	"errors"
	"fmt"
)

// Weather is what is known of a site's weather. One of Record, Normals and
// Frost at least is set; what is measured outranks what was typed.
//
// Normals that state an error, such as those of the atlas, are weighed with the
// typical year of a record until that has ten seasons, by the inverse squares of their errors:
// see [Basis.OwnWeight]; from two weeks of readings on they are moved toward these, see [Correction].
type Weather struct {
	Record   *Record      // daily weather, with its gaps
	Forecast *Record      // a provider's days after the record, where there is one
	Normals  *Normals     // the typical year
	Frost    *FrostNormal // average frost dates, where nothing better is known

	// Seed starts the generator of years; the same seed gives the same years.
	Seed uint64

	// Lapse is by how much sources for other elevations are adjusted; nil: by [LapseRate].
	Lapse *Lapse
}

const (
	daysBefore = 122 // an outlook begins so long before the season before that of its issue: 1 September in the north
	daysAfter  = 750 // and ends so long after its issue: eighteen months, and 200 days for the works that follow

	fullEnsemble = 10 // so many seasons stand for themselves
	leastMembers = 30 // with fewer, generated members are added up to this number
	typedMembers = 40 // members where only normals are known

	// With so many measured days a record's own typical year is better than one
	// typed or looked up: the standard error of a monthly mean of three years is
	// about 1.2 C, that of a good map 1.5 to 1.9 C.
	daysOfOwnCycle = 3 * 365
)

// Sources of outlooks without a record, as shown to people.
const (
	typedNormals = "normals as typed"
	typedFrost   = "frost dates as typed"
)

// Outlook returns the weather of site as it stands on issue. It wants a record
// of a year at least, or normals, or frost dates.
//
// The days of the record up to issue are known, with gaps filled from what
// was known by then; then the provider's days after them, if there are any; then,
// one member each, every season of the record that is complete, other than issue's own,
// aligned by the calendar and followed by the next one, the last by the first. For
// an issue within a long record (a hindcast) the seasons after it serve as well as
// those before it, but nothing read after issue is used for the days up to it.
// Of a long record the seasons are shifted to the climate of issue's time, see [Record.Shifts].
// Where the known days end, members take over smoothly: see [Member.join].
//
// With fewer than ten seasons, generated members are added until there are
// thirty; without a record there are forty, and all days differ. Of the
// days that the record lacks between its end and issue nothing is known, and
// members differ there too.
func (w *Weather) Outlook(site Site, issue Date) (*Outlook, error) {
	o, past, err := w.apart(site, issue)
	if err != nil {
		return nil, err
	}
	o.join(past)
	return o, nil
}

// apart is the outlook before its members are joined to what is known: each is a year
// of its own from the first day to the last.
func (w *Weather) apart(site Site, issue Date) (*Outlook, *past, error) {
	if !issue.Valid() {
		return nil, nil, errors.New("outlook: want a day of issue")
	}
	o := &Outlook{Site: site, Issue: issue, First: site.SeasonStart(site.Season(issue)-1) - daysBefore}
	n := int(issue + daysAfter - o.First + 1)
	past, err := w.past(site, issue)
	if err != nil {
		return nil, nil, err
	}
	o.Basis.Source = past.source
	if n := w.Normals; n != nil && n.Source != "" && past.weight < 1 {
		o.Basis.Normals, o.Basis.OwnWeight, o.Basis.Correction = n.Source, past.weight, past.shift
	}
	if past.known != nil {
		o.Record = past.known.Until(issue)
	}
	o.Basis.count(o.Record, issue)
	o.Supply = w.Supply(issue)

	o.Members = past.seasons(site, issue, o.First, n)
	o.Basis.Years = len(o.Members)
	switch {
	case !w.measures():
		o.Basis.Generated = typedMembers
	case o.Basis.Years < fullEnsemble:
		o.Basis.Generated = leastMembers - o.Basis.Years
	}
	o.Members = append(o.Members, past.cycle.generate(w.Seed, o.First, n, o.Basis.Generated)...)
	return o, past, nil
}

// join lets the members of o agree on what is known, and go on from there.
func (o *Outlook) join(p *past) {
	for i := range o.Members {
		m := &o.Members[i]
		for _, r := range []*Record{p.known, p.ahead} {
			if r != nil {
				m.join(o.First, r, p.cycle.lag1)
			}
		}
	}
}

// count sets the days of the year up to issue.
func (b *Basis) count(r *Record, issue Date) {
	f := Filling{Missing: 365}
	if r != nil {
		f = r.Filling(issue-364, issue)
	}
	b.Measured, b.Predicted, b.Interpolated = f.Measured, f.Predicted, f.Interpolated
	b.Typical = f.Typical + f.Missing
}

// past is what an outlook is made of.
type past struct {
	source string
	cycle  *Cycle
	known  *Record    // days known by issue and the provider's that follow them, filled; nil where none
	ahead  *Record    // the provider's days, filled, where they do not follow those of the record
	donors *Record    // the whole record without the rest of issue's season, filled; nil without a record
	years  []int      // seasons of donors that members are made of
	weight float64    // of the record's own typical year in the cycle, 0 to 1
	shift  Correction // of the normals that have the rest
}

// measures reports whether there is a record, with days in it.
func (w *Weather) measures() bool { return w.Record != nil && len(w.Record.Days) > 0 }

func (w *Weather) past(site Site, issue Date) (*past, error) {
	p := &past{}
	var known *Record
	if w.measures() {
		p.source = w.Record.Source
		known = w.Record.Until(issue).trim()
		p.donors = w.Record.Without(issue+1, site.SeasonStart(site.Season(issue)+1)-1)
	}
	var err error
	gapless := known == nil || known.gapless()
	if p.cycle, p.weight, p.shift, err = w.cycle(site, known); err != nil {
		if p.donors == nil {
			return nil, err
		}
		// In the first year of a record only the years to come tell what is
		// typical; they must not fill the days before issue.
		if p.cycle, _ = p.donors.Cycle(); p.cycle == nil || !gapless {
			return nil, err
		}
	}
	if p.donors != nil {
		for _, s := range p.donors.Seasons(site) {
			if s != site.Season(issue) {
				p.years = append(p.years, s)
			}
		}
		p.donors = p.donors.Fill(p.cycle)
	} else if w.Normals != nil {
		p.source = cmp.Or(w.Normals.Source, typedNormals)
	} else {
		p.source = typedFrost
	}
	p.known, p.ahead = w.extend(known)
	for _, r := range []**Record{&p.known, &p.ahead} {
		if *r != nil {
			*r = (*r).Fill(p.cycle)
		}
	}
	return p, nil
}

// cycle returns the seasonal cycle as it could be told from the known days: the
// record's own where it has three years, else that of what was typed, else that
// of a shorter record. Normals with an error are weighed with the record's own
// until it has ten, and shifted toward its readings from two weeks on. The weight of
// the record's own and the shift are returned as well.
func (w *Weather) cycle(site Site, known *Record) (c *Cycle, weight float64, shift Correction, err error) {
	var own *Cycle
	measured := 0
	err = errors.New("weather: want a record, normals or frost dates")
	if known != nil {
		own, err = known.Cycle()
		measured = known.Filling(known.First, known.Last()).Measured
	}
	weighed := w.Normals != nil && w.Normals.Error > 0
	enough := daysOfOwnCycle
	if weighed {
		enough = fullEnsemble * 365
	}
	switch {
	case own != nil && (measured >= enough || w.Normals == nil && w.Frost == nil):
		return own, 1, shift, nil
	case w.Normals != nil:
		c, err := w.Normals.Cycle(site)
		if err != nil || known == nil || !weighed {
			return c, 0, shift, err
		}
		if c, shift = c.shifted(known, w.Normals.Error); own == nil {
			return c, 0, shift, nil
		}
		weight := own.weight(measured, w.Normals.Error)
		return own.mix(c, weight), weight, shift, nil
	case w.Frost != nil:
		n, err := w.Frost.Normals(site)
		if err != nil {
			return nil, 0, shift, err
		}
		c, err := n.Cycle(site)
		return c, 0, shift, err
	}
	if errors.Is(err, errShort) {
		err = fmt.Errorf("%w, or normals or frost dates beside it", err)
	}
	return nil, 0, shift, err
}

// extend glues the provider's days on the known ones: as one record where the gap
// between them is short enough to be interpolated, else as one of their own.
func (w *Weather) extend(known *Record) (joined, ahead *Record) {
	if known != nil && len(known.Days) == 0 {
		known = nil
	}
	if w.Forecast == nil || len(w.Forecast.Days) == 0 {
		return known, nil
	}
	f := w.Forecast.trim()
	if known == nil {
		return nil, f
	}
	if f.Last() <= known.Last() {
		return known, nil
	}
	if f.First > known.Last()+1+MaxInterpolated {
		return known, f
	}
	joined = &Record{Source: known.Source, First: known.First, Days: append([]Day(nil), known.Days...)}
	for d := known.Last() + 1; d <= f.Last(); d++ {
		joined.Days = append(joined.Days, f.At(d))
	}
	return joined, nil
}
