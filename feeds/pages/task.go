package pages

import (
	"cmp"
	"slices"
	"strings"

	"budswell/calendar"
	"budswell/climate"
	"budswell/feeds/wording"
)

// Task is a kind of work with all trees that ask for it on a day.
type Task struct {
	Title, Class, Kind string // class in words, and as an id for the style sheet
	Spans              []Span // the first, with their pictures
	More               []Span // the others, without
	MoreTrees          int
	Caution            string // in short
	Cautions           []string
	Materials, Effort  string
	Not                string

	// Parts are the works of a round: repeated ones of one class that share their
	// cautions. The round has no title of its own; of many, some are folded away.
	Parts, Folded []Task

	repeats bool
	order   int
	ends    climate.Date
}

// Span is the trees of a task that share its days.
type Span struct {
	Trees, Rest []TreeLink // the first, and those that are folded away
	As          string     // what the day is to the work; see As...
	Sure        string     // in words
	Percent     int        // the same, to be drawn; 0: not told
	Until       string     // how long it may wait, by its 10, 50 and 90 % days
	Opens       string
	Closes      string
	Best        string
	Note        string
	Overdue     int // days
	Why         string
	SoFar       string
	Blocked     []string
	Bar         *Bar

	key    spanKey
	likely climate.Date
}

// TreeLink names a tree and leads to its page.
type TreeLink struct{ ID, Name string }

func linkTo(t *calendar.TreePlan) TreeLink { return TreeLink{t.Tree.ID, t.Tree.Name} }

// What a day is to a work.
const (
	AsBest     = "best"    // it is the likeliest day
	AsOpens    = "opens"   // the window opens as likely as not
	AsCloses   = "closes"  // the last day on which it is nine tenths sure not to have closed
	AsClosing  = "closing" // as likely as not it has closed
	AsDue      = "due"     // of work that comes again and again
	AsOverdue  = "overdue"
	AsWhile    = "while"    // to be kept up while the window is open
	AsChosen   = "chosen"   // for the grower's hours
	AsUrgent   = "urgent"   // no hours, and it cannot wait
	AsRoomless = "roomless" // no hours
	AsWaits    = "waits"    // open, and may wait
	AsLater    = "later"    // the same, and a later day is chosen
	AsBlocked  = "blocked"
)

// Where a work stands in the fortnight.
const (
	nowhere = iota
	onDay
	mayWait
	notNow
)

// stand is where a work stands.
type stand struct {
	where  int
	day    climate.Date
	as     string
	chance float64 // that it is right then, 0 to 1; of one that is blocked nothing
	note   string
}

// standsOn says where a work stands that no agenda spoke for.
func standsOn(w *calendar.Planned, on climate.Date, hours bool) stand {
	win, last := &w.Window, on+fortnightDays-1
	open := wording.Open(w, on)
	is := func(day climate.Date, as string) stand {
		return stand{where: onDay, day: day, as: as, chance: wording.Open(w, day)}
	}
	switch {
	case w.Done.Valid() || !win.Opens.P50.Valid() || win.Chance < leastChance:
		return stand{}
	case w.Rule != nil && w.Rule.Every > 0 && (!w.Due.Valid() || w.Due > last):
		return stand{}
	case win.Opens.P10 > last || win.Closes.P90 < on:
		return stand{}
	case len(w.Blocked) > 0:
		return stand{where: notNow, as: AsBlocked}
	case hours && open >= 0.5:
		return stand{where: mayWait, as: AsLater, chance: open}
	case hours:
		return stand{}
	case w.Due.Valid() && w.Due < on && w.Unlogged:
		return is(on, AsDue)
	case w.Due.Valid() && w.Due < on:
		return is(on, AsOverdue)
	case w.Due.Valid():
		return is(w.Due, AsDue)
	case win.Likely >= on && win.Likely <= last:
		return is(win.Likely, AsBest)
	case open >= 0.5 && w.Work != nil && w.Work.Class == calendar.Protection:
		return is(on, AsWhile)
	case open >= 0.5 && win.Closes.P10 <= last && win.Likely < on:
		return is(max(on, win.Closes.P10), AsCloses)
	case open >= 0.5:
		return stand{where: mayWait, as: AsWaits, chance: open}
	case win.Opens.P50 >= on && win.Opens.P50 <= last:
		return is(win.Opens.P50, AsOpens)
	case win.Likely < on && open > leastChance:
		return is(on, AsClosing)
	}
	return stand{}
}

// heap gathers works, those of one kind together, and of one kind those that share
// their days and reasons.
type heap struct {
	in    *wording.Tongue
	on    climate.Date
	all   []Task
	count int
}

// spanKey is what trees must have in common to stand in one line.
type spanKey struct {
	window                        calendar.Window
	due                           climate.Date
	as, note, why, sofar, reasons string
}

// How much of a task is shown before it is folded.
const (
	shownSpans = 2
	shownTrees = 10
	shownParts = 4
)

func (h *heap) put(t *calendar.TreePlan, w *calendar.Planned, s stand) {
	h.count++
	title := plannedTitle(h.in, w)
	i := slices.IndexFunc(h.all, func(k Task) bool { return k.Title == title })
	if i < 0 {
		i = len(h.all)
		h.all = append(h.all, taskOf(h.in, title, w))
	}
	task := &h.all[i]
	task.ends = min(task.ends, w.Window.Closes.P50)
	var reasons []string
	for _, b := range w.Blocked {
		reasons = append(reasons, wording.Capital(reason(h.in, b)))
	}
	key := spanKey{w.Window, w.Due, s.as, s.note, w.Why, w.SoFar, strings.Join(reasons, "\n")}
	if s.where == notNow { // the reason is what counts, not the days that it would have had
		key = spanKey{reasons: key.reasons}
	}
	k := slices.IndexFunc(task.Spans, func(v Span) bool { return v.key == key })
	if k < 0 {
		k = len(task.Spans)
		task.Spans = append(task.Spans, spanOf(h.in, w, s, reasons, h.on))
		task.Spans[k].key = key
	}
	task.Spans[k].Trees = append(task.Spans[k].Trees, linkTo(t))
}

func taskOf(in *wording.Tongue, title string, w *calendar.Planned) Task {
	v := workOf(in, w, w.Window.Opens.P50) // for its words only
	out := Task{Title: title, Class: v.Class, Kind: v.Kind, Caution: v.Caution, Cautions: v.Cautions, Materials: v.Materials, Effort: v.Effort, Not: v.Not, ends: w.Window.Closes.P50, order: 2}
	out.repeats = w.Due.Valid()
	switch {
	case w.Work == nil:
	case w.Work.Class == calendar.Protection:
		out.order = 0
	case w.Work.Hard != calendar.HardOnNothing:
		out.order = 1
	}
	return out
}

func spanOf(in *wording.Tongue, w *calendar.Planned, s stand, reasons []string, on climate.Date) Span {
	win := &w.Window
	out := Span{
		As: s.as, Note: s.note, Blocked: reasons, likely: win.Likely,
		Opens: in.Spread(win.Opens), Closes: in.Spread(win.Closes), Best: in.WeekDay(win.Likely),
		Why: in.Told(w.Why), SoFar: in.Told(w.SoFar), Until: in.Day(win.Closes.P10),
	}
	if w.Due.Valid() {
		out.Overdue = max(0, int(on-w.Due))
		out.Best = in.WeekDay(w.Due)
	}
	if s.as == AsRoomless { // of the days that are left, which the likeliest need not be
		out.Best = in.WeekDay(s.day)
	}
	if s.where != notNow {
		out.Sure, out.Percent = in.HowSure(s.chance), min(95, max(5, percent(s.chance)))
		if !w.Due.Valid() { // else a day among many, not a season's one window
			out.Bar = bar(in, w, on)
		}
	}
	return out
}

// tasks returns what was gathered: first what keeps trees from harm, then hard work,
// and of these what ends first.
func (h *heap) tasks() []Task {
	slices.SortStableFunc(h.all, func(a, b Task) int {
		return cmp.Or(cmp.Compare(a.order, b.order), cmp.Compare(a.ends, b.ends), cmp.Compare(a.Title, b.Title))
	})
	for i := range h.all {
		t := &h.all[i]
		slices.SortStableFunc(t.Spans, func(a, b Span) int {
			return cmp.Or(cmp.Compare(a.likely, b.likely), cmp.Compare(len(b.Trees), len(a.Trees)))
		})
		if len(t.Spans) > shownSpans {
			t.Spans, t.More = t.Spans[:shownSpans], t.Spans[shownSpans:]
		}
		for k := range t.Spans {
			s := &t.Spans[k]
			if len(s.Trees) > shownTrees+2 {
				s.Trees, s.Rest = s.Trees[:shownTrees], s.Trees[shownTrees:]
			}
		}
		for k := range t.More {
			t.More[k].Bar = nil
			t.MoreTrees += len(t.More[k].Trees)
		}
	}
	return rounds(h.all)
}

// rounds puts repeated works of one class that share their cautions together, at the
// place of the first.
func rounds(all []Task) []Task {
	var out []Task
	for i := range all {
		t := all[i]
		if !t.repeats {
			out = append(out, t)
			continue
		}
		k := slices.IndexFunc(out, func(o Task) bool {
			return o.repeats && o.Kind == t.Kind && o.Caution == t.Caution && slices.Equal(o.Cautions, t.Cautions)
		})
		if k < 0 {
			out = append(out, t)
			continue
		}
		round := &out[k]
		if round.Parts == nil {
			*round = Task{Class: t.Class, Kind: t.Kind, Caution: t.Caution, Cautions: t.Cautions, repeats: true, Parts: []Task{*round}}
		}
		if len(round.Parts) < shownParts {
			round.Parts = append(round.Parts, t)
		} else {
			round.Folded = append(round.Folded, t)
		}
	}
	return out
}
