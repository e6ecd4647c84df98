package nudge

import (
	"fmt"
	"slices"

	"budswell/calendar"
	"budswell/climate"
	"budswell/feeds/wording"
)

// Works of the lore that have nudges of their own.
const (
	shadeEnd   = "shade-end"
	frostWatch = "frost-watch"
	heatShade  = "heat-shade"
	wireCheckW = "wire-check"
)

// closingSoon is how many days before the first likely day of its closing a
// window counts as closing.
const closingSoon = 3

// shared is a work that several trees have in common.
type shared struct {
	work  *calendar.Planned
	name  string
	trees []string // names
	ids   []string
}

// share adds a tree's work to those that are the same in all that is told.
func (m *Morning) share(works []shared, t *calendar.TreePlan, w *calendar.Planned) []shared {
	for i := range works {
		s := works[i].work
		if s.Rule.ID == w.Rule.ID && s.Window == w.Window && s.Why == w.Why && s.Due == w.Due && slices.Equal(s.Blocked, w.Blocked) {
			works[i].trees = append(works[i].trees, t.Tree.Name)
			works[i].ids = append(works[i].ids, t.Tree.ID)
			return works
		}
	}
	return append(works, shared{w, m.in.Title(w.Title), []string{t.Tree.Name}, []string{t.Tree.ID}})
}

func (m *Morning) windowSubject(kind string, t *calendar.TreePlan, w *calendar.Planned) string {
	return fmt.Sprintf("%s %d %s %s %s", kind, w.Season, m.Place, t.Tree.ID, w.Key)
}

// comes reports whether a window more likely than not comes at all, and the work
// is not done and nothing stands against it.
func comes(w *calendar.Planned) bool {
	return w.Window.Chance >= likely && w.Window.Opens.P50.Valid() && !w.Done.Valid() && len(w.Blocked) == 0
}

// isOpen reports whether a window has more likely than not opened, and not yet
// closed, and nothing stands against the work.
func (m *Morning) isOpen(w *calendar.Planned) bool {
	return comes(w) && w.Window.Opens.P50 <= m.Plan.On && m.Plan.On <= w.Window.Closes.P50
}

// nearBest is the share of how sure a window is on its likely day from which a day counts as about as sure: a
// short window far ahead may never be as likely open as not, and is told all the same (judged, no published source).
const nearBest = 0.9

// timely reports whether it can be said that the time for a work has come: it is as likely as not that its window is
// open today, or about as likely as it gets.
func (m *Morning) timely(w *calendar.Planned) bool {
	return m.isOpen(w) && (m.sure(w) || wording.Open(w, m.Plan.On) >= nearBest*w.Window.Certainty)
}

// sure reports whether a window is as likely as not open today.
func (m *Morning) sure(w *calendar.Planned) bool { return wording.Open(w, m.Plan.On) >= likely }

// light reports work that is done in passing, again and again, or not at all:
// where the weekly digest is wanted it is told there, and is no message by itself.
func (m *Morning) light(w *calendar.Planned) bool {
	return m.wants.Wants(WeekAhead) && (w.Rule.Every > 0 ||
		slices.Contains([]calendar.Class{calendar.Health, calendar.Feeding, calendar.Showing}, w.Work.Class))
}

// gather collects the works that wanted picks and that were not told, in a draft
// that lets them be logged as done. The subject of a work is the default where
// named is nil.
func (m *Morning) gather(kind string, wanted func(*calendar.TreePlan, *calendar.Planned) bool, named func(*calendar.TreePlan, *calendar.Planned) string) (n draft, works []shared) {
	n.kind = kind
	for i := range m.Plan.Trees {
		t := &m.Plan.Trees[i]
		for k := range t.Works {
			w := &t.Works[k]
			subject := m.windowSubject(kind, t, w)
			if named != nil {
				subject = named(t, w)
			}
			if m.told[subject] || !wanted(t, w) {
				continue
			}
			works = m.share(works, t, w)
			n.subjects = append(n.subjects, subject)
			n.link("did:"+w.Work.ID, m.in.Say("Done: {1}", m.in.Title(w.Title)), t.Tree.ID)
		}
	}
	return n, works
}

// tellWorks puts works into a draft's letter.
func (m *Morning) tellWorks(n *draft, works []shared, lead ...string) (names, trees []string) {
	n.letter = m.newLetter(lead...)
	var p part
	for _, w := range works {
		p.Items = append(p.Items, n.letter.work(m.Plan.On, w))
		if !slices.Contains(names, w.name) {
			names = append(names, w.name)
		}
		trees = append(trees, w.trees...)
		n.days = append(n.days, m.daysOf(w)...)
	}
	n.letter.part(p)
	return names, trees
}

// windowOpens tells the works whose time has come. A work that is repeated is
// told when its window opens, and not each time.
func windowOpens(m *Morning) (draft, bool) {
	n, works := m.gather(WindowOpens, func(_ *calendar.TreePlan, w *calendar.Planned) bool {
		return m.timely(w) && !m.light(w) && !slices.Contains([]string{shadeEnd, frostWatch, heatShade, wireCheckW}, w.Work.ID)
	}, nil)
	lead, now := m.in.Say("More likely than not, the time for this has come."), true
	switch unsure := slices.DeleteFunc(slices.Clone(works), func(w shared) bool { return m.sure(w.work) }); {
	case len(works) > 0 && len(unsure) == len(works):
		lead, now = m.in.Say("No day is sure for this; today is about as sure as it gets. Look at the tree."), false
	case len(unsure) > 0:
		lead += " " + m.in.Say("Where it is not, no day is surer than today.")
	}
	names, _ := m.tellWorks(&n, works, lead)
	if n.title = m.in.Say("Now is the time at {1}: {2}", m.Plan.Site.Name, some(m.in, names)); !now {
		n.title = m.in.Say("Perhaps the time at {1}: {2}", m.Plan.Site.Name, some(m.in, names))
	}
	return n, len(works) > 0
}

// windowCloses tells once-a-season works that are not logged and whose window
// may close within days, where it was told some days ago that it opened.
func windowCloses(m *Morning) (draft, bool) {
	n, works := m.gather(WindowCloses, func(t *calendar.TreePlan, w *calendar.Planned) bool {
		opened := m.early[m.windowSubject(WindowOpens, t, w)] || m.early[m.windowSubject(ShadeEnds, t, w)] || !m.wants.Wants(WindowOpens)
		return m.isOpen(w) && opened && !m.light(w) && w.Rule.Every == 0 && w.Work.ID != frostWatch && w.Work.ID != heatShade &&
			m.Plan.On >= w.Window.Closes.P10-closingSoon && m.Plan.On > w.Window.Opens.P50+closingSoon
	}, nil)
	names, _ := m.tellWorks(&n, works, m.in.Say("These windows are closing, and the work is not logged. If it is done, log it; if the tree can wait a year, let it."))
	n.title = m.in.Say("Closing soon at {1}: {2}", m.Plan.Site.Name, some(m.in, names))
	return n, len(works) > 0
}

// overdue tells works that a tree suffers for want of, or loses a year by: root
// work, protection, and wire to come off. The window has more likely than not gone.
func overdue(m *Morning) (draft, bool) {
	n, works := m.gather(Overdue, func(_ *calendar.TreePlan, w *calendar.Planned) bool {
		matters := w.Work.Hard == calendar.HardOnRoots && w.Work.ID != calendar.WorkCollect || w.Work.ID == calendar.WorkUnwire ||
			w.Work.Class == calendar.Protection && w.Work.ID != frostWatch && w.Work.ID != heatShade
		return comes(w) && matters && w.Rule.Every == 0 && w.Window.Closes.P50 < m.Plan.On
	}, nil)
	names, trees := m.tellWorks(&n, works, m.in.Say("More likely than not the time for this has passed, and it is not logged."),
		m.in.Say("If it is done, log it. If not, look at the tree: late is sometimes still better than never, and often better left for its next season."))
	n.title = m.in.Say("Overdue at {1}: {2}", m.Plan.Site.Name, some(m.in, names))
	if empty := m.emptyLogs(trees); len(empty) > 0 {
		n.letter.Last = slices.Insert(n.letter.Last, 0, m.in.Say("Nothing at all is logged yet for {1}: the more you log, the better the days fit.", some(m.in, empty)))
	}
	return n, len(works) > 0
}

// emptyLogs returns which of the trees have an empty log.
func (m *Morning) emptyLogs(names []string) (out []string) {
	for i := range m.Plan.Trees {
		if t := m.Plan.Trees[i].Tree; len(t.Log) == 0 && slices.Contains(names, t.Name) {
			out = append(out, t.Name)
		}
	}
	return out
}

// shadeEnds tells the trees that may come out of the shade.
func shadeEnds(m *Morning) (draft, bool) {
	n, works := m.gather(ShadeEnds, func(_ *calendar.TreePlan, w *calendar.Planned) bool {
		return m.timely(w) && m.sure(w) && w.Work.ID == shadeEnd
	}, nil)
	_, trees := m.tellWorks(&n, works, m.in.Say("These trees have more likely than not stood in the shade long enough. A tree that is ready holds its leaves up."))
	n.title = m.in.Say("Out of the shade at {1}: {2}", m.Plan.Site.Name, some(m.in, trees))
	return n, len(works) > 0
}

// wireCheck tells each day on which wire is due to be looked at, once.
func wireCheck(m *Morning) (draft, bool) {
	n, works := m.gather(WireCheck, func(_ *calendar.TreePlan, w *calendar.Planned) bool {
		return comes(w) && w.Work.ID == wireCheckW && w.Due.Valid() && w.Due <= m.Plan.On
	}, func(t *calendar.TreePlan, w *calendar.Planned) string {
		return fmt.Sprintf("%s %s %s %s", WireCheck, w.Due, m.Place, t.Tree.ID)
	})
	for i := range m.Plan.Trees {
		if id := m.Plan.Trees[i].Tree.ID; slices.ContainsFunc(works, func(w shared) bool { return slices.Contains(w.ids, id) }) {
			n.link("did:"+calendar.WorkUnwire, m.in.Say("Done: wire off"), id)
		}
	}
	_, trees := m.tellWorks(&n, works, m.in.Say("It is time to look at the wire on these trees. Where it begins to mark the bark, it comes off."))
	n.title = m.in.Say("Look at the wire at {1}: {2}", m.Plan.Site.Name, some(m.in, trees))
	return n, len(works) > 0
}

// dayKey names the day on which a work's window opens on a tree.
func (m *Morning) dayKey(tree string, w *calendar.Planned) string {
	return fmt.Sprintf("opens %s %s %s", m.Place, tree, w.Key)
}

// daysOf returns the days that a letter tells of a work to come.
func (m *Morning) daysOf(w shared) (out []calendar.ToldDay) {
	if w.work.Window.Opens.P50 <= m.Plan.On {
		return nil
	}
	for _, tree := range w.ids {
		out = append(out, calendar.ToldDay{Key: m.dayKey(tree, w.work), On: w.work.Window.Opens.P50})
	}
	return out
}

const (
	// farSight is how many days ahead the opening of a window is taken as told,
	// since page and feed show it.
	farSight = 60

	// farMoved is how many days ahead a window may lie whose day moved; what is
	// further off is of no use yet.
	farMoved = 120
)

// watched reports whether the day on which a window opens is worth telling when
// it moves: of hard work, for which a day is set aside.
func (m *Morning) watched(w *calendar.Planned) bool {
	return comes(w) && w.Work.Hard != calendar.HardOnNothing && w.Window.Opens.P50 > m.Plan.On && w.Window.Opens.P50 <= m.Plan.On+farMoved
}

// baseline returns the days that come into sight and were never told.
func (m *Morning) baseline() (out []calendar.ToldDay) {
	for i := range m.Plan.Trees {
		t := &m.Plan.Trees[i]
		for k := range t.Works {
			w := &t.Works[k]
			key := m.dayKey(t.Tree.ID, w)
			if _, known := m.days[key]; !known && m.watched(w) && w.Window.Opens.P50 <= m.Plan.On+farSight {
				out = append(out, calendar.ToldDay{Key: key, On: w.Window.Opens.P50})
			}
		}
	}
	return out
}

// forecastMoved tells of hard works whose window opens on another day than was
// last told, by at least as many days as the grower wants to know of.
func forecastMoved(m *Morning) (draft, bool) {
	n := draft{kind: ForecastMoved}
	type move struct {
		shared
		was climate.Date
	}
	var moves []move
	for i := range m.Plan.Trees {
		t := &m.Plan.Trees[i]
		for k := range t.Works {
			w := &t.Works[k]
			was, known := m.days[m.dayKey(t.Tree.ID, w)]
			opens := w.Window.Opens.P50
			subject := m.windowSubject(ForecastMoved, t, w) + " " + opens.String()
			if !known || !m.watched(w) || max(opens-was, was-opens) < climate.Date(m.wants.Moved) || m.told[subject] {
				continue
			}
			n.subjects = append(n.subjects, subject)
			same := slices.IndexFunc(moves, func(v move) bool { return v.was == was && len(m.share([]shared{v.shared}, t, w)) == 1 })
			if same < 0 {
				moves = append(moves, move{shared{w, m.in.Title(w.Title), []string{t.Tree.Name}, []string{t.Tree.ID}}, was})
				continue
			}
			moves[same].shared = m.share([]shared{moves[same].shared}, t, w)[0]
		}
	}
	if len(moves) == 0 {
		return n, false
	}
	n.letter = m.newLetter(m.in.Say("The weather has moved these days since you were last told."))
	var p part
	var names []string
	for _, v := range moves {
		i := n.letter.work(m.Plan.On, v.shared)
		opens := v.work.Window.Opens.P50
		in := m.in
		moved := in.Say("Now {1} later: about {2}, and it was about {3}.", wording.Amount{N: int(opens - v.was), Thing: "day"}, in.Day(opens), in.Day(v.was))
		if opens < v.was {
			moved = in.Say("Now {1} earlier: about {2}, and it was about {3}.", wording.Amount{N: int(v.was - opens), Thing: "day"}, in.Day(opens), in.Day(v.was))
		}
		i.Notes = slices.Insert(i.Notes, 0, moved)
		p.Items = append(p.Items, i)
		n.days = append(n.days, m.daysOf(v.shared)...)
		if !slices.Contains(names, v.name) {
			names = append(names, v.name)
		}
	}
	n.letter.part(p)
	n.title = m.in.Say("The forecast moved at {1}: {2}", m.Plan.Site.Name, some(m.in, names))
	return n, true
}
