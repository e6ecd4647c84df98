package nudge

import (
	"fmt"
	"slices"

	"budswell/calendar"
	"budswell/climate"
	"budswell/climate/phenology"
)

const (
	likely = 0.5 // the probability from which a thing is told

	// swells is how long buds go on swelling before they open, in days; common
	// practice, no published source. What has most likely been over for so long
	// is not told any more.
	swells = 21

	// flushGap is about how many days lie between one class of flushing and the
	// next; see phenology.Flush.
	flushGap = 9
)

// flushes are the classes of flushing in their order.
var flushes = []phenology.Flush{phenology.VeryEarly, phenology.Early, phenology.Middle, phenology.Late, phenology.VeryLate}

// sign is that somebody saw buds swell on a tree.
type sign struct {
	tree *calendar.TreePlan
	on   climate.Date
}

// budsSwell tells of each species of which a tree has likely begun to swell, as
// the grower's level has it, or of which a tree soon will where the same, or a
// species that flushes one class earlier, was seen to.
func budsSwell(m *Morning) (draft, bool) {
	in := m.in
	n := draft{kind: BudsSwell, letter: m.newLetter(in.Say("Buds swell on these trees, or soon will. Each line says how sure that is."))}
	var names []string
	for _, trees := range bySpecies(m.Plan) {
		species := trees[0].Species
		season := m.Seasons[trees[0].Tree.ID].Year
		subject := fmt.Sprintf("%s %d %s %s", BudsSwell, season, m.Place, species.Name)
		seen := m.sign(species)
		if m.told[subject] || noSwell(species) || !slices.ContainsFunc(trees, func(t *calendar.TreePlan) bool { return m.swelling(t, seen != nil) }) {
			continue
		}
		n.subjects = append(n.subjects, subject)
		names = append(names, called(in, species))
		p := part{Heading: called(in, species)}
		if seen != nil {
			p.Lines = append(p.Lines, in.Say("Buds of {1} ({2}) were seen to swell on {3}.", seen.tree.Tree.Name, seen.tree.Species.Name, in.Day(seen.on)))
		}
		for _, t := range trees {
			p.Items = append(p.Items, item{Text: m.tellSwell(t)})
			if f := m.Seasons[t.Tree.ID].Phases[phenology.BudSwell]; !f.Seen.Valid() {
				n.link("saw:"+string(phenology.BudSwell), in.Say("Seen: bud swell"), t.Tree.ID)
				n.link("not-yet:"+string(phenology.BudSwell), in.Say("Looked, and no bud swell yet"), t.Tree.ID)
			}
		}
		if why := m.Seasons[trees[0].Tree.ID].Phases[phenology.BudSwell].Why; why != "" {
			p.After = []string{in.Say("Why: {1}", in.Told(why))}
		}
		n.letter.part(p)
		works, opened := m.follow(trees)
		if len(works) > 0 {
			p := part{Heading: in.Say("What follows for {1}", called(in, species))}
			for _, w := range works {
				p.Items = append(p.Items, n.letter.work(m.Plan.On, w))
				n.days = append(n.days, m.daysOf(w)...)
			}
			n.letter.part(p)
		}
		n.subjects = append(n.subjects, opened...)
	}
	if len(names) == 0 {
		return n, false
	}
	n.title = in.Say("Buds are swelling at {1}: {2}", m.Plan.Site.Name, some(in, names))
	n.letter.Last = slices.Insert(n.letter.Last, 0, in.Say("Log what you see, also that buds do not swell yet: it makes the days that follow surer."))
	return n, true
}

// noSwell reports species whose buds nobody can see swell: they grow in waves, or
// whenever it is warm (common practice, no published source).
func noSwell(s *calendar.Species) bool {
	return s.Group == phenology.JuniperCypress || s.Group == phenology.FrostTender
}

// swelling reports whether a tree swells today, as sure as the grower's level asks, or likely within the gap
// of a class of flushing where there was a sign, and nobody said so yet.
func (m *Morning) swelling(t *calendar.TreePlan, sign bool) bool {
	season, ok := m.Seasons[t.Tree.ID]
	if !ok {
		return false
	}
	for _, p := range []phenology.Phase{
		phenology.BudSwell, phenology.BudBreak, phenology.LeafOut, phenology.CandlesExtending, phenology.NeedlesSeparating,
	} {
		if f, ok := season.Phases[p]; ok && f.Seen.Valid() {
			return false
		}
	}
	days := season.Phases[phenology.BudSwell].Dates
	today := m.Plan.On
	switch {
	case days.By(today-swells) >= likely:
		return false
	case days.By(today) >= m.wants.Level:
		return true
	}
	return sign && days.By(today+flushGap) >= likely
}

// sign returns the latest sighting of bud swell this season on a tree of the
// species or of one that flushes one class earlier, or nil.
func (m *Morning) sign(species *calendar.Species) *sign {
	var out *sign
	class := slices.Index(flushes, species.Flush)
	for i := range m.Plan.Trees {
		t := &m.Plan.Trees[i]
		f, ok := m.Seasons[t.Tree.ID].Phases[phenology.BudSwell]
		if !ok || !f.Seen.Valid() || f.Seen > m.Plan.On || f.Seen <= m.Plan.On-swells {
			continue
		}
		earlier := class > 0 && t.Species.Flush == flushes[class-1]
		if (earlier || t.Species.Name == species.Name) && (out == nil || f.Seen > out.on) {
			out = &sign{t, f.Seen}
		}
	}
	return out
}

// tellSwell says how sure it is that the buds of a tree swell.
func (m *Morning) tellSwell(t *calendar.TreePlan) string {
	in := m.in
	f, ok := m.Seasons[t.Tree.ID].Phases[phenology.BudSwell]
	spread, comes := f.Dates.Spread()
	switch {
	case !ok || !comes && !f.Seen.Valid():
		return in.Say("{1}: no forecast", t.Tree.Name)
	case f.Seen.Valid():
		return in.Say("{1}: you saw it on {2}", t.Tree.Name, in.Day(f.Seen))
	}
	return in.Say("{1}: swelling by today {2}; the day is {3}", t.Tree.Name, in.HowSure(f.Dates.By(m.Plan.On)), when(in, spread))
}

// follow returns the works of trees whose windows hang on bud swell, trees with
// the same work and window together, and the subjects of windows that are open
// already, so that they are not told twice.
func (m *Morning) follow(trees []*calendar.TreePlan) (works []shared, opened []string) {
	for _, t := range trees {
		for i := range t.Works {
			w := &t.Works[i]
			if w.Season != m.Seasons[t.Tree.ID].Year || w.Done.Valid() || !hangsOn(w.Rule.Opens, phenology.BudSwell) || w.Window.Closes.P50 < m.Plan.On {
				continue
			}
			works = m.share(works, t, w)
			if s := m.windowSubject(WindowOpens, t, w); m.timely(w) && !m.told[s] {
				opened = append(opened, s)
			}
		}
	}
	return works, opened
}

// hangsOn reports whether an end of a window is counted from a phase.
func hangsOn(a calendar.Anchor, p phenology.Phase) bool {
	return a.Phase == p ||
		slices.ContainsFunc(a.Earliest, func(a calendar.Anchor) bool { return hangsOn(a, p) }) ||
		slices.ContainsFunc(a.Latest, func(a calendar.Anchor) bool { return hangsOn(a, p) })
}

// bySpecies returns the trees of a plan, those of a species together, in the
// order of the plan.
func bySpecies(p *calendar.Plan) [][]*calendar.TreePlan {
	var out [][]*calendar.TreePlan
	at := map[string]int{}
	for i := range p.Trees {
		t := &p.Trees[i]
		k, ok := at[t.Species.Name]
		if !ok {
			k = len(out)
			at[t.Species.Name] = k
			out = append(out, nil)
		}
		out[k] = append(out[k], t)
	}
	return out
}
