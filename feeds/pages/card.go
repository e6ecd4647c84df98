package pages

import (
	"cmp"
	"io"
	"slices"
	"strings"

	"budswell/calendar"
	"budswell/climate"
	"budswell/feeds/wording"
)

// Cards are cards of trees, four to a sheet.
type Cards struct {
	Title string
	On    string // the day of the forecasts
	Back  string // path
	Cards []Card
}

// Card is what hangs at a tree, or stands beside it: a quarter of a sheet.
type Card struct {
	ID, Name, Species, Common, Origin, Place, Bench, Stage, Pot string

	Last []string // works, the newest first
	Next []CardWork
	Not  []CardNot
	Care []string

	More int // of what has no room; it stands on the page
	Code Code
}

// CardNot is what stands against a work, as the calendar says it in English.
type CardNot struct{ Title, Words string }

// CardWork is a window to come.
type CardWork struct{ Title, When, Sure string }

// What has room on a card, in lines of print of so many letters.
const (
	cardLetters = 56
	cardLines   = 27 // of works, windows, and what to beware of
	cardLast    = 4
	cardNext    = 6
)

// CardOf lays out the card of a tree; page is the address of its page.
func CardOf(in *wording.Tongue, t *calendar.TreePlan, p *calendar.Plan, works []calendar.Work, page string) (Card, error) {
	c := Card{
		ID: t.Tree.ID, Name: t.Tree.Name, Species: t.Tree.Species, Origin: in.Name(string(t.Tree.Origin)), Place: p.Site.Name,
		Stage: in.Name(string(t.State.Stage)), Pot: potOf(in, &t.Tree.Container),
	}
	if t.Bench != nil {
		c.Bench = t.Bench.Name
	}
	if t.Species != nil {
		c.Species = t.Species.Name
		c.Common = in.Common(t.Species.Name, t.Species.Common)
	}
	c.lastOf(in, t, works)
	care := c.nextOf(in, t, p)
	c.fit(care)
	var err error
	c.Code, err = codeOf(page)
	return c, err
}

// potOf says what a tree stands in.
func potOf(in *wording.Tongue, k *calendar.Container) string {
	var parts []string
	if k.Kind != "" {
		parts = append(parts, in.Name(k.Kind))
	}
	if k.Length > 0 {
		parts = append(parts, in.Number(k.Length, 1)+" × "+in.Number(k.Width, 1)+" × "+in.Number(k.Depth, 1)+" cm")
	} else if k.Litres > 0 {
		parts = append(parts, in.Holds(k.Litres))
	}
	if k.Mix != "" {
		parts = append(parts, k.Mix)
	}
	return strings.Join(parts, ", ")
}

// lastOf lists the last day of each kind of work, the newest first.
func (c *Card) lastOf(in *wording.Tongue, t *calendar.TreePlan, works []calendar.Work) {
	titles := map[string]string{}
	for i := range works {
		titles[works[i].ID] = in.Title(works[i].Title)
	}
	type done struct {
		id string
		on climate.Date
	}
	var all []done
	for id, on := range t.State.Last {
		all = append(all, done{id, on})
	}
	slices.SortFunc(all, func(a, b done) int { return cmp.Or(cmp.Compare(b.on, a.on), strings.Compare(a.id, b.id)) })
	for i, d := range all {
		if i == cardLast {
			c.More += len(all) - i
			break
		}
		c.Last = append(c.Last, cmp.Or(titles[d.id], in.Name(d.id))+", "+in.Day(d.on))
	}
}

// nextOf lists the windows to come and what stands against work, and returns the cautions of
// these.
func (c *Card) nextOf(in *wording.Tongue, t *calendar.TreePlan, p *calendar.Plan) (care []string) {
	chosen := map[string]*calendar.Chosen{}
	if p.Agenda != nil {
		for i := range p.Agenda.Days {
			for k := range p.Agenda.Days[i].Works {
				if w := &p.Agenda.Days[i].Works[k]; w.Tree.Tree.ID == t.Tree.ID && chosen[w.Work.Key] == nil {
					chosen[w.Work.Key] = w
				}
			}
		}
	}
	if n := in.Told(t.Notice); n != "" {
		c.Not = append(c.Not, CardNot{Words: n})
	}
	for i := range t.Works {
		w := &t.Works[i]
		win := &w.Window
		if w.Done.Valid() || !win.Opens.P50.Valid() || win.Chance < leastChance || win.Closes.P50 < p.On || w.Rule != nil && w.Rule.Every > 0 && !w.Due.Valid() {
			continue
		}
		if free, known := calendar.FreeFrom(w.Blocked); !known || free > win.Closes.P50 {
			if against := (CardNot{plannedTitle(in, w), reason(in, w.Blocked[0])}); win.Opens.P50 <= p.On+cardAhead && !slices.Contains(c.Not, against) {
				c.Not = append(c.Not, against)
			}
			continue
		}
		if len(c.Next) == cardNext {
			c.More++
			continue
		}
		c.Next = append(c.Next, cardWork(in, w, chosen[w.Key], p.On))
		for _, text := range in.Cautions(w.Cautions) {
			if text = wording.First(text); !slices.Contains(care, text) {
				care = append(care, text)
			}
		}
	}
	return care
}

// cardAhead is how many days ahead a card tells what must not be done.
const cardAhead = 120

func cardWork(in *wording.Tongue, w *calendar.Planned, chosen *calendar.Chosen, on climate.Date) CardWork {
	win := &w.Window
	out := CardWork{Title: plannedTitle(in, w)}
	switch {
	case chosen != nil:
		out.When, out.Sure = in.Say("{1} (chosen)", in.Day(chosen.Day)), brief(chosen.Chance)
	case w.Due.Valid():
		out.When, out.Sure = in.Say("due {1}", in.Day(max(w.Due, on))), brief(wording.Open(w, max(w.Due, on)))
	default:
		out.When = in.Say("{1} to {2}", in.ShortDay(win.Opens.P50), in.Day(win.Closes.P50))
		if out.Sure = in.Say("best {1}, {2}", in.ShortDay(win.Likely), brief(win.Certainty)); win.Likely < on {
			out.Sure = in.Say("open today: {1}", brief(wording.Open(w, on)))
		}
	}
	return out
}

// fit keeps what has room, and counts the rest. What must not be done goes before cautions, but
// leaves them some lines.
func (c *Card) fit(care []string) {
	left := cardLines - len(c.Last) - len(c.Next)
	for _, w := range c.Next {
		left -= linesOf(w.Title+": "+w.When+", "+w.Sure, cardLetters) - 1
	}
	room := func(text string, leave int) bool {
		n := linesOf(text, cardLetters)
		if n > left-leave {
			c.More++
			return false
		}
		left -= n
		return true
	}
	leave := min(len(care), 6)
	c.Not = slices.DeleteFunc(c.Not, func(n CardNot) bool { return !room(n.Title+": "+n.Words, leave) })
	c.Care = slices.DeleteFunc(care, func(text string) bool { return !room(text, 0) })
}

// Cards writes the page.
func (p *Pages) Cards(w io.Writer, c *Cards) error { return p.write(w, "cards.html", c) }
