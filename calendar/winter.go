package calendar

import (
	"cmp"
	"fmt"

	"budswell/climate"
	"budswell/climate/phenology"
)

// winter is what the place gives trees that rest: the next one that the outlook
// holds from midsummer to midsummer, over its members.
type winter struct {
	known    bool
	coldest  float64   // mean of the coldest month, C
	swing    float64   // warmest less coldest month, C
	portions []float64 // chill portions, by member; nil where the cold leaves no doubt
}

// Limits of a winter. The portions are those below which growers of mild places find
// such trees weak and late, and about what the least demanding fruit trees want: common
// practice and from memory, no published source for trees in pots.
const (
	leastSwing   = 5.0  // C: where months differ by less, no tree can tell the seasons apart
	surelyCold   = 5.0  // C, of the coldest month: chill is then no question
	restPortions = 20.0 // of trees that rest all winter
	coolPortions = 10.0 // of pines of warm coasts, which do with a cool rest
)

// rest returns how many chill portions a group wants, and whether without them
// its buds cannot be told to come at all; 0 for groups that want none.
func rest(g phenology.Group) (portions float64, firm bool) {
	switch g {
	case phenology.Deciduous, phenology.DeciduousConifer, phenology.SingleFlushPine, phenology.SpruceFir:
		return restPortions, true
	case phenology.MultiFlushPine:
		return coolPortions, false
	}
	return 0, false
}

// grown reports whether trees of a group grow whenever it is warm enough, and so
// want no winter to wake from.
func grown(g phenology.Group) bool {
	return g == phenology.JuniperCypress || g == phenology.FrostTender
}

// winterOf measures the winter of an outlook.
func winterOf(o *climate.Outlook) (w winter) {
	season := o.Site.Season(o.Issue) + 1
	from, to := o.Site.Midsummer(season-1), o.Site.Midsummer(season)
	if from < o.First || to-1 > o.Last() {
		return w
	}
	i, j := int(from-o.First), int(to-o.First)
	var sum, n [12]float64
	for k := range o.Members {
		m := &o.Members[k]
		for d := i; d < j; d++ {
			month := (o.First + climate.Date(d)).Month() - 1
			sum[month] += (m.Tmin[d] + m.Tmax[d]) / 2
			n[month]++
		}
	}
	coldest, warmest := sum[0]/n[0], sum[0]/n[0]
	for k := range sum {
		coldest, warmest = min(coldest, sum[k]/n[k]), max(warmest, sum[k]/n[k])
	}
	w = winter{known: true, coldest: coldest, swing: warmest - coldest}
	if coldest > surelyCold {
		for k := range o.Members {
			m := &o.Members[k]
			p := climate.ChillPortions(o.Site.Lat, from, m.Tmin[i:j], m.Tmax[i:j])
			w.portions = append(w.portions, p[len(p)-1])
		}
	}
	return w
}

// chilled returns the share of winters that give so many portions, and their mean.
func (w *winter) chilled(portions float64) (share, mean float64) {
	if !w.known || len(w.portions) == 0 {
		return 1, 0
	}
	n := float64(len(w.portions))
	for _, p := range w.portions {
		mean += p / n
		if p >= portions {
			share += 1 / n
		}
	}
	return share, mean
}

// winterless reports whether the place has no winter of which the buds of a
// group could wake, so that no day can be told for what hangs on them.
func (w *winter) winterless(g phenology.Group) bool {
	portions, firm := rest(g)
	share, _ := w.chilled(portions)
	return w.known && !grown(g) && (w.swing < leastSwing || firm && share < 0.5)
}

// doubt says in a sentence what the place's winters lack for a group; empty where
// they do.
func (w *winter) doubt(s *Species) string {
	portions, firm := rest(s.Group)
	share, mean := w.chilled(portions)
	const sure = 0.9
	name := cmp.Or(s.Name, "such a tree")
	switch {
	case !w.known || grown(s.Group):
		return ""
	case w.swing < leastSwing:
		return fmt.Sprintf("Doubtful here: months differ by only %.0f °C, and nothing tells %s when to rest and when to wake. No day is given for work that hangs on its buds: go by the tree.",
			w.swing, name)
	case share >= sure:
		return ""
	case firm && share < 0.5:
		return fmt.Sprintf("Doubtful here: winters give about %.0f chill portions, and %s wants some %.0f to rest and wake well. No day is given for work that hangs on its buds: go by the tree.",
			mean, name, portions)
	}
	return fmt.Sprintf("Doubtful here: winters give about %.0f chill portions, and %s wants some %.0f, which come in %.0f of 100 winters; after others it wakes late and weak.",
		mean, name, portions, 100*share)
}

// winter measures the winter of the outlook once.
func (p *Planner) winter() *winter {
	if p.theWinter == nil {
		w := winterOf(p.outlook)
		p.theWinter = &w
	}
	return p.theWinter
}

// adrift reports whether a rule waits for buds that the place's winters do not wake.
func (b *bench) adrift(r *Rule) bool {
	hangs := func(a *Anchor) bool { return a.At == AtPhase }
	return (r.Opens.some(hangs) || r.Closes.some(hangs)) && b.planner.winter().winterless(b.species.Group)
}

// heatBegins is the mean of a week, C, from which such trees are better left alone where
// they grow all winter (common practice, no published source).
const heatBegins = 20

// endless finds whether a rule waits for growth to resume where growth does not stop,
// so that the window has no first day: draws that begin with the season say no more than that.
// Where the rule's end is counted from the same, the window lasts until the heat, or, where it is always hot or
// never, all the year.
func (p *Planner) endless(r *Rule, t *timing, season int, opens, closes climate.Sample) (from, to climate.Sample, yes bool) {
	swells := func(a *Anchor) bool { return a.At == AtPhase && a.Phase == phenology.BudSwell && !a.Next }
	first, _ := p.span(season)
	if !grown(t.species.Group) || !swells(&r.Opens) {
		return opens, closes, false
	}
	clamped := 0
	for _, d := range opens {
		if d.Valid() && d-climate.Date(r.Opens.Days) <= first+1 {
			clamped++
		}
	}
	if 2*clamped < len(opens) {
		return opens, closes, false
	}
	if swells(&r.Closes) {
		least := first + climate.Date(r.Closes.Days-r.Opens.Days)
		closes = append(climate.Sample{}, p.weather(event{at: AtWarmth, level: heatBegins, season: season})...)
		for i, d := range closes {
			if d == beforeAll || !d.Valid() || d < least {
				closes[i] = afterAll
			}
		}
	}
	return climate.Sample{first}, closes, true
}
