package pages

import (
	"cmp"
	"io"
	"slices"
	"strings"

	"budswell/calendar"
	"budswell/climate"
	"budswell/climate/phenology"
	"budswell/feeds/wording"
)

// fortnightDays is how many days the page looks ahead, today among them.
const fortnightDays = 14

// Fortnight is what the coming two weeks ask of all trees, day by day. It is the
// same for every request until something is planned anew.
type Fortnight struct {
	Today  string
	Cells  []Cell
	Days   []NowDay   // with work on them; today always
	Signs  []SignLook // to look for today, the surest first
	Nights []Night    // that may bring frost
	Open   []Task     // open, and may wait
	Room   []Task     // without room in the grower's hours
	Not    []Task     // not to be done now
	// What goes before all else, and trees that are left alone; of many, some are folded away.
	First, FirstMore []Leave
	Leave, LeaveMore []Leave

	Quiet []TreeLink // trees of which nothing is asked these days
	Trees int
	Weeks []string // headings of the six weeks that pictures show

	Hours   bool   // they were told
	Entered string // shows to come, counted; empty: none
	Places  []Place
	Credits []Source

	looks []Look
	in    *wording.Tongue
}

// Cell is a day of the fortnight at a glance.
type Cell struct {
	ID         string // of the day's heading
	Day, Month string // "Mon"; "April"
	Date       int    // of the month
	Today      bool
	Works      int // trees times works
	Frost      int // chance in percent that the night to it brings frost at any place; 0: next to none
}

// NowDay is a day with what falls on it.
type NowDay struct {
	ID, Day string
	Today   bool
	Frosts  []Frost // of the night to it
	Tasks   []Task
}

// Night is one that may bring frost, by the day that it leads to.
type Night struct {
	Day    string
	Frosts []Frost
}

// Frost is a night that may bring frost at a place.
type Frost struct {
	Place, Sure string
	Percent     int
}

// Leave says what goes before all else on trees, or why they are left alone.
type Leave struct {
	Words string
	Trees []TreeLink
}

// Garden is what a fortnight is made of.
type Garden struct {
	Plots   []Plot
	Agenda  *calendar.Agenda // nil: no hours were told
	Shows   string           // to come, counted
	Credits []Source         // whose weather it is, where that is to be told
}

// Plot is a place with its plan.
type Plot struct {
	ID      string
	Plan    *calendar.Plan
	Seasons map[string]phenology.Season
	Known   climate.Date // last day of measured weather, or NoDate
	Frost   []float64    // chance of frost, 0 to 1, in the nights to the days after that of the plan
}

// leastFrost is the chance from which a night is named: one in ten.
const leastFrost = 0.1

// FortnightOf lays out the coming two weeks of all places.
func FortnightOf(in *wording.Tongue, g *Garden) *Fortnight {
	f := &Fortnight{in: in, Hours: g.Agenda != nil, Entered: g.Shows, Credits: g.Credits}
	if len(g.Plots) == 0 {
		return f
	}
	on := g.Plots[0].Plan.On
	f.Today = in.WeekDay(on)
	f.Weeks = weeks(in, on)
	days := map[climate.Date]*heap{}
	at := func(d climate.Date) *heap {
		if days[d] == nil {
			days[d] = &heap{in: in, on: on}
		}
		return days[d]
	}
	open, room, not := heap{in: in, on: on}, heap{in: in, on: on}, heap{in: in, on: on}
	placed, later := f.chosen(g.Agenda, on, at, &room)
	for i := range g.Plots {
		p := &g.Plots[i]
		f.Places = append(f.Places, PlaceOf(in, p.ID, p.Plan, p.Known))
		f.Trees += len(p.Plan.Trees)
		for k := range p.Plan.Trees {
			t := &p.Plan.Trees[k]
			f.notice(t)
			asked := false
			for j := range t.Works {
				w := &t.Works[j]
				key := placedKey{t.Tree.ID, w.Key}
				if placed[key] {
					asked = true
					continue
				}
				s := standsOn(w, p.Plan.On, f.Hours)
				if d, ok := later[key]; ok && s.where == mayWait {
					s.note = in.WeekDay(d)
				}
				asked = asked || s.where == onDay || s.where == mayWait
				switch s.where {
				case onDay:
					at(s.day).put(t, w, s)
				case mayWait:
					open.put(t, w, s)
				case notNow:
					not.put(t, w, s)
				}
			}
			if !asked {
				f.Quiet = append(f.Quiet, linkTo(t))
			}
		}
		f.look(p)
	}
	f.Signs = signs(f.looks)
	f.First, f.FirstMore = folding(f.First)
	f.Leave, f.LeaveMore = folding(f.Leave)
	f.Open, f.Room, f.Not = open.tasks(), room.tasks(), not.tasks()
	f.days(g, on, days)
	return f
}

// days writes what was found for each day, and the glance at all of them.
func (f *Fortnight) days(g *Garden, on climate.Date, days map[climate.Date]*heap) {
	for i := range fortnightDays {
		d := on + climate.Date(i)
		cell := Cell{ID: "day-" + d.String(), Day: f.in.ShortWeekdays[d.Time().Weekday()], Month: f.in.Month(d.Time().Month()), Date: d.Time().Day(), Today: i == 0}
		day := NowDay{ID: cell.ID, Day: f.in.WeekDay(d), Today: i == 0}
		for k := range g.Plots {
			p := &g.Plots[k]
			// Night i leads to the day after that of the plan, and so on.
			if i == 0 || i > len(p.Frost) || p.Frost[i-1] < leastFrost {
				continue
			}
			chance := p.Frost[i-1]
			day.Frosts = append(day.Frosts, Frost{p.Plan.Site.Name, f.in.HowSure(chance), min(95, percent(chance))})
			cell.Frost = max(cell.Frost, min(95, percent(chance)))
		}
		if h := days[d]; h != nil {
			day.Tasks = h.tasks()
			cell.Works = h.count
		}
		if len(day.Frosts) > 0 {
			f.Nights = append(f.Nights, Night{f.in.WeekDayShort(d), day.Frosts})
		}
		if day.Today || len(day.Tasks) > 0 {
			f.Days = append(f.Days, day)
		} else if cell.Frost > 0 {
			cell.ID = "nights"
		}
		f.Cells = append(f.Cells, cell)
	}
}

// placedKey names a work of a tree.
type placedKey struct{ tree, work string }

// chosen lays out what the grower's hours say, and returns the works that it spoke
// for, and the days of those that come after the fortnight.
func (f *Fortnight) chosen(a *calendar.Agenda, on climate.Date, at func(climate.Date) *heap, room *heap) (placed map[placedKey]bool, later map[placedKey]climate.Date) {
	placed, later = map[placedKey]bool{}, map[placedKey]climate.Date{}
	if a == nil {
		return placed, later
	}
	for i := range a.Days {
		d := &a.Days[i]
		for k := range d.Works {
			c := &d.Works[k]
			key := placedKey{c.Tree.Tree.ID, c.Work.Key}
			if d.Day < on+fortnightDays {
				placed[key] = true
				at(d.Day).put(c.Tree, c.Work, stand{where: onDay, day: d.Day, as: AsChosen, chance: c.Chance, note: strings.Join(notesOf(f.in, c), "; ")})
			} else if _, ok := later[key]; !ok {
				later[key] = d.Day
			}
		}
	}
	for i := range a.Waiting {
		w := &a.Waiting[i]
		key := placedKey{w.Tree.Tree.ID, w.Work.Key}
		if placed[key] || !w.Best.Valid() || w.Best >= on+fortnightDays || w.To < on {
			continue
		}
		placed[key] = true
		s := stand{where: onDay, day: max(w.Best, on), as: AsUrgent, chance: w.Chance}
		if w.Urgent() {
			at(s.day).put(w.Tree, w.Work, s)
			continue
		}
		s.as, s.note = AsRoomless, wording.Capital(f.in.Told(w.Reason))
		room.put(w.Tree, w.Work, s)
	}
	return placed, later
}

// notice notes what goes before all else on a tree, sentence by sentence, and, of one
// that rests, that it is to be left alone: the last sentence then says so.
func (f *Fortnight) notice(t *calendar.TreePlan) {
	words := f.in.Told(t.Notice)
	if words == "" {
		return
	}
	sentences := strings.SplitAfter(words, ". ")
	for i, s := range sentences {
		list := &f.First
		if i == len(sentences)-1 && t.State.RestAfter != "" {
			list = &f.Leave
		}
		s = strings.TrimSpace(s)
		k := slices.IndexFunc(*list, func(l Leave) bool { return l.Words == s })
		if k < 0 {
			k = len(*list)
			*list = append(*list, Leave{Words: s})
		}
		(*list)[k].Trees = append((*list)[k].Trees, linkTo(t))
	}
}

// folding parts what is said of the most trees from the rest.
func folding(all []Leave) (shown, folded []Leave) {
	slices.SortStableFunc(all, func(a, b Leave) int { return cmp.Compare(len(b.Trees), len(a.Trees)) })
	n := min(len(all), shownNotices)
	return all[:n], all[n:]
}

const shownNotices = 4

// percent rounds a chance, 0 to 1, to 5 %, as words do.
func percent(p float64) int { return 5 * int(p*20+0.5) }

// Fortnight writes the part of the page that is the same until something is planned anew.
func (p *Pages) Fortnight(w io.Writer, f *Fortnight) error { return p.write(w, "fortnight.html", f) }
