package nudge

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"budswell/calendar"
	"budswell/climate"
	"budswell/feeds/wording"
)

const (
	// late is how many days after its day a weekly digest that was missed is made
	// up for.
	late = 2

	weekAheadDays = 7
	farWeeks      = 28 // days ahead in which hard work is announced
)

// weekAhead is the weekly digest, of all places.
func (d *Day) weekAhead(told map[string]bool) (draft, bool) {
	in := d.tongue()
	n := draft{kind: WeekAhead, letter: letter{in: in}, expires: d.Now.Add(4 * 24 * time.Hour)}
	today := climate.DateOf(d.Now.In(d.zone()))
	day := today - climate.Date((int(today.Weekday())-int(d.Preferences.WeekDay)+7)%7)
	subject := fmt.Sprintf("%s %s", WeekAhead, day)
	if today-day > late || told[subject] {
		return n, false
	}
	n.subjects = []string{subject}
	for i := range d.Places {
		m := &d.Places[i]
		parts := m.week(&n)
		if len(parts) == 0 {
			continue
		}
		one := m.newLetter(m.in.Say("What the trees ask for in the next seven days."))
		one.Chapters[0].Parts = parts
		n.letter.add("", &one)
	}
	n.title = in.Say("The week ahead for your trees, from {1}", in.WeekDayShort(today))
	return n, len(n.letter.Chapters) > 0
}

// week lists a place's works: open now, due or opening this week, and hard ones
// within four weeks.
func (m *Morning) week(n *draft) []part {
	var open, perhaps, soon, later []shared
	on, in := m.Plan.On, m.in
	for i := range m.Plan.Trees {
		t := &m.Plan.Trees[i]
		for k := range t.Works {
			w := &t.Works[k]
			opens := w.Window.Opens.P50
			switch {
			case !comes(w) || w.Window.Closes.P50 < on || w.Rule.Every > 0 && (!w.Due.Valid() || w.Due >= on+weekAheadDays):
				continue
			case opens <= on && m.sure(w):
				open = m.share(open, t, w)
			case opens <= on:
				perhaps = m.share(perhaps, t, w)
			case opens < on+weekAheadDays:
				soon = m.share(soon, t, w)
			case opens < on+farWeeks && w.Work.Hard != calendar.HardOnNothing:
				later = m.share(later, t, w)
			default:
				continue
			}
			n.letter.caution(w.Cautions...)
		}
	}
	var out []part
	for _, v := range []struct {
		heading string
		works   []shared
	}{{in.Say("Open now"), open}, {in.Say("Perhaps open"), perhaps}, {in.Say("Opens this week"), soon}, {in.Say("Hard work within four weeks"), later}} {
		if len(v.works) == 0 {
			continue
		}
		p := part{Heading: v.heading}
		slices.SortStableFunc(v.works, func(a, b shared) int { return int(a.work.Window.Closes.P50 - b.work.Window.Closes.P50) })
		for _, w := range v.works {
			i := item{Text: w.name + ": " + joined(w.trees)}
			switch win := &w.work.Window; {
			case w.work.Due.Valid() && w.work.Due < on:
				i.Notes = []string{in.Say("Due since {1}; the window closes {2}.", in.WeekDay(w.work.Due), when(in, win.Closes))}
			case w.work.Due.Valid():
				i.Notes = []string{in.Say("Due {1}; the window closes {2}.", in.WeekDay(w.work.Due), when(in, win.Closes))}
			case win.Opens.P50 <= on:
				i.Notes = []string{in.Say("Open today: {1}.", in.HowSure(wording.Open(w.work, on))), in.Say("Closes {1}.", when(in, win.Closes))}
			default:
				i.Notes = []string{
					in.Say("Opens {1}.", when(in, win.Opens)),
					in.Say("Best about {1}: open that day {2}.", in.WeekDay(win.Likely), in.HowSure(win.Certainty)),
				}
			}
			p.Items = append(p.Items, i)
			n.days = append(n.days, m.daysOf(w)...)
		}
		out = append(out, p)
	}
	return out
}

// joined names things in a list.
func joined(names []string) string { return strings.Join(names, ", ") }
