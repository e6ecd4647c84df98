package climate

import "math"

// Progress is how far the season of a site has come by a day, beside what is usual there.
// What is usual is told by the members of an outlook before these are joined to what is
// known: the record's other seasons, moved to the climate of late as there, and generated ones.
type Progress struct {
	Site        Site
	Issue       Date
	Season      int
	First, Last Date // of the season

	Basis Basis

	// Until is the last day up to Issue with both temperatures measured; NoDate where
	// there is none in the season.
	Until Date

	Tmin, Tmax Band // of single days, First to Last

	// Days is the season's weather as it was measured up to Issue and is foretold after it: no
	// day's temperatures are filled, what is not known is Missing.
	Days []Day

	Warmth Tally // degree-days above [WarmthBase] by simple average, from First on
	Chill  Tally // chill portions of the winter at hand; see [ChillPortions]

	Nights     []Night      // from the day after Issue to the end of the season; in its second half, to the next one's middle
	LastFrost  []FrostAhead // at [NightLevels]: of this spring, from midsummer on of the next
	FirstFrost []FrostAhead // of this autumn
}

// WarmthBase is the base of the degree-days of a season, C, customary for the growing
// season of cool climates.
const WarmthBase = reportBase

// The days of a winter: chill counts from so long before a season, 1 September in the
// north and 1 March in the south, to so long after its start, the end of June and of December.
const (
	winterBefore = daysBefore
	winterAfter  = 181
)

// Progress tells how far the season of issue has come. It wants what [Weather.Outlook] does.
func (w *Weather) Progress(site Site, issue Date) (*Progress, error) {
	o, past, err := w.apart(site, issue)
	if err != nil {
		return nil, err
	}
	season := site.Season(issue)
	p := &Progress{
		Site: site, Issue: issue, Season: season, First: site.SeasonStart(season), Last: site.SeasonStart(season+1) - 1,
		Basis: o.Basis, Until: o.Supply.Until,
	}
	if p.Until < p.First {
		p.Until = NoDate
	}
	n := int(p.Last-p.First) + 1
	years := len(o.Members)
	p.Tmin = bandOf(years, p.First, n, bandPool, func(i int, d Date) float64 { return o.Members[i].Tmin[d-o.First] })
	p.Tmax = bandOf(years, p.First, n, bandPool, func(i int, d Date) float64 { return o.Members[i].Tmax[d-o.First] })
	for d := p.First; d <= p.Last; d++ {
		p.Days = append(p.Days, w.read(d, issue))
	}
	p.Warmth = o.tally(p.First, p.Last, func(_ Date, tmin, tmax []float64) []float64 { return warmthSums(tmin, tmax) })
	winter := season
	if issue >= site.SeasonStart(season+1)-winterBefore {
		winter++
	}
	from := site.SeasonStart(winter)
	p.Chill = o.tally(from-winterBefore, from+winterAfter-1, func(first Date, tmin, tmax []float64) []float64 {
		return ChillPortions(site.Lat, first, tmin, tmax)
	})
	o.join(past) // from here on members agree on what is known
	p.ahead(o, w)
	return p, nil
}

// ahead tells the frosts ahead, from members that go on from what is known.
func (p *Progress) ahead(o *Outlook, w *Weather) {
	spring, last := p.Season, p.Last
	if p.Issue >= p.Site.Midsummer(p.Season) {
		spring++
		last = p.Site.Midsummer(spring) - 1
	}
	p.Nights = o.nights(last, func(d Date) (float64, bool) {
		day := w.read(d, p.Issue)
		return day.Tmin, day.TminOrigin == Predicted
	})
	for _, level := range NightLevels {
		p.LastFrost = append(p.LastFrost, frostAhead(level, o.LastFrost(spring, level)))
		p.FirstFrost = append(p.FirstFrost, frostAhead(level, o.FirstFrost(p.Season, level)))
	}
}

// read returns a day as it was read by issue, or is foretold; temperatures that are
// neither are missing.
func (w *Weather) read(d, issue Date) Day {
	var day Day
	for _, r := range []*Record{w.Record, w.Forecast} {
		if r == nil {
			continue
		}
		of := r.At(d)
		after := r == w.Record && d > issue // a record that goes on, as in a hindcast
		if !after && of.TminOrigin >= Predicted && of.TminOrigin > day.TminOrigin {
			day.Tmin, day.TminOrigin = of.Tmin, of.TminOrigin
		}
		if !after && of.TmaxOrigin >= Predicted && of.TmaxOrigin > day.TmaxOrigin {
			day.Tmax, day.TmaxOrigin = of.Tmax, of.TmaxOrigin
		}
	}
	return day
}

// tally compares what sums makes of this year's record with what it makes of the members, which
// are not joined to it yet.
func (o *Outlook) tally(first, last Date, sums func(first Date, tmin, tmax []float64) []float64) Tally {
	i, j := int(first-o.First), int(last-o.First)+1
	others := make([][]float64, len(o.Members))
	for k := range o.Members {
		others[k] = sums(first, o.Members[k].Tmin[i:j], o.Members[k].Tmax[i:j])
	}
	var this []float64
	filled := 0
	if r := o.Record; r != nil && len(r.Days) > 0 && r.First <= first && r.Last() >= first {
		at := min(r.Last(), last)
		n := int(at-first) + 1
		measured := r.Filling(first, at).Measured
		if m, ok := r.Series(first, n); ok && 3*measured >= 2*n {
			this, filled = sums(first, m.Tmin, m.Tmax), n-measured
		}
	}
	t := tally(first, others, this, o.Basis.Generated > 0)
	t.Filled = filled
	return t
}

// warmthSums returns the degree-days above [WarmthBase] by the end of each day.
func warmthSums(tmin, tmax []float64) []float64 {
	warmth := DegreeDays{Method: SimpleAverage, Lower: WarmthBase, Upper: math.Inf(1)}
	out := make([]float64, len(tmin))
	sum := 0.0
	for i := range out {
		sum += warmth.Day(tmin[i], tmax[i])
		out[i] = sum
	}
	return out
}
