package nudge

import (
	"fmt"
	"math"
	"slices"
	"time"

	"budswell/calendar"
	"budswell/climate"
	"budswell/climate/phenology"
)

// What of the weather forecast is told. All of it is common practice, no published source.
const (
	// nearFrost is the forecast minimum from which frost on the ground must be
	// reckoned with, C: in clear, still nights it is some degrees colder there than
	// in the screen.
	nearFrost = 2

	// nearCold is the same for trees that have no dormancy and suffer from cold
	// above freezing, C.
	nearCold = 5

	// potLag is by how much the ball of roots in a pot stays above the lowest air
	// temperature of a single night, C. It is kept small: small pots follow fast.
	potLag = 2

	// defaultHeat is the forecast maximum from which trees want shade where the
	// rule does not say, C.
	defaultHeat = 32

	// ahead is how many nights or days in a row one message tells, so that a long
	// cold or hot spell is not told each day anew.
	ahead = 3

	// urgentFor is how long news of the coming night or day is of use.
	urgentFor = 30 * time.Hour
)

// spell returns the days from first on, without a break and no more than ahead,
// of which the weather forecast holds for where a tree stands.
func (m *Morning) spell(t *calendar.TreePlan, first climate.Date, holds func(climate.Day) bool) (out []climate.Date) {
	for d := first; m.Nights != nil && d < first+ahead && holds(about(t.Bench, m.Nights.At(d))); d++ {
		out = append(out, d)
	}
	return out
}

// coldest is what frostNear and rootCold have in common: for each tree that
// level finds at risk, the cold nights to come, as the subjects of a draft.
func (m *Morning) coldest(kind string, level func(*calendar.TreePlan) (c float64, at bool)) (n draft, trees []*calendar.TreePlan, low float64) {
	n = draft{kind: kind, urgent: true, expires: m.now.Add(urgentFor)}
	tonight := m.Plan.On + 1 // the coldest hour of the coming night is towards its morning
	for i := range m.Plan.Trees {
		t := &m.Plan.Trees[i]
		c, at := level(t)
		nights := m.spell(t, tonight, func(d climate.Day) bool { return d.TminOrigin >= climate.Predicted && d.Tmin <= c })
		name := func(d climate.Date) string { return fmt.Sprintf("%s %s %s %s", kind, d, m.Place, t.Tree.ID) }
		if !at || len(nights) == 0 || m.told[name(tonight)] {
			continue
		}
		trees = append(trees, t)
		for _, d := range nights {
			if !m.told[name(d)] {
				n.subjects = append(n.subjects, name(d))
			}
		}
	}
	if len(trees) > 0 {
		low = m.Nights.At(tonight).Tmin
	}
	return n, trees, low
}

const groundColder = "On clear, still nights the ground is some degrees colder than that, and a forecast of the night is often a degree or two out."

// frostNear tells of the coming night where it is forecast near freezing, for
// trees whose roots or growth are soft now.
func frostNear(m *Morning) (draft, bool) {
	watched := map[string]*calendar.Planned{}
	n, trees, low := m.coldest(FrostNear, func(t *calendar.TreePlan) (float64, bool) {
		for k := range t.Works {
			if w := &t.Works[k]; w.Work.ID == frostWatch && m.isOpen(w) {
				watched[t.Tree.ID] = w
				switch {
				case t.Species.Group == phenology.FrostTender:
					return nearCold, true
				case heated(t.Bench):
					return 0, true
				}
				return nearFrost, true
			}
		}
		return 0, false
	})
	if len(trees) == 0 {
		return n, false
	}
	in := m.in
	n.letter = m.newLetter(
		in.Say("The weather forecast has {1} for tonight, and these trees cannot bear frost now. Cover them, or bring them in for the night.", in.Tenths(low)),
		in.Say(groundColder))
	var works []shared
	for _, t := range trees {
		works = m.share(works, t, watched[t.Tree.ID])
		n.link("did:"+frostWatch, in.Say("Done: protected for the night"), t.Tree.ID)
	}
	p := part{Lines: m.nightsAhead(trees)}
	for _, w := range works {
		i := item{Text: w.name + ": " + joined(w.trees)}
		if w.work.Why != "" {
			i.Notes = []string{in.Say("Why: {1}", reason(in, w.work))}
		}
		i.Notes = append(i.Notes, in.Say("To be watched until {1}.", when(in, w.work.Window.Closes)))
		n.letter.caution(w.work.Cautions...)
		p.Items = append(p.Items, i)
	}
	n.letter.part(p)
	n.title = in.Say("Frost near tonight at {1}: {2} forecast", m.Plan.Site.Name, in.Tenths(low))
	return n, true
}

// rootCold tells of the coming night where it is forecast colder than potted
// roots of a tree stand, unless the tree was brought into its winter shelter.
func rootCold(m *Morning) (draft, bool) {
	n, trees, low := m.coldest(RootCold, func(t *calendar.TreePlan) (float64, bool) {
		return t.Species.RootsStand() - potLag, !sheltered(&t.State)
	})
	if len(trees) == 0 {
		return n, false
	}
	in := m.in
	n.letter = m.newLetter(
		in.Say("The weather forecast has {1} for tonight. Roots in a pot stand far less cold than branches, and those of these trees may be killed.", in.Tenths(low)),
		in.Say("Move them to a frost-free place, or sink and cover the pots."), in.Say(groundColder))
	p := part{Lines: m.nightsAhead(trees)}
	for _, t := range trees {
		stand := in.Tenths(t.Species.RootsStand())
		sure := in.Say("as far as is known, its potted roots stand {1}", stand)
		if t.Species.RootsKilledBelow == nil {
			sure = in.Say("what its potted roots stand is not known; to be cautious, {1}", stand)
		}
		p.Items = append(p.Items, item{Text: fmt.Sprintf("%s (%s): %s", t.Tree.Name, t.Species.Name, sure)})
		n.link("did:winter-shelter", in.Say("Done: in winter shelter"), t.Tree.ID)
		for k := range t.Works {
			if w := &t.Works[k]; w.Work.ID == "winter-shelter" {
				n.letter.caution(w.Cautions...)
			}
		}
	}
	n.letter.part(p)
	n.title = in.Say("Too cold for potted roots tonight at {1}: {2} forecast", m.Plan.Site.Name, in.Tenths(low))
	return n, true
}

// sheltered reports whether a tree was brought into its winter shelter and, as
// far as the log tells, is there still.
func sheltered(s *calendar.State) bool {
	const winter = 240 // days; a log that tells of no coming out is not believed longer
	in, is := s.Last["winter-shelter"]
	out, left := s.Last["out-of-winter"]
	return is && (!left || out < in) && s.On-in < winter
}

// heat tells of today or tomorrow where it is forecast hotter than trees bear
// without shade and more water.
func heat(m *Morning) (draft, bool) {
	n := draft{kind: Heat, urgent: true, expires: m.now.Add(urgentFor)}
	in := m.in
	var trees []*calendar.TreePlan
	var works []shared
	var p part
	most := math.Inf(-1)
	for i := range m.Plan.Trees {
		t := &m.Plan.Trees[i]
		k := slices.IndexFunc(t.Works, func(w calendar.Planned) bool {
			return w.Work.ID == heatShade && w.Season == m.Plan.Site.Season(m.Plan.On) && len(w.Blocked) == 0
		})
		if k < 0 {
			continue
		}
		w, from := &t.Works[k], float64(defaultHeat)
		if w.Rule.Opens.C != nil {
			from = *w.Rule.Opens.C
		}
		hot := func(d climate.Day) bool { return d.TmaxOrigin >= climate.Predicted && d.Tmax >= from }
		days := m.spell(t, m.Plan.On, hot)
		if len(days) == 0 {
			days = m.spell(t, m.Plan.On+1, hot)
		}
		name := func(d climate.Date) string { return fmt.Sprintf("%s %s %s %s", Heat, d, m.Place, t.Tree.ID) }
		if len(days) == 0 || m.told[name(days[0])] {
			continue
		}
		for _, d := range days {
			if !m.told[name(d)] {
				n.subjects = append(n.subjects, name(d))
			}
			most = max(most, m.Nights.At(d).Tmax)
		}
		trees, works = append(trees, t), m.share(works, t, w)
		n.link("did:"+heatShade, in.Say("Done: shaded"), t.Tree.ID)
	}
	if len(works) == 0 {
		return n, false
	}
	n.letter = m.newLetter(in.Say("The weather forecast has up to {1} for these days. Water in the morning, look again towards evening, and keep the midday sun off pots and leaves.", in.Tenths(most)))
	p.Lines = append(m.daysAhead(trees), in.Say("Such a forecast is often a degree or two out."))
	for _, w := range works {
		i := item{Text: w.name + ": " + joined(w.trees)}
		if w.work.Why != "" {
			i.Notes = []string{in.Say("Why: {1}", reason(in, w.work))}
		}
		n.letter.caution(w.work.Cautions...)
		p.Items = append(p.Items, i)
	}
	n.letter.part(p)
	n.title = in.Say("Heat at {1}: up to {2} forecast", m.Plan.Site.Name, in.Tenths(most))
	return n, true
}
