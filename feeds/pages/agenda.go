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
	title          string // of the lore
}

// AgendaTree is a tree and what is out of the ordinary about its day.
type AgendaTree struct{ ID, Name, Says string }

// Waiting is a work that finds no day.
type Waiting struct {
	Title, Best  string
	Reason, Risk string // as the agenda says them
	Again        string // where it comes again and again
	Trees        []string
	key          string
}

// More is what more time on a day would bring.
type More struct {
	Day, Time string
	Moves     []string
}

// AgendaOf lays out an agenda; it may be nil.
func AgendaOf(in *wording.Tongue, a *calendar.Agenda) *Agenda {
	out := &Agenda{Told: a != nil}
	if a == nil {
		return out
	}
	for i := range a.Days {
		d := &a.Days[i]
		if d.Day < a.On+7*agendaWeeks {
			out.Days = append(out.Days, agendaDay(in, d))
		} else {
			out.Later = append(out.Later, agendaDay(in, d))
		}
	}
	for i := range a.Waiting {
		out.wait(in, &a.Waiting[i])
	}
	for _, d := range a.Scarce(3, 7*agendaWeeks) {
		out.Scarce = append(out.Scarce, Choice{Value: d.String(), Label: in.WeekDay(d)})
	}
	switch {
	case len(a.Days) == 0:
	case a.Gap <= 0:
		out.Gap = in.Say("No other choice of days saves more.")
	default:
		out.Gap = in.Say("No other choice of days saves more than {1} beyond this one.", in.Share(a.Gap/(a.Worth+a.Gap)))
	}
	return out
}

func agendaDay(in *wording.Tongue, d *calendar.AgendaDay) AgendaDay {
	out := AgendaDay{
		Day: in.WeekDay(d.Day), Time: in.Say("{1} of {2}", in.Effort(d.Minutes), in.Effort(d.Free)),
		Sure: in.Say("likely right: {1}", in.HowSure(d.Chance)),
	}
	if d.SetUp > 0 {
		out.SetUp = in.Effort(d.SetUp)
	}
	for i := range d.Works {
		c := &d.Works[i]
		at := slices.IndexFunc(out.Works, func(w AgendaWork) bool { return w.title == c.Work.Title })
		if at < 0 {
			at = len(out.Works)
			w := AgendaWork{Title: in.Title(c.Work.Title), title: c.Work.Title}
			for _, text := range in.Cautions(c.Work.Cautions) {
				w.Caution += " " + wording.First(text)
			}
			out.Works = append(out.Works, w)
		}
		out.Works[at].Trees = append(out.Works[at].Trees, AgendaTree{c.Tree.Tree.ID, c.Tree.Tree.Name, chosenSays(in, c)})
	}
	return out
}

func chosenSays(in *wording.Tongue, c *calendar.Chosen) string {
	says := notesOf(in, c)
	if c.Work.Rule.Every == 0 {
		says = append([]string{in.Percent(c.Chance)}, says...)
	}
	return strings.Join(says, "; ")
}

// notesOf says what is out of the ordinary about the day of a work.
func notesOf(in *wording.Tongue, c *calendar.Chosen) []string {
	var says []string
	if c.GivesWay() {
		says = append(says, in.Say("best on {1}, {2}", in.ShortDay(c.Best), in.Percent(c.BestChance)))
	}
	switch {
	case c.Missed:
		says = append(says, in.Say("missed on {1}", in.ShortDay(c.Promised)))
	case c.Moved():
		says = append(says, in.Say("moved from {1}", in.ShortDay(c.Promised)))
	}
	return says
}

// wait adds a work that waits, to those that wait alike.
func (a *Agenda) wait(in *wording.Tongue, w *calendar.Waiting) {
	v := Waiting{Title: in.Title(w.Work.Title), Reason: "It waits because " + in.Told(w.Reason)}
	if w.Work.Rule.Every > 0 {
		v.Again = in.Say("It comes again every {1}.", wording.Amount{N: w.Work.Rule.Every, Thing: "day"})
	} else {
		v.Best = in.Say("best on {1}: {2}", in.WeekDay(w.Best), in.HowSure(w.Chance))
		v.Risk = "That risks " + w.Risk() + "."
	}
	v.key = strings.Join([]string{v.Title, v.Best, v.Reason, v.Risk, v.Again}, "\n")
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
func MoreOf(in *wording.Tongue, m calendar.More) *More {
	out := &More{Day: in.WeekDay(m.Day), Time: in.Effort(m.Minutes)}
	for i := range m.Moves {
		v, what := &m.Moves[i], ""
		work, tree := in.Title(v.Work.Title), v.Tree.Tree.Name
		switch {
		case !v.From.Valid():
			what = in.Say("{1}, {2} would be done on {3}, {4} right, rather than wait.", work, tree, in.WeekDay(v.Day), in.HowSure(v.Chance))
		case !v.Day.Valid():
			what = in.Say("{1}, {2} would give way, and wait.", work, tree)
		default:
			what = in.Say("{1}, {2} would move from {3} to {4}: {5} right, then {6}.", work, tree, in.WeekDay(v.From), in.WeekDay(v.Day), in.Percent(v.FromChance), in.Percent(v.Chance))
		}
		out.Moves = append(out.Moves, what)
	}
	return out
}

// Agenda writes the page.
func (p *Pages) Agenda(w io.Writer, a *Agenda) error { return p.write(w, "agenda.html", a) }
