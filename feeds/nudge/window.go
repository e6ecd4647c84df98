package nudge

import (
	"fmt"
	"slices"
	"time"

	"budswell/calendar"
	"budswell/climate"
)

// Works of the lore that have nudges of their own.
const (
	shadeEnd   = "shade-end"
	frostWatch = "frost-watch"
)

// nearFrost is the forecast minimum from which frost on the ground must be
// reckoned with, C: in clear, still nights it is some degrees colder there than
// in the screen (common practice, no published source).
const nearFrost = 2

// shared is a work that several trees have in common.
type shared struct {
	work  *calendar.Planned
	name  string
	trees []string
}

// share adds a tree's work to those that are the same in all that is told.
func share(works []shared, t *calendar.TreePlan, w *calendar.Planned) []shared {
	for i := range works {
		s := works[i].work
		if s.Rule.ID == w.Rule.ID && s.Window == w.Window && s.Why == w.Why && slices.Equal(s.Blocked, w.Blocked) {
			works[i].trees = append(works[i].trees, t.Tree.Name)
			return works
		}
	}
	return append(works, shared{w, w.Title, []string{t.Tree.Name}})
}

func (m *Morning) windowSubject(kind string, t *calendar.TreePlan, w *calendar.Planned) string {
	return fmt.Sprintf("%s %d %s %s %s", kind, w.Season, m.Place, t.Tree.ID, w.Key)
}

// isOpen reports whether a window has more likely than not opened, and nothing
// stands against the work.
func (m *Morning) isOpen(w *calendar.Planned) bool {
	return w.Window.Chance >= likely && w.Window.Opens.P50.Valid() && w.Window.Opens.P50 <= m.Plan.On &&
		m.Plan.On <= w.Window.Closes.P50 && !w.Done.Valid() && len(w.Blocked) == 0
}

// open returns the works that wanted picks, whose windows are open and were not told.
func (m *Morning) open(kind string, wanted func(*calendar.Planned) bool) (works []shared, subjects, names, cautions []string) {
	for i := range m.Plan.Trees {
		t := &m.Plan.Trees[i]
		for k := range t.Works {
			w := &t.Works[k]
			subject := m.windowSubject(kind, t, w)
			if !wanted(w) || !m.isOpen(w) || m.Told[subject] {
				continue
			}
			works = share(works, t, w)
			subjects = append(subjects, subject)
			if !slices.Contains(names, w.Title) {
				names = append(names, w.Title)
			}
			cautions = append(cautions, w.Cautions...)
		}
	}
	return works, subjects, names, cautions
}

// windowOpens tells the works whose time has come. A work that is repeated is
// told when its window opens, and not each time.
func windowOpens(m *Morning) (calendar.Nudge, bool) {
	n := calendar.Nudge{Kind: WindowOpens}
	works, subjects, names, cautions := m.open(WindowOpens, func(w *calendar.Planned) bool {
		return w.Work.ID != shadeEnd && w.Work.ID != frostWatch
	})
	if len(works) == 0 {
		return n, false
	}
	var l letter
	for _, w := range works {
		l.work(m.Plan.On, w.name, w.trees, w.work)
	}
	n.Subjects = subjects
	n.Title = clean(fmt.Sprintf("Now is the time at %s: %s", m.Plan.Site.Name, some(names)))
	n.Body = l.compose(m, "The window of these works has most likely opened. It is a forecast: look at the tree first.", cautions, "")
	return n, true
}

// shadeEnds tells the trees that may come out of the shade.
func shadeEnds(m *Morning) (calendar.Nudge, bool) {
	n := calendar.Nudge{Kind: ShadeEnds}
	works, subjects, _, cautions := m.open(ShadeEnds, func(w *calendar.Planned) bool { return w.Work.ID == shadeEnd })
	if len(works) == 0 {
		return n, false
	}
	var l letter
	var trees []string
	for _, w := range works {
		l.work(m.Plan.On, w.name, w.trees, w.work)
		trees = append(trees, w.trees...)
	}
	n.Subjects = subjects
	n.Title = clean(fmt.Sprintf("Out of the shade at %s: %s", m.Plan.Site.Name, some(trees)))
	n.Body = l.compose(m, "These trees have most likely stood in the shade long enough. Look at the tree first: it should hold its leaves up.", cautions, "")
	return n, true
}

// frostNear tells of the coming night where it is forecast near freezing and
// trees are watched for frost.
func frostNear(m *Morning) (calendar.Nudge, bool) {
	n := calendar.Nudge{Kind: FrostNear}
	night := m.Plan.On + 1 // the coldest hour of the coming night is towards its morning
	if m.Nights == nil {
		return n, false
	}
	day := m.Nights.At(night)
	subject := fmt.Sprintf("%s %s %s", FrostNear, night, m.Place)
	if day.TminOrigin < climate.Predicted || day.Tmin > nearFrost || m.Told[subject] {
		return n, false
	}
	works, _, _, cautions := m.open(FrostNear, func(w *calendar.Planned) bool { return w.Work.ID == frostWatch })
	if len(works) == 0 {
		return n, false
	}
	var l letter
	for _, w := range works {
		l.work(m.Plan.On, w.name, w.trees, w.work)
	}
	n.Subjects = []string{subject}
	n.Title = clean(fmt.Sprintf("Frost is near at %s in the night to %s: %.1f C", m.Plan.Site.Name, long(night), day.Tmin))
	n.Body = l.compose(m, fmt.Sprintf("The weather forecast says %.1f C for the night to %s, and these trees cannot bear frost now. "+
		"The ground can be some degrees colder than the air.", day.Tmin, long(night)), cautions, "")
	n.Expires = m.Now.Add(30 * time.Hour)
	return n, true
}
