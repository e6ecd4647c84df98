package pages

import (
	"cmp"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"

	"budswell/calendar"
	"budswell/climate"
	"budswell/climate/phenology"
	"budswell/feeds/wording"
)

// Month is a month of one place for the wall of a workshop: one sheet, landscape, with a list
// of what finds no room there on the next. On a screen it is a list of the days.
type Month struct {
	Title, Place string
	On           string // the day of the forecasts
	Hours        bool   // hours were told: works stand on the days chosen for them
	Trees        int

	Earlier, Later string // months beside it, as links say them; empty: none
	ID             string // of the place
	Places         []Choice
	Month          string // as links say it

	Wide     []int    // days of the week that are wider than the others, 1 to 7
	Heads    []string // days of the week, from the first
	Key      []string // the trees with their numbers
	Days     []MonthDay
	All      MonthList // open all month
	Waits    MonthList // works that find no day
	Not      MonthList
	Cautions MonthList

	in *wording.Tongue

	Unseen bool // signs of its season are not forecast yet
}

// MonthDay is a day of the month.
type MonthDay struct {
	N       int
	Column  int // 1 to 7
	Name    string
	Frost   string // how likely; empty: hardly, or not known
	Entries []MonthEntry
	Below   int // entries that stand below the days
	More    int // entries that stand overleaf

	letters int // in a line of it
}

// MonthEntry is what is to be done, or looked for, on a day, on the trees that share it.
type MonthEntry struct {
	Kind  string // one of monthKinds
	Word  string // for it
	Title string
	Trees []string
	Sure  string // in few letters
	Short bool   // on the sheet the trees have numbers instead of names
	Over  bool   // it finds no room on its day
	Below bool   // but below the days; else overleaf

	numbers []int // of the trees

	low, high float64 // of the chance, or of the days to either side
}

// monthKinds are the kinds of entries, those that matter most first.
var monthKinds = []string{"do", "due", "best", "opens", "closes", "look", "seen", "done"}

// MonthList is a list under the days, of which some items may find no room.
type MonthList struct {
	Items []MonthItem
	More  int
}

// MonthItem is a line of a list.
type MonthItem struct {
	Title, Text string
	Never       string // what goes before what must never be done; empty: the text is no such
	English     bool   // the text is, in whatever language the rest is
	Trees       []string
	Over        bool
}

// MonthOf is what a month is laid out from.
type MonthOf struct {
	First   climate.Date    // of the month
	In      *wording.Tongue // who reads it; weeks begin with their first day
	Plan    *calendar.Plan
	Seasons map[string]phenology.Season // by the tree's id, as far as known
	Frost   func(climate.Date) float64  // how likely a frost is; nil: not known
}

// Page lays the month out.
func (m *MonthOf) Page() *Month {
	b := &monthBuilder{MonthOf: m, last: monthEnd(m.First), on: m.Plan.On}
	out := &Month{
		Title: m.In.Month(m.First.Month()) + " " + strconv.Itoa(m.First.Year()), Month: m.First.Time().Format("2006-01"), Place: m.Plan.Site.Name,
		On: m.In.Day(m.Plan.On), Hours: m.Plan.Agenda != nil, Trees: len(m.Plan.Trees),
	}
	week := m.In.Week()
	for _, d := range week {
		out.Heads = append(out.Heads, m.In.ShortWeekdays[d])
	}
	for d := m.First; d <= b.last; d++ {
		day := MonthDay{N: d.Time().Day(), Column: 1 + int(d.Time().Weekday()-week[0]+7)%7, Name: m.In.WeekDayShort(d)}
		if m.Frost != nil && d >= b.on {
			if p := m.Frost(d); p >= namedFrost {
				day.Frost = brief(p)
			}
		}
		b.days = append(b.days, day)
	}
	b.chosenDays()
	for i := range m.Plan.Trees {
		t := &m.Plan.Trees[i]
		b.number = i + 1
		out.Key = append(out.Key, fmt.Sprintf("%d\u00a0%s", b.number, t.Tree.Name))
		for k := range t.Works {
			b.work(t, &t.Works[k])
		}
		out.Unseen = b.signs(t) || out.Unseen
	}
	b.waiting()
	for i := range b.days {
		slices.SortStableFunc(b.days[i].Entries, func(x, y MonthEntry) int {
			return cmp.Or(cmp.Compare(slices.Index(monthKinds, x.Kind), slices.Index(monthKinds, y.Kind)), cmp.Compare(x.Title, y.Title))
		})
		for k := range b.days[i].Entries {
			b.days[i].Entries[k].say(b.In)
		}
	}
	for i := range b.not {
		b.not[i].English = true
	}
	for i := range b.never {
		b.never[i].English, b.never[i].Never = true, m.In.Say("never:")
	}
	out.in = m.In
	out.Days, out.All.Items, out.Not.Items, out.Waits.Items, out.Cautions.Items = b.days, b.all, slices.Concat(b.not, b.never), b.waits, b.cautions
	out.fit()
	return out
}

// namedFrost is the chance of frost from which a day says it.
const namedFrost = 0.05

func monthEnd(first climate.Date) climate.Date {
	return climate.DateOf(first.Time().AddDate(0, 1, 0)) - 1
}

// monthBuilder gathers what a month holds.
type monthBuilder struct {
	*MonthOf
	last, on climate.Date
	chosen   map[[2]string][]*calendar.Chosen
	days     []MonthDay
	all, not []MonthItem
	never    []MonthItem // behind the others
	waits    []MonthItem
	cautions []MonthItem
	number   int // of the tree in hand
}

func (b *monthBuilder) within(d climate.Date) bool { return d >= b.First && d <= b.last }

// add puts an entry on a day of the month, to those that say the same of other trees.
// low and high are its chance, or how many days it may fall to either side.
func (b *monthBuilder) add(d climate.Date, kind, title, tree string, low, high float64) {
	if !b.within(d) {
		return
	}
	day := &b.days[d-b.First]
	for i := range day.Entries {
		if e := &day.Entries[i]; e.Kind == kind && e.Title == title {
			if !slices.Contains(e.numbers, b.number) {
				e.Trees, e.numbers = append(e.Trees, tree), append(e.numbers, b.number)
			}
			e.low, e.high = min(e.low, low), max(e.high, high)
			return
		}
	}
	day.Entries = append(day.Entries, MonthEntry{Kind: kind, Title: title, Trees: []string{tree}, numbers: []int{b.number}, low: low, high: high})
}

// say writes how sure an entry is.
func (e *MonthEntry) say(in *wording.Tongue) {
	e.Word = wordOf(in, e.Kind)
	switch e.Kind {
	case "do", "due", "best":
		switch low, high := brief(e.low), brief(e.high); {
		case low == high:
			e.Sure = low
		case strings.HasPrefix(high, ">"):
			e.Sure = "≥" + low
		default:
			e.Sure = strings.TrimSuffix(low, "\u00a0%") + "–" + high
		}
	case "opens", "closes", "look":
		if e.Sure = fmt.Sprintf("±%.0f", e.low); e.high != e.low {
			e.Sure = fmt.Sprintf("±%.0f–%.0f", e.low, e.high)
		}
	}
}

// wordOf is how the sheet says what kind an entry is of.
func wordOf(in *wording.Tongue, kind string) string {
	switch kind {
	case "do":
		return in.Say("do")
	case "due":
		return in.Say("due")
	case "best":
		return in.Say("best")
	case "opens":
		return in.Say("opens")
	case "closes":
		return in.Say("closes")
	case "look":
		return in.Say("look")
	case "seen":
		return in.Say("seen")
	}
	return in.Say("done")
}

// brief writes a chance in few letters, rounded to 5 % as elsewhere.
func brief(p float64) string {
	switch n := 5 * int(math.Round(p*20)); {
	case n >= 100:
		return ">95\u00a0%"
	case n <= 0:
		return "<5\u00a0%"
	default:
		return fmt.Sprintf("%d\u00a0%%", n)
	}
}

func (b *monthBuilder) chosenDays() {
	b.chosen = map[[2]string][]*calendar.Chosen{}
	if b.Plan.Agenda == nil {
		return
	}
	for i := range b.Plan.Agenda.Days {
		for k := range b.Plan.Agenda.Days[i].Works {
			c := &b.Plan.Agenda.Days[i].Works[k]
			key := [2]string{c.Tree.Tree.ID, c.Work.Key}
			b.chosen[key] = append(b.chosen[key], c)
		}
	}
}

// work puts a work of a tree where it belongs.
func (b *monthBuilder) work(t *calendar.TreePlan, w *calendar.Planned) {
	name, title, win := t.Tree.Name, plannedTitle(b.In, w), &w.Window
	switch {
	case w.Done.Valid():
		b.add(w.Done, "done", title, name, 1, 1)
		return
	case !win.Opens.P50.Valid() || win.Chance < leastChance, w.Rule != nil && w.Rule.Every > 0 && !w.Due.Valid():
		return
	}
	opens, closes := win.Opens.P50, max(win.Closes.P50, win.Opens.P50)
	if len(w.Blocked) > 0 {
		free, known := calendar.FreeFrom(w.Blocked)
		if opens <= b.last && closes >= max(b.First, b.on) && (!known || free > b.First) {
			b.against(t, w)
		}
		if !known || free > closes {
			return
		}
		opens = max(opens, free)
	}
	shown := b.within(opens) || b.within(closes) || opens < b.First && closes > b.last
	chosen := b.chosen[[2]string{t.Tree.ID, w.Key}]
	switch {
	case len(chosen) > 0:
		shown = b.chosenOf(name, title, opens, closes, chosen)
	case b.Plan.Agenda != nil:
		shown = false // it waits, and is told there
	case w.Rule != nil && w.Rule.Every > 0:
		shown = false
		for due := w.Due; due <= min(closes, b.last); due += climate.Date(w.Rule.Every) {
			b.add(max(due, b.on), "due", title, name, wording.Open(w, due), wording.Open(w, due))
			shown = shown || b.within(due)
		}
	case w.Due.Valid():
		shown = b.within(w.Due)
		b.add(w.Due, "due", title, name, wording.Open(w, w.Due), wording.Open(w, w.Due))
	default:
		b.window(name, title, w, opens, closes)
	}
	if shown {
		b.take(w, title)
	}
}

// chosenOf puts a work on the days chosen for it, and reports whether the month shows it.
func (b *monthBuilder) chosenOf(name, title string, opens, closes climate.Date, chosen []*calendar.Chosen) (here bool) {
	for _, c := range chosen {
		here = here || b.within(c.Day)
		b.add(c.Day, "do", title, name, c.Chance, c.Chance)
	}
	if !here && opens < b.First && closes > b.last && chosen[0].Day > b.last {
		b.all = addItem(b.all, title, b.In.Say("to be done {1}, {2}", b.In.ShortDay(chosen[0].Day), brief(chosen[0].Chance)), name)
		return true
	}
	return here
}

// window puts a work without a day on the days on which its window opens and closes, and on its
// likely day.
func (b *monthBuilder) window(name, title string, w *calendar.Planned, opens, closes climate.Date) {
	likely := min(max(w.Window.Likely, opens), closes)
	if opens < b.First && closes > b.last && !b.within(likely) {
		low := min(wording.Open(w, b.First), wording.Open(w, b.last))
		b.all = addItem(b.all, title, b.In.Say("best {1}, {2}; this month {3} or more", b.In.ShortDay(likely), brief(w.Window.Certainty), brief(low)), name)
		return
	}
	if likely >= b.on {
		b.add(likely, "best", title, name, w.Window.Certainty, w.Window.Certainty)
	}
	if opens != likely {
		b.add(opens, "opens", title, name, aside(w.Window.Opens), aside(w.Window.Opens))
	}
	if closes != likely || likely < b.on {
		b.add(closes, "closes", title, name, aside(w.Window.Closes), aside(w.Window.Closes))
	}
}

// aside is within how many days of its 50 % day a day falls in 8 of 10 cases.
func aside(s climate.Spread) float64 { return float64(max(s.P90-s.P50, s.P50-s.P10)) }

func plannedTitle(in *wording.Tongue, w *calendar.Planned) string {
	if w.Title == "" && w.Work != nil {
		return in.Title(w.Work.Title)
	}
	return in.Title(w.Title)
}

// take adds what must not be done with hard work that is shown, and the cautions of all that is.
func (b *monthBuilder) take(w *calendar.Planned, title string) {
	if w.Rule != nil && w.Rule.Not != "" && w.Work.Hard != calendar.HardOnNothing {
		b.never = addItem(b.never, title, wording.Sentence(w.Rule.Not), "")
	}
	for _, c := range b.In.Cautions(w.Cautions) {
		b.cautions = addItem(b.cautions, "", wording.First(c), "")
	}
}

// against adds what stands against a work: until when where that is known, or else why.
func (b *monthBuilder) against(t *calendar.TreePlan, w *calendar.Planned) {
	if free, known := calendar.FreeFrom(w.Blocked); known {
		name := b.In.Say("{1} (until about {2})", t.Tree.Name, b.In.Day(free))
		b.not = addItem(b.not, plannedTitle(b.In, w), "", name)
		return
	}
	for _, k := range w.Blocked {
		if !k.Until.Valid() {
			b.not = addItem(b.not, plannedTitle(b.In, w), b.In.Told(k.Reason), t.Tree.Name)
			return
		}
	}
}

// addItem adds a tree to the item that says the same, or the item.
func addItem(items []MonthItem, title, text, tree string) []MonthItem {
	at := slices.IndexFunc(items, func(i MonthItem) bool { return i.Title == title && i.Text == text })
	if at < 0 {
		at = len(items)
		items = append(items, MonthItem{Title: title, Text: text})
	}
	if tree != "" && !slices.Contains(items[at].Trees, tree) {
		items[at].Trees = append(items[at].Trees, tree)
	}
	return items
}

// signs puts the signs of the season on the days on which they are looked for; it reports
// whether the month is of a season that is not forecast yet.
func (b *monthBuilder) signs(t *calendar.TreePlan) (unseen bool) {
	if t.Species == nil {
		return false
	}
	season, ok := b.Seasons[t.Tree.ID]
	if !ok {
		return false
	}
	for _, sign := range t.Species.Group.Phases() {
		f := season.Phases[sign]
		if f.Seen.Valid() {
			b.add(f.Seen, "seen", b.In.Name(string(sign)), t.Tree.Name, 1, 1)
			continue
		}
		days, comes := f.Dates.Spread()
		if !comes || days.P90 < b.on {
			continue
		}
		b.add(max(days.P50, b.on), "look", b.In.Name(string(sign)), t.Tree.Name, aside(days), aside(days))
	}
	return b.Plan.Site.Season(b.last) != season.Year
}

// waiting adds the works that find no day in the month.
func (b *monthBuilder) waiting() {
	if b.Plan.Agenda == nil {
		return
	}
	here := map[string]bool{}
	for i := range b.Plan.Trees {
		here[b.Plan.Trees[i].Tree.ID] = true
	}
	for i := range b.Plan.Agenda.Waiting {
		w := &b.Plan.Agenda.Waiting[i]
		opens, closes := w.Work.Window.Opens.P50, w.Work.Window.Closes.P50
		if !here[w.Tree.Tree.ID] || opens > b.last || closes < b.First || w.From > b.last || w.To < b.First {
			continue
		}
		b.waits = addItem(b.waits, plannedTitle(b.In, w.Work), b.In.Say("best {1}, {2}", b.In.ShortDay(w.Best), brief(w.Chance)), w.Tree.Tree.Name)
		b.take(w.Work, plannedTitle(b.In, w.Work))
	}
}

// Month writes the page.
func (p *Pages) Month(w io.Writer, m *Month) error { return p.write(w, "month.html", m) }
