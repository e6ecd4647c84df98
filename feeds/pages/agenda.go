package pages

import (
	"io"
	"slices"
	"strings"

	"budswell/calendar"
	"budswell/feeds/wording"
)

// agendaWeeks is how many weeks of days the page shows first.
const agendaWeeks = 8

// Agenda is who fits into which day.
type Agenda struct {
	Told    bool // hours were told
	Said    string
	Days    []AgendaDay // of the coming weeks
	Later   []AgendaDay // up to eighteen months ahead
	Waiting []Waiting
	Scarce  []Choice // days on which more time would help most, as links say them
	More    *More    // asked for
	Gap     string   // how good the choice is
}

// AgendaDay is one day with its works.
type AgendaDay struct {
	Day, Time, SetUp string
	Sure             string
	Works            []AgendaWork
}

// AgendaWork is a kind of work with its trees on the day.
type AgendaWork struct {
	Title, Caution string
	Trees          []AgendaTree
}

// AgendaTree is a tree and what is out of the ordinary about its day.
type AgendaTree struct{ ID, Name, Says string }

// Waiting is a work that finds no day.
type Waiting struct {
	Title, Best, Reason, Risk string
	Trees                     []string
	key                       string
}

// More is what more time on a day would bring.
type More struct {
	Day, Time string
	Moves     []string
}

// AgendaOf lays out an agenda; it may be nil.
func AgendaOf(a *calendar.Agenda) *Agenda {
	out := &Agenda{Told: a != nil}
	if a == nil {
		return out
	}
	for i := range a.Days {
		d := &a.Days[i]
		if d.Day < a.On+7*agendaWeeks {
			out.Days = append(out.Days, agendaDay(d))
		} else {
			out.Later = append(out.Later, agendaDay(d))
		}
	}
	for i := range a.Waiting {
		out.wait(&a.Waiting[i])
	}
	for _, d := range a.Scarce(3, 7*agendaWeeks) {
		out.Scarce = append(out.Scarce, Choice{Value: d.String(), Label: wording.WeekDay(d)})
	}
	switch {
	case len(a.Days) == 0:
	case a.Gap <= 0:
		out.Gap = "No other choice of days saves more."
	default:
		out.Gap = "No other choice of days saves more than " + wording.Share(a.Gap/(a.Worth+a.Gap)) + " beyond this one."
	}
	return out
}

func agendaDay(d *calendar.AgendaDay) AgendaDay {
	out := AgendaDay{
		Day: wording.WeekDay(d.Day), Time: wording.Effort(d.Minutes) + " of " + wording.Effort(d.Free),
		Sure: "likely right: " + wording.HowSure(d.Chance),
	}
	if d.SetUp > 0 {
		out.SetUp = wording.Effort(d.SetUp)
	}
	for i := range d.Works {
		c := &d.Works[i]
		at := slices.IndexFunc(out.Works, func(w AgendaWork) bool { return w.Title == c.Work.Title })
		if at < 0 {
			at = len(out.Works)
			w := AgendaWork{Title: c.Work.Title}
			for _, text := range wording.Cautions(c.Work.Cautions) {
				w.Caution += " " + wording.First(text)
			}
			out.Works = append(out.Works, w)
		}
		out.Works[at].Trees = append(out.Works[at].Trees, AgendaTree{c.Tree.Tree.ID, c.Tree.Tree.Name, chosenSays(c)})
	}
	return out
}

func chosenSays(c *calendar.Chosen) string {
	says := notesOf(c)
	if c.Work.Rule.Every == 0 {
		says = append([]string{wording.Percent(c.Chance)}, says...)
	}
	return strings.Join(says, "; ")
}

// notesOf says what is out of the ordinary about the day of a work.
func notesOf(c *calendar.Chosen) []string {
	var says []string
	if c.GivesWay() {
		says = append(says, "best on "+wording.ShortDay(c.Best)+", "+wording.Percent(c.BestChance))
	}
	switch {
	case c.Missed:
		says = append(says, "missed on "+wording.ShortDay(c.Promised))
	case c.Moved():
		says = append(says, "moved from "+wording.ShortDay(c.Promised))
	}
	return says
}

// wait adds a work that waits, to those that wait alike.
func (a *Agenda) wait(w *calendar.Waiting) {
	v := Waiting{Title: w.Work.Title, Reason: "It waits because " + wording.Sentence(w.Reason)}
	if w.Work.Rule.Every > 0 {
		v.Risk = "It comes again every " + wording.Count(w.Work.Rule.Every, "day") + "."
	} else {
		v.Best = "best on " + wording.WeekDay(w.Best) + ": " + wording.HowSure(w.Chance)
		v.Risk = "That risks " + w.Risk() + "."
	}
	v.key = strings.Join([]string{v.Title, v.Best, v.Reason, v.Risk}, "\n")
	at := slices.IndexFunc(a.Waiting, func(o Waiting) bool { return o.key == v.key })
	if at < 0 {
		at = len(a.Waiting)
		a.Waiting = append(a.Waiting, v)
	}
	if name := w.Tree.Tree.Name; !slices.Contains(a.Waiting[at].Trees, name) {
		a.Waiting[at].Trees = append(a.Waiting[at].Trees, name)
	}
}

// MoreOf says what more time would bring.
func MoreOf(m calendar.More) *More {
	out := &More{Day: wording.WeekDay(m.Day), Time: wording.Effort(m.Minutes)}
	for i := range m.Moves {
		v := &m.Moves[i]
		what := v.Work.Title + ", " + v.Tree.Tree.Name
		switch {
		case !v.From.Valid():
			what += " would be done on " + wording.WeekDay(v.Day) + ", " + wording.HowSure(v.Chance) + " right, rather than wait."
		case !v.Day.Valid():
			what += " would give way, and wait."
		default:
			what += " would move from " + wording.WeekDay(v.From) + " to " + wording.WeekDay(v.Day) + ": " + wording.Percent(v.FromChance) + " right, then " + wording.Percent(v.Chance) + "."
		}
		out.Moves = append(out.Moves, what)
	}
	return out
}

// Agenda writes the page.
func (p *Pages) Agenda(w io.Writer, a *Agenda) error { return p.write(w, "agenda.html", a) }
